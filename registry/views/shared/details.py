"""The page of a record, and pages that are about a record or about none."""

from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property
from django.views.generic import DetailView, TemplateView

from registry.access.views import AccessMixin
from registry.models import AuditEntry
from registry.models.audit import stored_name
from registry.views.audit.changes import change_lines, verb_words
from registry.views.shared.addresses import reverse_to
from registry.views.shared.sections import contents_of, draw_sections, drawn, each_action_once
from registry.views.shared.tables import follow

PART_ROWS_MAX = 100


class RecordDetailView(AccessMixin, DetailView):
    """A record page: what it is, its chain, what is due or odd, facts, sections, history.

    Declare `model`, `action`, `question`, `facts`, `actions` and `sections` (see `sections.py`); `state` and `where` as a dotted path
    from the record or a function of the page; `related` for `select_related`. A page that has a chain, lines that are due or odd, or
    cautions overrides `get_chain`, `get_due`, `get_cautions`. With `contents` the sections that have an id are listed on top.
    """

    template_name = "generic/detail.html"
    question = ""
    related = ()
    state = where = ""
    facts = actions = sections = ()
    contents = False

    def get_queryset(self):
        return self.scoped(self.model).select_related(*self.related) if self.related else self.scoped(self.model)

    @cached_property
    def today(self):
        return timezone.localdate()

    def get_title(self):
        return str(self.object)

    def get_code(self):
        return getattr(self.object, "code", "")

    def get_chain(self):
        """What it came from and led to: steps with label, code, url, note, current."""
        return []

    def get_due(self):
        """Lines with severity, text, due, url."""
        return []

    def get_cautions(self):
        return []

    def get_trace_code(self):
        """The code to trace this record by; blank for a record that is not on the spine."""
        return self.get_code()

    def get_actions(self):
        code = self.get_trace_code()
        trace = [("Trace up and down", f"{reverse('trace')}?{urlencode({'q': code})}")] if code and self.may("trace.view") else []
        return [*drawn(self, self.actions), *trace]

    def get_history(self):
        if not self.request.user.may("audit.view"):
            return []
        entries = AuditEntry.objects.filter(record_type=stored_name(self.model), record_id=self.object.pk)
        return [history_line(entry) for entry in entries.select_related("actor")[:50]]

    def get_page(self):
        parts, missing = draw_sections(self, self.sections)
        actions = each_action_once(self.get_actions(), parts)
        return {
            "code": self.get_code(),
            "state": self.words_of("state"),
            "where": self.words_of("where"),
            "chain": self.get_chain(),
            "due": self.get_due(),
            "cautions": self.get_cautions(),
            "actions": actions,
            "facts": drawn(self, self.facts),
            "parts": parts,
            "missing": missing,
            "contents": contents_of(parts) if self.contents else (),
        }

    def words_of(self, name):
        declared = getattr(type(self), name)  # a function declared on the class, not a method bound to the page
        return declared(self) if callable(declared) else follow(self.object, declared) if declared else ""

    def get_context_data(self, **kwargs):
        head = {"title": self.get_title(), "question": self.question, "history": self.get_history()}
        return super().get_context_data(**kwargs) | head | self.get_page()


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

    def get_history(self):
        return []

    def get_trace_code(self):
        return ""

    @property
    def record_link(self):
        name = self.model._meta
        return f"{name.verbose_name.capitalize()} {self.object.code}", reverse_to(f"{name.model_name}_detail", self.object.pk)


class PageView(AccessMixin, TemplateView):
    """A page about no single record: title, question and whatever `get_page` adds."""

    title = question = ""

    def get_page(self):
        return {}

    def get_context_data(self, **kwargs):
        return super().get_context_data(**kwargs) | {"title": self.title, "question": self.question} | self.get_page()
