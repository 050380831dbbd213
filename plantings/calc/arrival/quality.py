"""The first records of a drawn sample against those of a second person: how often both are within the tolerance, by measurement."""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from plantings.calc.arrival.agreement_of_classes import LINEAR, UNWEIGHTED, class_agreement
from plantings.calc.arrival.agreement_of_readings import bias_and_spread
from plantings.calc.arrival.agreement_words import bias_words, kappa_words
from plantings.calc.arrival.tolerances import TOLERANCES, Tolerances
from plantings.calc.census.codes import NOT_VISITED, STATUSES
from plantings.calc.census.measurements import DIAMETER, HEIGHT, Measurement
from plantings.calc.survival.survival import COUNT_LEADS_BELOW
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.proportion import wilson_interval
from registry.calc.shared.worded import counted, worded, worded_plural

__all__ = ["CANNOT_TELL", "CHANCE", "MET", "NOT_MET", "QualityLine", "Seen", "careful_words", "compared", "quality_lines"]

MET, NOT_MET = gettext_noop("met"), gettext_noop("not met")
CHANCE = gettext_noop("below, and so few trees that chance can explain it")
CANNOT_TELL = gettext_noop("too few trees to tell")
_SAME = gettext_noop("the same")
_ROUNDING = 1e-9  # 142.1 less 137.1 is not quite 5 to a computer


class Seen(NamedTuple):
    """What one person recorded at a tree: the status, and {column of a measurement: value} of what was measured."""

    status: str
    values: Mapping[str, float | int | str]


class QualityLine(NamedTuple):
    """One line of the result.

    what : status, or a measurement
    trees, within : trees with both records, and those of them within the tolerance (None where there is no tolerance)
    one_only : trees at which only one of the two measured it
    tolerance : in words; "" for none
    target : share of the trees in percent that must be within it; None for none
    verdict : `MET`, `NOT_MET`, `CHANCE`, `CANNOT_TELL`, or "" without a target
    detail : kappa, or bias and spread, in words
    """

    what: str
    trees: int
    within: int | None
    one_only: int
    tolerance: str
    target: float | None
    verdict: str
    detail: str


def compared(pairs: Sequence[tuple[Seen, Seen]]) -> list[tuple[Seen, Seen]]:
    """The pairs of trees that the second person visited.

    Source
    ------
    A definition of this programme: who was not there has said nothing about the tree.
    """
    return [pair for pair in pairs if pair[1].status != NOT_VISITED]


def quality_lines(
    pairs: Sequence[tuple[Seen, Seen]], asked: Sequence[Measurement], tolerances: Tolerances = TOLERANCES
) -> tuple[QualityLine, ...]:
    """A line for the status and for each measurement that at least one of both took at some tree.

    Parameters
    ----------
    pairs : sequence of (first, second)
        Of one tree each; trees that the second person did not visit are left out here.
    asked : sequence of Measurement
        What the round asks for.
    tolerances : Tolerances

    Notes
    -----
    A class has two lines: whether both found something, and how far the classes are apart; a step is one place in the list. A number in
    percent is an estimate and compared in percentage points. The height at which a diameter was taken has no tolerance: bias and spread
    are given alone. A verdict needs 10 trees; a share below the target is `NOT_MET` only where Wilson's 95 % interval lies below it.

    Source
    ------
    `class_agreement`, `bias_and_spread`, `wilson_interval`; the tolerances are the programme's own.

    Examples
    --------
    >>> pairs = [(Seen("A", {"height_cm": 112.0}), Seen("A", {"height_cm": 110.0}))] * 9 + [(Seen("A", {}), Seen("D", {}))]
    >>> [(line.what, line.within, line.trees, line.verdict) for line in quality_lines(pairs, [HEIGHT])]
    [('Status', 9, 10, 'below, and so few trees that chance can explain it'), ('Height', 9, 9, 'too few trees to tell')]
    """
    pairs = compared(pairs)
    if not pairs:
        return ()
    statuses = [(first.status, second.status) for first, second in pairs]
    codes = [code for code, _, _ in STATUSES]
    detail = kappa_words(class_agreement(statuses, codes, UNWEIGHTED))
    lines = [_line(gettext_noop("Status"), statuses, lambda one, other: one == other, 0, _SAME, tolerances.status_percent, detail)]
    for item in asked:
        values = [(first.values.get(item.field), second.values.get(item.field)) for first, second in pairs]
        both = [pair for pair in values if not {None, ""} & set(pair)]
        one_only = sum(any(value not in (None, "") for value in pair) for pair in values) - len(both)
        if not both and not one_only:
            continue
        make = _class_lines if item.classes else _number_lines
        lines += make(item, both, one_only, tolerances)
    return tuple(lines)


def _named(label: str, item: Measurement) -> str:
    """The name of a measurement in a line. A programme wrote the name of its own measurements, so that one is not translated."""
    return worded("%(what)s", what=label) if item.is_own else worded(label)


