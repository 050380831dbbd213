"""Today, the code box and the trace."""

from datetime import datetime
from urllib.parse import urlencode

from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext, gettext_lazy, gettext_noop
from django.utils.translation import gettext_lazy as _

from plantings.selectors.field_form.pages import code_fault
from plantings.selectors.identity.trace import ROWS_SHOWN, record_trace, trace_rows
from plantings.selectors.overview.code_search import code_find
from plantings.selectors.overview.round_lines import crew_round
from plantings.selectors.overview.today import site_lines, today_lines
from plantings.selectors.overview.unsettled import Look, last_look
from registry.access import roles
from registry.calc.shared.screen import unit_words
from registry.models import Taxon
from registry.services.audit.busy import saved_if_free
from registry.views.shared.details import PageView
from registry.views.shared.downloads import download_links, rows_response
from registry.views.shared.tables import Column, ledger_table

_NOTHING_FOUND = _("No record you may see carries this code, or has it in its code or name.")
_LOOK = "today"  # what the session names the last look at Today


class TodayView(PageView):
    action = "today.view"
    template_name = "plantings/overview/today.html"
    title = gettext_lazy("Today")
    question = gettext_lazy("What needs attention?")

    def get_page(self):
        user, on = self.user, self.today
        empty_book = user.may("import.run") and not Taxon.objects.exists()
        now = timezone.now()
        site = site_lines(user, on, now)
        urgent = [line for line in site if line.first or line.severity == "late"]
        lines = [*urgent, *today_lines(user, on, now, self._since(on, now)), *(line for line in site if line not in urgent)]
        return {"lines": lines, "on": on, "first_steps": _first_steps() if empty_book else None, "links": self._links()}

    def _since(self, on, now):
        """The last look of an earlier day, in the session of the person; the first look of a day becomes that of the next."""
        seen = self.request.session.get(_LOOK, {})
        if self.user.role in roles.OFFICE and seen.get("day") != on.isoformat():
            look = last_look(now)
            seen = {"day": on.isoformat(), "look": [look.entry, look.at.isoformat()], "before": seen.get("look")}
            self._note(seen)
        before = seen.get("before")
        return Look(before[0], datetime.fromisoformat(before[1])) if before else None

    def _note(self, seen):
        """A look that cannot be noted now, since somebody loads a sheet or the disk is full, is noted the next time: the page is shown."""
        session = self.request.session
        session[_LOOK] = seen
        saved_if_free(session.save)
        session.modified = False

    def _links(self):
        """The few things this person comes to do most often."""
        wanted = (
            ("shipment.edit", "New shipment", "shipment_add"),
            ("lot.edit", "New lot", "lot_add"),
            ("duty.view", gettext_noop("Duties"), "duty_list"),
            ("duty.view", gettext_noop("Calendar"), "calendar"),
            ("incident.enter", "Report an incident", "incident_add"),
            ("import.run", "Load a sheet", "sheet_list"),
            ("survival.view", gettext_noop("Survival"), "survival"),
            ("map.view", gettext_noop("Map"), "map"),
            ("person.view", "People", "person_list"),
        )
        links = [(gettext(label), reverse(route)) for action, label, route in wanted if self.may(action)]
        item = crew_round(self.user, self.today)
        if not item:
            return links
        record = (
            (gettext("Record trees, %(round)s") % {"round": item.label}, reverse("census_next", args=[item.pk])),
            (gettext("Record on a phone, also without a signal"), reverse("census_phone", args=[item.pk])),
        )
        return [*record, *links]


def _first_steps():
    return [
        {"text": "Load or add the taxa, then the trees of the pedigree", "url": reverse("sheet_list")},
        {"text": "Enter the lots and the quantity of each", "url": reverse("lot_list")},
        {"text": "Enter partners and the papers you hold", "url": reverse("partner_list")},
        {"text": "Add sites and plantings, then their trees", "url": reverse("site_list")},
        {"text": "Make an account for everyone who works with you", "url": reverse("person_list")},
    ]


class FindView(PageView):
    """The box on top: one hit opens its page, several are listed."""

    action = "code.find"
    template_name = "plantings/overview/find.html"
    title = _("Find")

    def get(self, request, *args, **kwargs):
        self.text = request.GET.get("q", "")
        self.hits = code_find(request.user, self.text)
        if len(self.hits) == 1:
            return redirect(self.hits[0].url)
        return super().get(request, *args, **kwargs)

    def get_page(self):
        columns = (
            Column(_("Code"), "code", kind="code", url=lambda hit: hit.url),
            Column(_("Kind"), "kind"),
            Column(_("What it is"), "what", wide=True),
        )
        return {
            "q": self.text,
            "question": gettext("Which record carries “%(code)s”?") % {"code": self.text}
            if self.text
            else _("Which record are you looking for?"),
            "section": ledger_table(
                _("Found"),
                columns,
                self.hits,
                unit="records",
                empty=code_fault(self.text) or _NOTHING_FOUND,
            ),
        }


class TraceView(PageView):
    """Up to the founders and down to every tree, for any code."""

    action = "trace.view"
    template_name = "plantings/identity/trace.html"

    def get(self, request, *args, **kwargs):
        found = code_find(request.user, request.GET.get("q", ""))
        self.hits = [hit for hit in found if hit.record is not None] or found
        self.traced = self.hits[0].record if len(self.hits) == 1 else None
        if self.traced is not None:
            wanted = request.GET.get("download")
            self.trace = record_trace(request.user, self.traced, None if wanted else ROWS_SHOWN)
            if wanted:
                return rows_response(["Side", "Kind", "Code", "What"], trace_rows(self.trace), "trace", wanted)
        return super().get(request, *args, **kwargs)

    def get_page(self):
        text = self.request.GET.get("q", "")
        page = {"q": text, "title": "Trace", "question": "What did it come from, and what came from it?"}
        if self.traced is None:
            is_traced = any(hit.record is not None for hit in self.hits)
            columns = (
                Column("Code", "code", kind="code", url=lambda hit: _trace_url(hit) if is_traced else hit.url),
                Column("Kind", "kind"),
                Column("What it is", "what", wide=True),
            )
            empty = "No record you may see carries this code. Type a tag, a lot, a shipment, a mother tree, a paper or a place."
            title = "Which one?" if is_traced or not self.hits else "Found, without a trace"
            return page | {"section": ledger_table(title, columns, self.hits, unit="records", empty=empty)}
        trace = self.trace
        return page | {
            "title": f"Trace of {trace.kind} {trace.code}",
            "trace": trace,
            "up": [trace_table(group) for group in trace.up],
            "down": [trace_table(group) for group in trace.down],
            "downloads": download_links(self.request.GET),
        }


def _trace_url(hit):
    return f"{reverse('trace')}?{urlencode({'q': hit.code})}"


_TRACE_COLUMNS = (
    # two codes in one cell must be able to break on a phone
    Column("Code", "code", kind=lambda row: None if " · " in row.code else "code", url=lambda row: row.url),
    Column("What it is", "what", wide=True),
)


def trace_table(group):
    """One group of a trace: all are counted, the first are shown."""
    part = ledger_table(group.title, _TRACE_COLUMNS, group.rows, note=group.note)
    return part | {"count": group.total, "unit": unit_words(group.total, "rows")}
