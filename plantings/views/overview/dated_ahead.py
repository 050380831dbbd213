"""Records dated ahead of today: what a clock that was ahead let in."""

from django.utils import timezone

from plantings.selectors.overview.dated_ahead import dated_ahead
from plantings.views.sheets.load_words import address_or_none
from registry.views.shared.details import PageView
from registry.views.shared.tables import Column, ledger_table

_SHOWN = 100  # of each kind


class DatedAheadView(PageView):
    action = "lead.edit"
    template_name = "registry/people/settings_page.html"
    title = "Records dated ahead"
    question = "Which records carry a day that has not come?"

    def get_page(self):
        found = dated_ahead(self.today, timezone.now(), _SHOWN)
        columns = (
            Column("Record", lambda ahead: str(ahead.record), url=lambda ahead: address_or_none(ahead.shown_with), wide=True),
            Column("Kind", lambda ahead: ahead.record._meta.verbose_name, kind="soft"),
            Column("Day", "day", kind="date"),
        )
        note = (
            "What has happened cannot have a day to come: the clock of the server was ahead when it was entered. Open each record and "
            "correct its day, reverse it or take it back; it then leaves this list. Where its page offers none of these, it leaves once "
            "that day has come. Plans, due days, windows and the ends of papers are not listed. "
            f"At most {_SHOWN} of each kind are shown."
        )
        empty = "No record of what has happened carries a day to come."
        return {"parts": [ledger_table("Dated ahead", columns, found, unit="records", note=note, empty=empty)]}
