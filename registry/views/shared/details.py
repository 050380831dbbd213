"""The page of a record, and pages that are about a record or about none."""

from urllib.parse import urlencode

from django.urls import reverse
from django.views.generic import DetailView, TemplateView

from registry.access.views import AccessMixin
from registry.models import AuditEntry
from registry.models.audit import stored_name
from registry.views.audit.changes import change_lines, verb_words
from registry.views.shared.addresses import record_url
from registry.views.shared.sections import contents_of, draw_sections, drawn, each_action_once
from registry.views.shared.tables import follow
from registry.views.shared.words import words_of

PART_ROWS_MAX = 100


class RecordDetailView(AccessMixin, DetailView):
    """A record page: what it is, its chain, what is due or odd, facts, sections, history.

    Declare `model`, `action`, `question`, `facts`, `actions` and `sections` (see `sections.py`); `state` and `where` as a dotted path
    from the record or a property; `title` and `cautions`; `related` for `select_related`, `read` as a list does. `trace_code` is the
    code to trace the record by: blank for one that is not on the spine. A page that has a chain, or lines that are due or odd,
    overrides `get_chain`, `get_due`. With `contents` the sections that have an id are listed on top.
    """

    template_name = "generic/detail.html"
    title = "{object}"
    question = ""
    related = cautions = ()
    read = None
    state = where = ""
    facts = actions = sections = ()
    contents = False
    has_history = True
    code = property(lambda page: getattr(page.object, "code", ""))
    trace_code = property(lambda page: page.code)

    def get_queryset(self):
        rows = self.scoped(self.model)
        rows = rows.select_related(*self.related) if self.related else rows
        return self.read(rows) if self.read else rows

    def get_chain(self):
        """What it came from and led to: a `chain_step` each."""
        return []

    def get_due(self):
        """What is due or odd: a `Duty` each."""
        return []

    def get_actions(self):
        code = self.trace_code
        trace = [("Trace up and down", f"{reverse('trace')}?{urlencode({'q': code})}")] if code and self.may("trace.view") else []
        return [*drawn(self, self.actions), *trace]

    def get_history(self):
        if not self.has_history or not self.may("audit.view"):
            return []
        entries = AuditEntry.objects.filter(record_type=stored_name(self.model), record_id=self.object.pk)
        return [history_line(entry) for entry in entries.select_related("actor")[:50]]

    def get_page(self):
        parts, missing = draw_sections(self, self.sections)
        actions = each_action_once(self.get_actions(), parts)
        return {
            "code": self.code,
            "state": self.path_or_property("state"),
            "where": self.path_or_property("where"),
            "chain": self.get_chain(),
            "due": self.get_due(),
            "cautions": self.cautions,
            "actions": actions,
            "facts": drawn(self, self.facts),
            "parts": parts,
            "missing": missing,
            "contents": contents_of(parts) if self.contents else (),
        }

    def path_or_property(self, name):
        declared = getattr(type(self), name)
        if not isinstance(declared, str):
            return getattr(self, name)
        return follow(self.object, declared) if declared else ""

    def get_context_data(self, **kwargs):
        head = {"title": words_of(self, "title"), "question": self.question, "history": self.get_history()}
        return super().get_context_data(**kwargs) | head | self.get_page()


def chain_step(label, code, url=None, note="", *, current=False):
    """A step of `get_chain`: what it is, its code, its page, a word about it; `current` is the record of the page."""
    return {"label": label, "code": code, "url": url, "note": note, "current": current}


def history_line(entry):
    return {
        "at": entry.at,
        "who": str(entry.actor),
        "verb": verb_words(entry),
        "changes": change_lines(entry),
        "reason": entry.reason,
    }


class RecordToolView(RecordDetailView):
    """A page that calculates from a record and stores nothing: it leads back to the record and has no history or trace."""

    has_history = False
    trace_code = ""

    @property
    def record_link(self):
        return f"{self.model._meta.verbose_name.capitalize()} {self.object.code}", record_url(self.object)


class PageView(AccessMixin, TemplateView):
    """A page about no single record: title, question and whatever `get_page` adds."""

    title = question = ""

    def get_page(self):
        return {}

    def get_context_data(self, **kwargs):
        return super().get_context_data(**kwargs) | {"title": self.title, "question": self.question} | self.get_page()
