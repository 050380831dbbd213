"""One row of a seed handbook's species table, and what gives away a slip of print or of copying."""

from dataclasses import dataclass, fields

POUNDS_PER_KG = 2.20462262
UNITS_AGREE_WITHIN = 0.05


@dataclass(frozen=True, slots=True)
class HandbookRow:
    """Figures of one species as a handbook prints them; None or "" where it prints none.

    Seeds per kilogram and per pound (low, mean, high); warm and cold stratification in days; germination in percent
    and number of samples; the use-by day; the hot water bath the species takes (degrees Celsius, minutes, pest, source), None where
    it takes none. Temperatures and days of the test are stored as printed ("30/20", "40-60").
    """

    binomial: str
    seeds_per_kg_low: float | None = None
    seeds_per_kg_mean: float | None = None
    seeds_per_kg_high: float | None = None
    seeds_per_lb_low: float | None = None
    seeds_per_lb_mean: float | None = None
    seeds_per_lb_high: float | None = None
    warm_days_low: int | None = None
    warm_days_high: int | None = None
    warm_temperature: str = ""
    cold_days_low: int | None = None
    cold_days_high: int | None = None
    cold_temperature: str = ""
    test_temperature: str = ""
    test_days: str = ""
    germination_percent: float | None = None
    germination_samples: int | None = None
    storage_class: str = ""
    use_by_month: int | None = None
    use_by_day: int | None = None
    bath_c_low: float | None = None
    bath_c_high: float | None = None
    bath_minutes: float | None = None
    bath_against: str = ""
    bath_source: str = ""
    source: str = ""
    verified: bool = False


@dataclass(frozen=True, slots=True)
class RowProblem:
    """What is wrong in one row: the species, the column, and words that say what and what to do."""

    row: str
    column: str
    message: str


_RANGES = {
    "seeds_per_kg": "seeds per kg",
    "seeds_per_lb": "seeds per lb",
    "warm_days": "days of the warm period",
    "cold_days": "days of the cold period",
    "bath_c": "°C of the hot water bath",
}
_BATH = ("bath_c_low", "bath_c_high", "bath_minutes", "bath_against", "bath_source")
_UNITS = ("seeds_per_kg", "seeds_per_lb")
_LAST_DAY = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def check_row(row: HandbookRow) -> tuple[RowProblem, ...]:
    """What looks wrong in a row of a handbook table; empty when nothing does.

    Parameters
    ----------
    row : HandbookRow

    Returns
    -------
    tuple of RowProblem
        Seeds per kg and per lb that do not agree within 5 % (swapped figures are named as such), a mean outside its
        range, a low figure above its high one, a percentage over 100, a figure below 0, a use-by day
        that does not exist, a hot water bath that is given in part only or is hotter than water.

    Notes
    -----
    A figure that passes can still be wrong: check it against the printed page.

    Source
    ------
    1 kg = 2.20462262 lb; the 5 % leave room for figures rounded in print. Mistakes of this kind occur in a scrape of the Quercus
    seed-yield table of Bonner & Karrfalt (eds) 2008, Woody Plant Seed Manual, USDA Agric. Handb. 727.

    Examples
    --------
    >>> check_row(HandbookRow("Quercus rubra", seeds_per_kg_mean=235, seeds_per_lb_mean=105))
    ()
    >>> [problem.column for problem in check_row(HandbookRow("Quercus alba", seeds_per_kg_mean=98, seeds_per_lb_mean=215))]
    ['seeds_per_kg_mean']
    """
    problems = [*_signs(row), *_order(row), *_units(row), *_use_by(row), *_bath(row)]
    # a mean whose two units contradict each other lies outside its range for that reason
    if not any(problem.column == "seeds_per_kg_mean" for problem in problems):
        problems += _means(row)
    return tuple(problems)


