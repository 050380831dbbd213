"""The life of one tree as a picture: its fate at each round over the years, and its height as a line.

Source
------
Form of our own for all functions here: no source. Heights of a resprout are not joined to those of the stem that died (common practice,
no source).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from registry.calc.shared.part_dates import SomeDate, first_day, last_day

__all__ = ["LifeDrawing", "Sight", "draw_life", "nice_top"]

_NARROWEST = 212  # px for the years on a phone of 320 px, beside the numbers of the heights
_YEAR_LEAST = 18  # px of a year: one glyph; a longer life scrolls
_GLYPH = 18
_PLOT_TOP, _PLOT_HEIGHT = 36, 96
_LABEL_LEAST = 36  # px between the labels of two years
_DAYS_A_YEAR = 365.25
_PIECES_LEAST = 2  # of a line: through two heights alone it says no more than the two dots


@dataclass(frozen=True)
class Sight:
    """One round in the life of a tree.

    on : the day it was seen, or the month or year; the first day of the round where it has no record
    label : the round, in words
    fate : key of its fate with hindsight
    cm : its height; None where it was not measured
    is_resprout : the original top is dead, and the height is that of the new shoot
    """

    on: SomeDate
    label: str
    fate: str
    cm: float | None = None
    is_resprout: bool = False


@dataclass(frozen=True)
class LifeDrawing:
    """Places across are hundredths of the years, so that a life fits its page; places down are in px. width: of an SVG. years: (x, label or
    ""); glyphs: (x, fate, label); levels: (y, cm); lines: those through three heights or more, each its pieces (x, y, x, y); dots: (x, y,
    cm, label); tags: (x, label)."""

    width: str
    height: int
    base: int
    years: tuple
    glyphs: tuple
    levels: tuple
    lines: tuple
    dots: tuple
    tags: tuple


def nice_top(value: float) -> float:
    """The lowest of 1, 2, 5, 10, 20, 50 … that a value does not exceed.

    Parameters
    ----------
    value : float
        Above 0, in any unit.

    Returns
    -------
    float
        In the unit of the value.

    Raises
    ------
    ValueError
        For 0 and below.

    Examples
    --------
    >>> [nice_top(value) for value in (0.3, 20, 21, 640)]
    [0.5, 20.0, 50.0, 1000.0]
    """
    if value <= 0:
        raise ValueError(f"A scale has no top for {value}.")
    power = 10.0 ** math.floor(math.log10(value))
    return next(step * power for step in (1, 2, 5, 10) if value <= step * power)


def draw_life(planted_on: SomeDate | None, sights: Sequence[Sight], tags: Sequence[tuple[date, str]] = ()) -> LifeDrawing:
    """Where everything of a life is drawn.

    Parameters
    ----------
    planted_on : date, PartDate or None
        Where the years begin; None: at the first sight. What is known to a month or a year is drawn in the middle of it.
    sights : sequence of Sight
        At least one, in time order.
    tags : sequence of (date, str)
        Days on which it got another tag, with the words.

    Raises
    ------
    ValueError
        Without a sight.

    Examples
    --------
    >>> drawn = draw_life(date(2020, 4, 1), [Sight(date(2020, 9, 1), "2020", "alive", 50), Sight(date(2021, 9, 1), "2021", "alive", 90)])
    >>> drawn.width, drawn.years, drawn.levels
    ('100%', ((0.0, '2020'), (50.0, '2021'), (100.0, '2022')), ((132.0, 0), (84.0, 50), (36.0, 100)))
    """
    if not sights:
        raise ValueError("A life without a round cannot be drawn.")
    first = min(planted_on or sights[0].on, sights[0].on).year
    years = max(sights[-1].on, *(on for on, _label in tags), sights[0].on).year - first + 1
    width = max(_NARROWEST, _YEAR_LEAST * years)  # the least: on a wider page everything is further apart

    def across(on):
        days = [day.timetuple().tm_yday - 1 for day in (first_day(on), last_day(on))]
        return round(100 * (on.year - first + sum(days) / 2 / _DAYS_A_YEAR) / years, 2)

    measured = [sight for sight in sights if sight.cm is not None]
    top = nice_top(max(sight.cm for sight in measured)) if any(sight.cm for sight in measured) else None
    base = _PLOT_TOP + _PLOT_HEIGHT if top else _PLOT_TOP

    def up(cm):
        return round(base - _PLOT_HEIGHT * cm / top, 1)

    every = math.ceil(_LABEL_LEAST * years / width)
    return LifeDrawing(
        width=f"{width}" if width > _NARROWEST else "100%",
        height=base + 26,
        base=base,
        years=tuple((round(100 * step / years, 2), "" if step % every else f"{first + step}") for step in range(years + 1)),
        glyphs=tuple(_apart([(across(sight.on), sight) for sight in sights], 100 * _GLYPH / width)),
        levels=tuple((up(cm), round(cm)) for cm in (0, top / 2, top)) if top else (),
        lines=tuple(_lines([(across(sight.on), up(sight.cm), sight) for sight in measured])) if top else (),
        dots=tuple((across(sight.on), up(sight.cm), sight.cm, sight.label) for sight in measured) if top else (),
        tags=tuple((across(on), label) for on, label in tags),
    )


def _apart(placed, gap):
    """Glyphs side by side: one that would cover the one before, on the narrowest page, is pushed to the right."""
    free = -math.inf
    for x, sight in placed:
        x = max(x, round(free, 2))
        free = x + gap
        yield x, sight.fate, sight.label


def _lines(points):
    """Lines through three heights or more; the first height of a new shoot begins a new one."""
    lines, before = [], None
    for x, y, sight in points:
        if before is None or sight.is_resprout and not before[2].is_resprout:
            lines.append(())
        else:
            lines[-1] += ((before[0], before[1], x, y),)
        before = (x, y, sight)
    return [line for line in lines if len(line) >= _PIECES_LEAST]
