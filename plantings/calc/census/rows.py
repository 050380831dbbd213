"""One row of the census as it is judged: what was seen at a tree, with a field for each measurement of the table."""

from dataclasses import dataclass, field, make_dataclass

from plantings.calc.census.measurements import MEASUREMENTS
from registry.calc.shared.part_dates import SomeDate

__all__ = ["LastSeen", "SeenRow"]

SeenRow = make_dataclass(
    "SeenRow",
    [
        ("status", str),
        ("observed_on", SomeDate | None),
        ("cause", str, ""),
        *((item.field, float | int | str | None, item.blank) for item in MEASUREMENTS),
        ("note", str, ""),
        ("own_values", dict[str, float | int | str], field(default_factory=dict, hash=False)),
    ],
    slots=True,
    kw_only=True,
    unsafe_hash=True,  # nobody changes a row; a frozen one takes four times as long to fill, and a sheet makes a hundred thousand
)
SeenRow.__doc__ = """What was seen at one tree at one visit: status, day (or month or year), cause, note, a value or a blank for each
measurement of the table, and {field: value} of the programme's own."""


@dataclass(frozen=True, slots=True)
class LastSeen:
    """What is known of a tree from earlier rounds: its last status, and {field: (value, day)} of its last readings."""

    status: str = ""
    readings: dict[str, tuple[float, SomeDate]] = field(default_factory=dict)