def _signs(row):
    for name in (field.name for field in fields(row)):
        value = getattr(row, name)
        if isinstance(value, bool) or not isinstance(value, int | float):
            continue
        if value < 0:
            yield _problem(row, name, f"{_say(name)} is {value:g}. Give a number of 0 or more, or leave it empty.")
        elif name.startswith("seeds_per_") and value == 0:
            yield _problem(row, name, f"{_say(name)} is 0. Give a number above 0, or leave it empty.")
        elif name == "germination_percent" and value > 100:
            yield _problem(row, name, f"{_say(name)} is {value:g} %. Give a percentage from 0 to 100.")


def _order(row):
    for start, words in _RANGES.items():
        low, high = getattr(row, f"{start}_low"), getattr(row, f"{start}_high")
        if low is not None and high is not None and low > high:
            message = f"{words}: the low figure {low:g} is above the high figure {high:g}. Exchange them."
            yield _problem(row, f"{start}_low", message)


def _units(row):
    for part in ("low", "mean", "high"):
        per_kg, per_lb = getattr(row, f"seeds_per_kg_{part}"), getattr(row, f"seeds_per_lb_{part}")
        if not per_kg or not per_lb or per_kg < 0 or per_lb < 0 or _agree(per_kg, per_lb * POUNDS_PER_KG):
            continue
        figures = f"{part} figures {_figure(per_kg)} per kg and {_figure(per_lb)} per lb"
        if _agree(per_lb, per_kg * POUNDS_PER_KG):
            message = (
                f"{figures} look swapped: a kilogram holds more seeds than a pound. Check the printed page; if it prints them so, "
                f"the page is wrong: enter {_figure(per_lb)} per kg and {_figure(per_kg)} per lb, and say so in the note."
            )
        else:
            message = (
                f"{figures} do not agree: {_figure(per_lb)} per lb are {_figure(per_lb * POUNDS_PER_KG)} per kg. "
                "Check the printed page for a lost or doubled digit; leave a figure you cannot settle blank."
            )
        yield _problem(row, f"seeds_per_kg_{part}", message)


def _means(row):
    for unit in _UNITS:
        low, mean, high = (getattr(row, f"{unit}_{part}") for part in ("low", "mean", "high"))
        below, above = low is not None and mean is not None and mean < low, high is not None and mean is not None and mean > high
        if below or above:
            edge = f"below the low figure {_figure(low)}" if below else f"above the high figure {_figure(high)}"
            message = f"{_RANGES[unit]}: the mean {_figure(mean)} is {edge}. Check the printed page and the unit of each."
            yield _problem(row, f"{unit}_mean", message)


def _use_by(row):
    month, day = row.use_by_month, row.use_by_day
    if (month is None) != (day is None):
        yield _problem(row, "use_by_day", "the use-by day needs month and day. Give both, or neither.")
    elif month is not None and not (1 <= month <= 12 and 1 <= day <= _LAST_DAY[month - 1]):
        yield _problem(row, "use_by_day", f"there is no day {day} of month {month}. Give month 1 to 12 and a day of that month.")


def _bath(row):
    missing = [name for name in _BATH if getattr(row, name) in (None, "")]
    if 0 < len(missing) < len(_BATH):
        yield _problem(
            row, missing[0], "a hot water bath needs both temperatures, its minutes, the pest and the source. Give all, or none."
        )
    elif not missing and row.bath_c_high > 100:
        yield _problem(row, "bath_c_high", f"water is never {row.bath_c_high:g} °C. Give degrees Celsius, not Fahrenheit.")
    elif not missing and row.bath_minutes == 0:
        yield _problem(row, "bath_minutes", "a hot water bath of 0 minutes is none. Give its minutes, or leave all its figures empty.")


def _agree(a, b):
    return abs(a - b) <= UNITS_AGREE_WITHIN * max(a, b)


def _figure(value):
    return f"{value:,.0f}" if value >= 10 else f"{value:g}"


def _say(name):
    return name.replace("per_kg", "per kg,").replace("per_lb", "per lb,").replace("bath_c", "bath (°C),").replace("_", " ")


def _problem(row, column, message):
    return RowProblem(row.binomial, column, f"{row.binomial}: {message}")
