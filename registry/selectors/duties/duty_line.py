from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Duty:
    """One line of what is due or odd. `severity` is late, soon, odd, done or info; `mine`: it is for the person who reads it to do;
    `first`: it is what they open Mastbook for; `step`: what to do next, as a sentence."""

    severity: str
    text: str
    due: date | None = None
    url: str = ""
    who: str = ""
    mine: bool = False
    first: bool = False
    step: str = ""
