"""The calendar of warm and cold stratification, the use-by clock, and seed that dies when it dries."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from registry.calc.shared.screen import amount_words

# From memory; the experiments are Connor, Bonner & Vozzo 1996, Can. J. For. Res. 26:1813-1821 (abstract): Quercus nigra
# half alive at 15 % moisture, Q. alba half alive at 32 % and none at 22 %.
DRY_BELOW_SHARE = {"white oak group": 0.30, "red oak group": 0.20}
# Sections of the oaks, from memory.
_OAKS = {
    "white oak group": {"alba", "bicolor", "garryana", "lobata", "lyrata", "macrocarpa", "michauxii", "montana", "muehlenbergii", "petraea",
                        "prinus", "robur", "stellata"},
    "red oak group": {"coccinea", "ellipsoidalis", "falcata", "imbricaria", "kelloggii", "laurifolia", "marilandica", "nigra", "pagoda",
                      "palustris", "phellos", "rubra", "shumardii", "texana", "velutina"},
}  # fmt: skip
USE_BY_MONTH, USE_BY_DAY = 6, 30


@dataclass(frozen=True, slots=True)
class Period:
    """Days of one treatment, at least and at most; 0 and 0 where none is needed."""

    days_low: int = 0
    days_high: int = 0


@dataclass(frozen=True, slots=True)
class CalendarStep:
    """One step with its earliest and latest day."""

    what: str
    earliest: date
    latest: date


def calendar_from_start(start: date, warm: Period, cold: Period) -> tuple[CalendarStep, ...]:
    """When to move seed from warm to cold and when to sow it, counted from the day stratification starts.

    Parameters
    ----------
    start : date
    warm, cold : Period
        A period of no days is left out of the calendar.

    Returns
    -------
    tuple of CalendarStep, the last one sowing.

    Raises
    ------
    ValueError
        When a period is below 0 days or its low figure above its high one.

    Source
    ------
    Common practice of stratification, no source: dates are sums of days.

    Examples
    --------
    >>> [(s.what, s.earliest.isoformat(), s.latest.isoformat())
    ...  for s in calendar_from_start(date(2026, 12, 1), Period(), Period(90, 120))]
    [('start cold', '2026-12-01', '2026-12-01'), ('sow', '2027-03-01', '2027-03-31')]
    """
    _check(warm, "warm")
    _check(cold, "cold")
    steps, earliest, latest = [], start, start
    for period, what in ((warm, "start warm"), (cold, "move to cold" if warm.days_high else "start cold")):
        if period.days_high:
            steps.append(CalendarStep(what, earliest, latest))
            earliest, latest = _later(earliest, period.days_low), _later(latest, period.days_high)
    return (*steps, CalendarStep("sow", earliest, latest))


def calendar_for_sowing(sow_on: date, warm: Period, cold: Period) -> tuple[CalendarStep, ...]:
    """When stratification must start, and seed go to the cold, to be ready on a wanted sowing day.

    Parameters, Returns, Raises, Source
    -----------------------------------
    As `calendar_from_start`; `sow_on` is the wanted day, and the last step.

    Examples
    --------
    >>> [(s.what, s.earliest.isoformat(), s.latest.isoformat())
    ...  for s in calendar_for_sowing(date(2027, 4, 20), Period(30, 30), Period(60, 60))]
    ... # doctest: +NORMALIZE_WHITESPACE
    [('start warm', '2027-01-20', '2027-01-20'), ('move to cold', '2027-02-19', '2027-02-19'), ('sow', '2027-04-20', '2027-04-20')]
    """
    _check(warm, "warm")
    _check(cold, "cold")
    steps, earliest, latest = [CalendarStep("sow", sow_on, sow_on)], sow_on, sow_on
    for period, what in ((cold, "move to cold" if warm.days_high else "start cold"), (warm, "start warm")):
        if period.days_high:
            earliest, latest = _later(earliest, -period.days_high), _later(latest, -period.days_low)
            steps.append(CalendarStep(what, earliest, latest))
    return tuple(reversed(steps))


def default_use_by(harvested_on: date, month: int = USE_BY_MONTH, day: int = USE_BY_DAY) -> date:
    """The use-by day of recalcitrant seed where no other is set: 30 June after harvest.

    Parameters
    ----------
    harvested_on : date
    month, day : int
        Another day of the year, where the handbook of the species has one; the first such day after the harvest.

    Returns
    -------
    date
        The first such day after the harvest.

    Raises
    ------
    ValueError
        When there is no such day, or the calendar ends before it.

    Source
    ------
    Common practice, no source: such seed is not stored beyond six to eight months. Set another day where a better one is known.

    Examples
    --------
    >>> default_use_by(date(2026, 10, 2)), default_use_by(date(2027, 3, 2))
    (datetime.date(2027, 6, 30), datetime.date(2027, 6, 30))
    """
    this_year = _day_of(harvested_on.year, month, day)
    return this_year if harvested_on < this_year else _day_of(harvested_on.year + 1, month, day)


def days_left(use_by: date, on: date) -> int:
    """Days from a day to the use-by day: 0 on that day, below 0 once it has passed.

    Parameters
    ----------
    use_by : date
        Last day of use.
    on : date

    Returns
    -------
    int, days

    Source
    ------
    Definition of this programme: the use-by day itself still counts.

    Examples
    --------
    >>> days_left(date(2027, 6, 30), date(2027, 6, 1)), days_left(date(2027, 6, 30), date(2027, 7, 2))
    (29, -2)
    """
    return (use_by - on).days


def use_by_words(use_by: date, on: date) -> str:
    """The use-by clock in words.

    Source
    ------
    Definition of this programme: the use-by day itself still counts.

    Examples
    --------
    >>> use_by_words(date(2027, 6, 30), date(2027, 6, 29)), use_by_words(date(2027, 6, 30), date(2027, 7, 3))
    ('1 day left', 'passed 3 days ago')
    """
    left = days_left(use_by, on)
    if left == 0:
        return "today is the last day"
    words = amount_words(abs(left), "days")
    return f"{words} left" if left > 0 else f"passed {words} ago"


def dry_group(binomial: str) -> str:
    """The group whose limit of drying is stored, "" for a species without one.

    Source
    ------
    Sections of Quercus, from memory.

    Examples
    --------
    >>> dry_group("Quercus alba"), dry_group("Quercus rubra L."), dry_group("Juglans cinerea")
    ('white oak group', 'red oak group', '')
    """
    genus, _, rest = binomial.partition(" ")
    epithet = rest.split(" ")[0]
    return next((group for group, epithets in _OAKS.items() if genus == "Quercus" and epithet in epithets), "")


def dry_warning(moisture: float, group: str) -> str:
    """Words when seed that dies on drying is drier than its group endures; "" when it is not, or no limit is stored for the group.

    Parameters
    ----------
    moisture : float, 0 to 1
        On the wet basis.
    group : str
        A key of `DRY_BELOW_SHARE`; any other has no stored limit.

    Returns
    -------
    str
        A warning; "" where there is none.

    Raises
    ------
    ValueError
        When moisture lies outside 0 to 1.

    Source
    ------
    Limits from memory, guided by Connor, Bonner & Vozzo 1996, Can. J. For. Res. 26:1813-1821 (abstract).

    Examples
    --------
    >>> dry_warning(0.35, "white oak group"), dry_warning(0.25, "red oak group"), dry_warning(0.05, "pine")
    ('', '', '')
    """
    if not 0 <= moisture <= 1:
        raise ValueError(f"The moisture is {moisture:g}. Give a share from 0 to 1; 35 % is 0.35.")
    limit = DRY_BELOW_SHARE.get(group)
    if limit is None or moisture >= limit:
        return ""
    return (
        f"Moisture {100 * moisture:.0f} % is below {100 * limit:.0f} %: seed of the {group} dies when it dries. Cut a sample before you "
        "rely on this lot, and keep the rest damp. The limit is a rule of thumb from memory, not a published figure."
    )


def _check(period, name):
    if period.days_low < 0:
        raise ValueError(f"The {name} period is {period.days_low} days. Give 0 or more.")
    if period.days_low > period.days_high:
        raise ValueError(f"The {name} period is {period.days_low} to {period.days_high} days. Give the lower figure first.")


def _day_of(year, month, day):
    if not (1 <= month <= 12 and 1 <= day <= monthrange(2024, month)[1]):
        raise ValueError(f"There is no day {day} of month {month}. Give month 1 to 12 and a day of that month.")
    if year > date.max.year:
        raise ValueError(f"The year {year} is outside the calendar. Check the year.")
    return date(year, month, min(day, monthrange(year, month)[1]))  # 29 February falls on the 28th in most years


def _later(day, days):
    try:
        return day + timedelta(days=days)
    except OverflowError:
        raise ValueError(f"{days} days from {day} is outside the calendar. Check the year.") from None
