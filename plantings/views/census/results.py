"""What a round has besides its records: cautions read, second measurements, printed results, as sections of its page; the result."""

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext, override
from django.utils.translation import gettext_lazy as _

from plantings.models import CensusRound, SecondDraw
from plantings.selectors.census.cautions import cautions_read_in
from plantings.selectors.census.results import newest_of, result_document, results_given_out
from plantings.selectors.census.rounds import crew_language
from plantings.selectors.census.second import agreement_words, draws_listed
from plantings.services.census.results import round_result_give_out
from plantings.views.census.visits import caution_wordings
from registry.access.languages import OFFICE_LANGUAGE
from registry.calc.shared.screen import amount_words
from registry.forms.prints.issued import LanguagePageForm
from registry.models import Lot
from registry.prints.pages import draw_document
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_moment
from registry.views.prints.print_view import PrintView
from registry.views.shared.addresses import record_url
from registry.views.shared.details import PART_ROWS_MAX
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column, Link

__all__ = ["ROUND_CAUTIONS", "ROUND_RESULTS", "ROUND_SECOND", "RoundResultView", "draw_state"]


class RoundResultView(PrintView):
    """In the language of the crew. The state of the records is read before the page is drawn: what arrives meanwhile counts as later."""

    model = CensusRound
    action = "observation.review"
    kind = "round_result"
    form_class = LanguagePageForm
    initial = property(lambda page: {"language": crew_language(page.object, OFFICE_LANGUAGE)})
    question = "What the crew gets to read: what became of the trees, what was measured, and thanks."

    def find_rows(self):
        super().find_rows()
        self.newest = newest_of(self.object)

    def get_document(self):
        planting = self.object.planting
        return result_document(self.object, scan=self.scan(planting.code), made_on=self.today, made=self.made)

    def draw(self, form):
        with override(form.cleaned_data["language"] or crew_language(self.object, OFFICE_LANGUAGE)):
            return draw_document(self.get_document(), form.cleaned_data["page"])

    def get_links(self):
        return {"lots": Lot.objects.filter(entries__planting=self.object.planting_id).distinct()}

    def record(self, **said):
        round_result_give_out(actor=self.user, census_round=self.object, newest=self.newest, **said)


def _later(count):
    return f"{amount_words(count, 'changes')} since: print it again" if count else "nothing changed since"


def _cautions_columns(page, readings):
    present = set(caution_wordings(page.object.planting.site, page.visit).values())
    return (
        Column(_("Who"), "name"),
        Column(_("Read at"), lambda reading: local_moment(timezone.localtime(reading.read_at))),
        Column(_("Wording"), lambda reading: _("the present one") if reading.wording in present else _("an earlier one"), kind="state"),
        Column(_("Language"), lambda reading: dict(settings.LANGUAGES).get(reading.language, _("not recorded"))),
        Column(_("Mark of the wording"), lambda reading: reading.wording[:12], kind="code"),
        Column(_("Cautions of the programme"), lambda reading: ", ".join(reading.versions), wide=True),
        Column(_("By"), lambda reading: str(reading.link or reading.entered_by)),
    )


ROUND_CAUTIONS = Section(
    id="cautions-read",
    title=_("Cautions read"),
    unit="records",
    note=_("Who confirmed on a phone that they had read the cautions. It says nothing about whether the place or the work is safe."),
    rows=lambda page: cautions_read_in(page.user, page.object),
    most=PART_ROWS_MAX,
    columns=_cautions_columns,
    missing=_("cautions read"),
)

ROUND_RESULTS = Section(
    id="results",
    title="Results given out",
    unit="prints",
    may="issued.view",
    note="Records and reviews that came after a print are counted here, so that whoever has the print can be told.",
    rows=lambda page: results_given_out(page.user, page.object),
    mark=lambda line: "odd" if line[1] else "",
    columns=(
        Column("Printed on", "0.entered_at", kind="date", url=Link("issuedprint_detail", "0.issued_id")),
        Column("Since then", lambda line: _later(line[1])),
        Column("Printed by", lambda line: str(line[0].entered_by)),
    ),
)


def draw_state(draw):
    return (
        _("handed in")
        if draw.measured >= draw.size
        else _("%(measured)s of %(trees)s measured again")
        % {"measured": local_count(draw.measured), "trees": local_amount(draw.size, "trees")}
    )


ROUND_SECOND = Section(
    id="second",
    title=_("Second measurement"),
    unit="draws",
    may="second.view",
    note=lambda page, draws: " ".join(filter(None, [agreement_words([page.object.pk]), gettext("It is in no figure of survival.")])),
    rows=lambda page: list(draws_listed(page.scoped(SecondDraw).filter(round=page.object))),
    columns=(
        Column(_("Draw"), "number", "right", url=record_url),
        Column(_("State"), draw_state, kind="state"),
        Column(_("Second person"), "measured_by"),
        Column(_("Trees"), "size", "right", "number"),
        Column(_("Drawn on"), "drawn_on", kind="date"),
    ),
    missing=_("second measurement"),
    add=Action("Draw trees for a second measurement", "seconddraw_add", "second.draw"),
)
