"""The records of a round as a list, with their download."""

from django.utils.translation import gettext_lazy as _

from plantings.calc.census.codes import listed_words
from plantings.calc.census.measurements import ROUND, value_of
from plantings.imports.census import CensusSheet
from plantings.models import Observation
from plantings.selectors.census.asked import asked_at, named_of
from plantings.selectors.census.reviews import review_words
from plantings.views.census.rounds import get_round
from plantings.views.plantings.trees import place_words
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_number
from registry.views.shared.addresses import record_url
from registry.views.shared.lists import RecordListView
from registry.views.shared.tables import Column


def _measured_column(item):
    label = local_text(item.short_label)
    label = named_of(item, f"{label} ({local_text(item.unit)})" if item.unit else label)
    if item.is_own:
        words = {code: listed_words(code, local_text(label)) for code, label, _meaning in item.classes}
        return Column(label, lambda record: _own_words(record, item, words), "left" if words else "right")
    return (
        Column(label, f"get_{item.field}_display") if item.is_word else Column(label, lambda record: _number_words(record, item), "right")
    )


def _own_words(record, item, words):
    value = value_of(record, item)
    return words[value] if value in words else _number_words(record, item)


def _number_words(record, item):
    value = value_of(record, item)
    return value if value is None else local_number(f"{value:g}")


class RoundRecordsView(RecordListView):
    """Every record of one round that no later one superseded, in walk order, with its download."""

    model = Observation
    action = "round.view"
    question = _("What was recorded at each tree in this round?")
    unit = "records"
    paginate_by = 100
    title = property(lambda page: _("Records of %(round)s, %(planting)s") % _named(page.round))
    empty = (_("No record yet"), _("Nobody has recorded a tree in this round."), None)
    related = ("tree__block",)
    order = ("tree__walk_number", "tree_id", "observed_on", "pk")
    columns = (
        Column(_("Tree"), "tree.tag", kind="code", url=lambda record: record_url(record.tree)),
        Column(_("Place"), lambda record: place_words(record.tree)),
        Column(_("Status"), "get_status_display"),
        Column(_("Cause"), "get_cause_display"),
    )
    columns_after = (
        Column(_("Seen on"), "observed_on", kind="date"),
        Column(_("Who looked"), "observer"),
        Column(_("Review"), review_words),
        Column(_("Note"), "note", wide=True),
    )
    sheet = property(lambda page: CensusSheet.asking([item for item in page.asked if item.is_own]))

    def find_rows(self):
        self.round = get_round(self, self.kwargs["pk"])
        self.asked = asked_at(self.round, ROUND)

    def get_columns(self, records):
        return [*super().get_columns(records), *map(_measured_column, self.asked), *self.columns_after]

    def read(self, records):
        return records.current().filter(round=self.round).with_review()

    def get_actions(self):
        return [(_("Back to the round"), record_url(self.round))]


def _named(census_round):
    return {"round": census_round.label, "planting": census_round.planting.code}