def _class_lines(item: Measurement, both: list, one_only: int, tolerances: Tolerances) -> list[QualityLine]:
    place = {code: number for number, code in enumerate(item.codes)}
    found = [(one != item.nothing, other != item.nothing) for one, other in both]
    presence = kappa_words(class_agreement(found, (False, True), UNWEIGHTED))
    steps = kappa_words(class_agreement(both, item.codes, LINEAR))

    def near(one: int | str, other: int | str) -> bool:
        return abs(place[one] - place[other]) <= 1

    what, apart = _named(item.short_label, item), gettext_noop("at most one class apart")
    found_or_not = worded("%(what)s, found or not", what=what)
    return [
        _line(found_or_not, found, lambda one, other: one == other, one_only, _SAME, tolerances.presence_percent, presence),
        _line(worded("%(what)s, class", what=what), both, near, one_only, apart, tolerances.class_percent, steps),
    ]


def _number_lines(item: Measurement, both: list, one_only: int, tolerances: Tolerances) -> list[QualityLine]:
    detail = bias_words(bias_and_spread(both), item) if both else ""
    if item is HEIGHT:
        limits = {"height": f"{tolerances.height_cm:g}", "percent": f"{tolerances.height_percent:g}"}
        words = worded("within %(height)s cm or %(percent)s %%, whichever is more", **limits)

        def near(one: float, other: float) -> bool:
            return abs(other - one) <= max(tolerances.height_cm, one * tolerances.height_percent / 100) + _ROUNDING

        return [_line(_named(item.label, item), both, near, one_only, words, tolerances.height_share_percent, detail)]
    if item is DIAMETER:
        words = worded("within %(diameter)s mm", diameter=f"{tolerances.diameter_mm:g}")

        def near(one: float, other: float) -> bool:
            return abs(other - one) <= tolerances.diameter_mm + _ROUNDING

        return [_line(_named(item.label, item), both, near, one_only, words, tolerances.diameter_share_percent, detail)]
    if item.unit == "%":
        words = worded("within %(points)s percentage points", points=f"{tolerances.estimate_points:g}")

        def near(one: float, other: float) -> bool:
            return abs(other - one) <= tolerances.estimate_points + _ROUNDING

        return [_line(_named(item.label, item), both, near, one_only, words, tolerances.number_share_percent, detail)]
    if item.is_own:
        units, percent = f"{tolerances.own_units:g}", f"{tolerances.own_percent:g}"
        amount = worded("%(number)s %(unit)s", number=units, unit=item.unit) if item.unit else units
        words = worded("within %(amount)s or %(percent)s %%, whichever is more", amount=amount, percent=percent)

        def near(one: float, other: float) -> bool:
            return abs(other - one) <= max(tolerances.own_units, abs(one) * tolerances.own_percent / 100) + _ROUNDING

        return [_line(_named(item.label, item), both, near, one_only, words, tolerances.number_share_percent, detail)]
    return [QualityLine(_named(item.label, item), len(both), None, one_only, "", None, "", detail)]


def _line(
    what: str, both: Sequence[tuple], near: Callable[..., bool], one_only: int, tolerance: str, target: float, detail: str
) -> QualityLine:
    within = sum(near(one, other) for one, other in both)
    return QualityLine(what, len(both), within, one_only, tolerance, target, _verdict(within, len(both), target), detail)


def _verdict(within: int, trees: int, target: float) -> str:
    if trees < COUNT_LEADS_BELOW:
        return CANNOT_TELL
    if within >= trees * target / 100 - _ROUNDING:
        return MET
    return NOT_MET if wilson_interval(within, trees).high < target / 100 else CHANCE


def careful_words(candidates: int, drawn: int, pairs: Sequence[tuple[Seen, Seen]], days: int, office: int) -> tuple[str, ...]:
    """What a careful reader may say of the result and what not, a sentence each.

    Parameters
    ----------
    candidates, drawn : int
        Trees that could be drawn, and those that were.
    pairs : sequence of (first, second)
    days : int
        The longest time between both records of a tree.
    office : int
        Second measurements taken by somebody who can open the first records.

    Source
    ------
    Wordings: no source.

    Examples
    --------
    >>> careful_words(200, 20, [(Seen("A", {}), Seen("A", {}))], 3, 0)[0]
    'Of 20 trees drawn from 200, the second person visited 1.'
    """
    visited = len(compared(pairs))
    said = [
        worded(
            "Of %(drawn)s drawn from %(candidates)s, the second person visited %(visited)s.",
            drawn=counted(drawn, "trees"), candidates=candidates, visited=visited,
        ),
        worded("This says how alike two people record. It does not say who is right: an error that both make does not show."),
        worded("It holds for these people, this round and this planting. Another crew, or another year, needs its own sample."),
        worded(
            "Where nearly all trees have one status, kappa is low even if both agree nearly everywhere. Then read the numbers of trees."
        ),
    ]  # fmt: skip
    if days > 0:
        words = gettext_noop("Up to %(days)s lie between both records of a tree: growth and new damage count as disagreement.")
        said.append(worded(words, days=counted(days, "days")))
    if office:
        said.append(
            worded_plural(
                "%(n)s tree was measured by somebody of the office, who can open the first records. Those are blind only if the person did "
                "not look.",
                "%(n)s trees were measured by somebody of the office, who can open the first records. Those are blind only if the person "
                "did not look.",
                office,
            )
        )
    return tuple(said)
