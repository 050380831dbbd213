"""What this package hands back: small frozen records, no printing, no HTML.

Where a figure cannot be estimated its field is None and `reason` says why, in words fit for a
screen. No field is ever NaN.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import ClassVar, NamedTuple

from registry.calc.shared.part_dates import SomeDate
from registry.calc.shared.screen import day_words


class Interval(NamedTuple):
    """A confidence interval for a share, both ends 0 to 1; None and a reason when not estimable."""

    low: float | None
    high: float | None
    reason: str = ""

    @property
    def estimable(self) -> bool:
        return self.low is not None


class Difference(NamedTuple):
    """First share minus second, -1 to 1, with its interval; None and a reason when not estimable."""

    estimate: float | None
    low: float | None
    high: float | None
    reason: str = ""

    @property
    def estimable(self) -> bool:
        return self.low is not None


def _written(value: object) -> object:
    return day_words(value) if isinstance(value, SomeDate) else value


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing about a row: the field it is in, "error" or "warning", and what to do.

    `words` may hold places such as %(value)s, filled from `values`, so that the sentence can be translated before it is filled.
    The values named in `TRANSLATED` are words too.
    """

    field: str
    severity: str
    words: str
    values: Mapping[str, object] | None = None

    TRANSLATED: ClassVar[frozenset[str]] = frozenset({"label", "unit", "units", "advice", "status"})

    @property
    def message(self) -> str:
        """The finding in the language it is written in."""
        return self.said(str)

    def said(self, say: Callable[[str], str], write: Callable[[object], object] = _written) -> str:
        """The finding as `say` translates it, its days and numbers as `write` writes them."""
        if not self.values:
            return say(self.words)
        filled = {name: say(value) if name in self.TRANSLATED and value else write(value) for name, value in self.values.items()}
        return say(self.words) % filled


CLEAN: tuple[Finding, ...] = ()
