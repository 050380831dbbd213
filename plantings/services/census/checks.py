"""What is wrong with census rows, and what about them looks odd, before they are stored."""

from django.utils.translation import gettext_noop

from plantings.calc.arrival.arrival import Window, row_looks
from plantings.calc.census.limits import LIMITS
from plantings.calc.census.measurements import ERROR, FIELDS
from plantings.calc.census.row_checks import RowChecks
from plantings.calc.census.rows import LastSeen
from plantings.calc.census.rules import check_row
from plantings.calc.results import Finding
from plantings.models import Tree
from plantings.selectors.census.asked import own_at, protocol_asks
from plantings.selectors.census.limits import check_limits
from plantings.selectors.census.rounds import last_seen
from registry.calc.shared.worded import worded
from registry.services.shared.past_day import day_fault

_LOOKS_ODD = gettext_noop("This reading looks odd. Check it and its unit; if it is right, save again.")


def row_findings(row, census_round, planted_on, limits=LIMITS, asked=None):
    """Errors and warnings of one row by itself; the same for form, grid and file. Only warnings go by the limits.

    `asked` is what `protocol_asks` gives, where the caller has read it.
    """
    asked = asked if asked is not None else protocol_asks(census_round)
    found = check_row(row, planted_on, census_round.opens_on, census_round.closes_on, limits, asked)
    fault = day_fault(row.observed_on)
    return (Finding("observed_on", ERROR, fault), *found) if fault else found


def row_checks(census_round, limits=LIMITS):
    """`row_findings` of the rows of one round, for many of them."""
    asked = protocol_asks(census_round)
    return RowChecks(lambda row, planted_on: row_findings(row, census_round, planted_on, limits, asked))


def second_looks(census_round, rows, planted=None):
    """{tree pk: tuple of warnings} for rows, or stored observations, that need a second look. Warnings block nothing.

    `planted` is {tree pk: its own day of planting, or None}, where the caller has read the trees.
    """
    keys = [row.tree_id for row in rows]
    if planted is None:
        planted = dict(Tree.objects.filter(pk__in=keys).values_list("pk", "planted_on"))
    last, limits, own = last_seen(census_round, keys), check_limits(), own_at(census_round)
    looks = {}
    for row in rows:
        planted_on = planted.get(row.tree_id) or census_round.planting.planted_on
        window = Window(planted_on, census_round.opens_on, census_round.closes_on)
        if found := row_looks(row, last.get(row.tree_id, LastSeen()), window, limits, own):
            looks[row.tree_id] = (*looks.get(row.tree_id, ()), *found)
    return looks


def odd_readings(census_round, rows):
    """{tree pk: [(field, what to ask)]} of readings that look odd, to ask about before they are stored.

    The question does not show the earlier reading, since that would lead whoever measures again. For a measurement of the programme's own
    it names the unit.
    """
    asked, own = {}, {item.field: item for item in own_at(census_round)}
    for tree, looks in second_looks(census_round, rows).items():
        if names := dict.fromkeys(finding.field for finding in looks if finding.field in FIELDS or finding.field in own):
            asked[tree] = [(name, _own_looks_odd(own[name]) if name in own else _LOOKS_ODD) for name in names]
    return asked


def _own_looks_odd(item):
    return worded("%(label)s in %(unit)s: this reading looks odd. Check it and its unit; if it is right, save again.",
                  label=item.label, unit=item.unit)  # fmt: skip
