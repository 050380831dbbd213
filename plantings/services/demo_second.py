"""The second measurement of the demo: a part of one round measured again, nearly alike."""

import datetime
from itertools import cycle

from plantings.calc.census.codes import DEAD
from plantings.calc.census.measurements import CANKER, DIAMETER, HEIGHT
from plantings.models import CensusRound
from plantings.selectors.census.asked import asked_at
from plantings.selectors.census.second import draw_lines, recorded_values
from plantings.services.census.observations import CensusRow
from plantings.services.census.second import second_draw_make, second_measurements_record
from registry.services.audit.write import write

__all__ = ["demo_second_add"]

_PLANTING, _ROUND, _SECOND = "ST-02-2020", "2024 autumn", "Zelda Quaint"
# what the second person read more than the first, tree after tree: cm, mm, classes
_APART = {
    HEIGHT.field: (-3, 1, 0, -2, 4, -1, 2, -8, 0, 3),
    DIAMETER.field: (0.2, -0.4, 0, 0.6, -0.1, 1.4, 0),
    CANKER.field: (0, 0, 1, 0, 0),
}


@write
def demo_second_add(actor):
    """Draw a tenth of one round of the demo and record what a second person saw two days later. One dead tree was not found again."""
    census_round = CensusRound.objects.filter(planting__code=_PLANTING, label=_ROUND).first()
    if census_round is None:
        return  # sheets of a part of the demo
    draw = second_draw_make(actor=actor, census_round=census_round, percent=10, measured_by=_SECOND, seed="demo")
    apart = {name: cycle(steps) for name, steps in _APART.items()}
    lost = next((line.tree for line in draw_lines(draw) if line.first.status == DEAD), None)
    second_measurements_record(
        actor=actor, draw=draw, rows=[_row(census_round, line, apart, is_lost=line.tree == lost) for line in draw_lines(draw)]
    )


def _row(census_round, line, apart, is_lost):
    first = line.first
    values = {name: _read_again(name, value, apart) for name, value in recorded_values(first, asked_at(census_round)).items()}
    seen = {"status": "NF"} if is_lost else {"status": first.status, "cause": first.cause, **values}
    on = first.observed_on + datetime.timedelta(days=2)
    return CensusRow(census_round.pk, line.tree.pk, observed_on=on, observer=_SECOND, **seen)


def _read_again(name, value, apart):
    if name not in apart:
        return value
    more = value + next(apart[name])
    return min(more, CANKER.codes[-1]) if name == CANKER.field else round(max(more, 1), 1)
