"""The printed result of a round, and the results that were given out, on the page of the round."""

from plantings.models import CensusRound
from plantings.selectors.census.results import newest_of, result_document, results_given_out
from plantings.services.results import round_result_give_out
from registry.calc.shared.screen import amount_words
from registry.models import Lot
from registry.views.prints.print_view import PrintView
from registry.views.shared.sections import Section
from registry.views.shared.tables import Column, Link

__all__ = ["ROUND_RESULTS", "RoundResultView"]


class RoundResultView(PrintView):
    """The state of the records is read before the page is drawn: what arrives meanwhile counts as later."""

    model = CensusRound
    action = "observation.review"
    kind = "round_result"
    question = "What the crew gets to read: what became of the trees, what was measured, and thanks."

    def find_rows(self):
        super().find_rows()
        self.newest = newest_of(self.object)

    def get_document(self):
        planting = self.object.planting
        return result_document(self.object, scan=self.scan(planting.code), made_on=self.today, made=self.made)

    def get_links(self):
        return {"lots": Lot.objects.filter(entries__planting=self.object.planting_id).distinct()}

    def record(self, **said):
        round_result_give_out(actor=self.user, census_round=self.object, newest=self.newest, **said)


def _later(count):
    return f"{amount_words(count, 'changes')} since: print it again" if count else "nothing changed since"


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
