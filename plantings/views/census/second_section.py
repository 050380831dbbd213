"""The second measurements of a round, as a section of its page."""

from plantings.models import SecondDraw
from plantings.selectors.census.second import agreement_words, draws_listed
from registry.calc.shared.screen import amount_words
from registry.views.shared.addresses import record_url
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column

__all__ = ["ROUND_SECOND", "draw_state"]


def draw_state(draw):
    return "handed in" if draw.measured >= draw.size else f"{draw.measured:,} of {amount_words(draw.size, 'trees')} measured again"


ROUND_SECOND = Section(
    id="second",
    title="Second measurement",
    unit="draws",
    may="second.view",
    note=lambda page, draws: " ".join(filter(None, [agreement_words([page.object.pk]), "It is in no figure of survival."])),
    rows=lambda page: list(draws_listed(page.scoped(SecondDraw).filter(round=page.object))),
    columns=(
        Column("Draw", "number", "right", url=record_url),
        Column("State", draw_state, kind="state"),
        Column("Second person", "measured_by"),
        Column("Trees", "size", "right", "number"),
        Column("Drawn on", "drawn_on", kind="date"),
    ),
    missing="second measurement",
    add=Action("Draw trees for a second measurement", "seconddraw_add", "second.draw"),
)
