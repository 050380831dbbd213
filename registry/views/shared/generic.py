"""The screens every record type shares: list, detail, form, action. A screen is a declaration on top of these."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property
from django.utils.http import content_disposition_header
from django.views.generic import DetailView, FormView, ListView, TemplateView

from registry.access.views import AccessMixin
from registry.calc.shared.screen import unit_words
from registry.forms.shared.edit_conflict import edit_conflict, shown_token
from registry.forms.shared.offers import offers
from registry.imports.sheets.formats import CONTENT_TYPES, download_response, write_rows
from registry.models import AuditEntry
from registry.selectors.identity.questions import question_path, with_question_mark
from registry.services.shared.records import record_save
from registry.views.audit.changes import change_lines, verb_words
from registry.views.shared.sections import contents_of, draw_sections, drawn
from registry.views.shared.tables import Column, Row, as_cell, follow

_IN_QUESTION = Column(
    "Identity", lambda record: "in question" if record.in_question else "", kind=lambda record: "state" if record.in_question else "blank"
)


class RecordListView(AccessMixin, ListView):
    """A filtered, paged list with downloads of exactly what is shown.

    Declare `model`, `action`, `title`, `question`, `columns`, `unit`; optionally `filter_form` (a form with
    `narrow(queryset)`), `sheet` (a sheet class of `imports`: CSV and XLSX), `empty`, `add` (label, action, url name),
    `question_path` (how open questions of identity reach a row; the registry's trees, lots, pools and shipments need not say).
    """

    template_name = "generic/list.html"
    paginate_by = 50
    title = question = ""
    unit = "rows"
    columns = ()
    filter_form = None
    sheet = None
    empty = ("Nothing here yet", "", None)
    add = None
    question_path = ""

    def get_queryset(self):
        queryset = self.scoped(self.model)
        if hasattr(queryset, "for_list"):
            queryset = queryset.for_list()
        self.filters = self.filter_form(self.request.GET or None) if self.filter_form else None
        if self.filters is not None:
            self.limit_choices(self.filters)
            if self.filters.is_bound and self.filters.is_valid():
                queryset = self.filters.narrow(queryset)
        path = self.question_path or question_path(self.model)
        return with_question_mark(queryset, path) if path and self.request.user.may("identity.view") else queryset

    def get(self, request, *args, **kwargs):
        if "offer" in request.GET and self.filter_form:
            return offers_response(request, self.limit_choices(self.filter_form()))
        wanted = request.GET.get("download")
        if wanted:
            if wanted not in CONTENT_TYPES:
                raise Http404("There is no download of this kind.")
            if self.sheet is None:
                return self.download_columns(wanted)
            return download_response(self.sheet, self.get_queryset(), wanted, request.user)
        return super().get(request, *args, **kwargs)

    def download_columns(self, wanted):
        """The columns as shown, of all rows: for a list whose records no sheet brings in."""
        rows = [[as_cell(column.cell(record)[0]) for column in self.columns] for record in self.get_queryset()]
        content = write_rows([column.label for column in self.columns], rows, wanted)
        return file_response(content, CONTENT_TYPES[wanted], f"{self.model._meta.model_name}.{wanted}")

    def get_downloads(self):
        query = self.request.GET.copy()
        query.pop("page", None)
        links = []
        for wanted in CONTENT_TYPES:
            query["download"] = wanted
            links.append((wanted.upper(), f"?{query.urlencode()}"))
        return links

    def get_actions(self):
        if self.add and self.request.user.may(self.add[1]):
            return [(self.add[0], reverse_to(self.add[2]))]
        return []

    def get_columns(self, records):
        """The columns of a page; with the mark *in question* beside the code where any of its rows carries it."""
        first, *rest = self.columns
        marked = any(getattr(record, "in_question", False) for record in records)
        columns = [first, *([_IN_QUESTION] if marked else ()), *rest]
        return [column for column in columns if column.shown_to(self.request.user)]

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        page = context["page_obj"]
        columns = self.get_columns(page.object_list)
        return context | {
            "title": self.title,
            "question": self.question,
            "columns": [(str(number), column.label, column.look) for number, column in enumerate(columns)],
            "rows": [
                Row([column.cell(record, self.request.user) for column in columns], self.row_mark(record)) for record in page.object_list
            ],
            "count": page.paginator.count,
            "unit": unit_words(page.paginator.count, self.unit),
            "filters": self.filters,
            "downloads": self.get_downloads(),
            "actions": self.get_actions(),
            "empty": {"title": self.empty[0], "text": self.empty[1], "action": self.get_actions()[0] if self.get_actions() else None},
        }

    def row_mark(self, record):
        return ""


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
        """The code to trace this record by; blank for a record that is no step of the spine."""
        return self.get_code()

    def get_actions(self):
        code = self.get_trace_code()
        trace = [("Trace up and down", f"{reverse('trace')}?{urlencode({'q': code})}")] if code and self.may("trace.view") else []
        return [*drawn(self, self.actions), *trace]

    def get_history(self):
        if not self.request.user.may("audit.view"):
            return []
        entries = AuditEntry.objects.filter(record_type=self.model._meta.model_name, record_id=self.object.pk)
        return [history_line(entry) for entry in entries.select_related("actor")[:50]]

    def get_page(self):
        parts, missing = draw_sections(self, self.sections)
        return {
            "code": self.get_code(),
            "state": self.words_of("state"),
            "where": self.words_of("where"),
            "chain": self.get_chain(),
            "due": self.get_due(),
            "cautions": self.get_cautions(),
            "actions": self.get_actions(),
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


class ServiceFormMixin(AccessMixin):
    """A form whose save is a service call. What the service refuses is shown at its field; nothing typed is lost.

    `person_box` names the box that starts with the name of whoever fills in the form.
    """

    template_name = "generic/form.html"
    title = question = ""
    submit_label = "Save"
    success_message = "Saved."
    cautions = ()
    person_box = ""

    def get_initial(self):
        initial = super().get_initial()
        return initial | {self.person_box: str(self.user)} if self.person_box else initial

    def get(self, request, *args, **kwargs):
        if "offer" in request.GET:
            return offers_response(request, self.get_form())
        return super().get(request, *args, **kwargs)

    def get_form(self, form_class=None):
        return self.limit_choices(super().get_form(form_class))

    def form_valid(self, form):
        try:
            self.result = self.perform(form)
        except ValidationError as error:
            add_errors(form, error)
            return self.form_invalid(form)
        except IntegrityError:
            form.add_error(None, "Someone else just saved this record. Check it before saving again.")
            return self.form_invalid(form)
        messages.success(self.request, self.get_success_message())
        return redirect(self.get_success_url())

    def perform(self, form):
        """Call the service; return its result. May raise ValidationError."""
        raise NotImplementedError

    def get_success_message(self):
        return self.success_message.format(object=getattr(self, "object", None), result=self.result)

    def get_cancel_url(self):
        return self.request.GET.get("back") or None

    def get_title(self):
        return self.title.format(object=getattr(self, "object", None))

    def get_cautions(self):
        return self.cautions

    def get_context_data(self, **kwargs):
        page = {
            "title": self.get_title(),
            "question": self.question,
            "submit_label": self.submit_label,
            "cancel_url": self.get_cancel_url(),
            "cautions": self.get_cautions(),
        }
        return super().get_context_data(**kwargs) | page


def offers_response(request, form):
    """What a box for a code offers while somebody types, from the choices of its own form."""
    found = offers(form, request.GET["offer"], request.GET.get("fits", "").strip())
    if found is None:
        raise Http404("This form has no such box for a code.")
    return JsonResponse(found)


def add_errors(form, error):
    """Put a service's ValidationError on the fields it names, or on the form."""
    if hasattr(error, "error_dict"):
        for name, errors in error.error_dict.items():
            form.add_error(name if name in form.fields else None, errors)
    else:
        form.add_error(None, error)


class RecordFormView(ServiceFormMixin, FormView):
    """Add or change one record through `record_save`. With a `pk` in the route it changes; without, it adds.

    A form that changes a record knows what the record said when it was shown: it overwrites what somebody else saved in
    between only when the second person has seen it.
    """

    model = None
    read_again = False

    def get_form_kwargs(self):
        kwargs = super().get_form_kwargs()
        if "pk" in self.kwargs:
            kwargs["instance"] = get_object_or_404(self.scoped(self.model), pk=self.kwargs["pk"])
        return kwargs

    def form_valid(self, form):
        shown = self.request.POST.get("as_shown")
        conflict = edit_conflict(form, shown) if "pk" in self.kwargs and shown else ""
        if conflict:
            form.add_error(None, conflict)
            self.read_again = True
            return self.form_invalid(form)
        return super().form_valid(form)

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        if "pk" in self.kwargs:
            sent = None if self.read_again else self.request.POST.get("as_shown")
            context["as_shown"] = sent or shown_token(context["form"])
        return context

    def perform(self, form):
        many = {field.name: form.cleaned_data[field.name] for field in self.model._meta.many_to_many if field.name in form.cleaned_data}
        return self.save(form.instance, many, form)

    def save(self, record, many, form):
        return record_save(actor=self.request.user, obj=record, many=many, reason=form.cleaned_data.get("reason", ""))

    def get_success_url(self):
        # the row rule once more: a person must not save a record out of their own sight
        get_object_or_404(self.scoped(self.model), pk=self.result.pk)
        return reverse_to(f"{self.route_name()}_detail", self.result.pk)

    def route_name(self):
        return self.model._meta.model_name

    def get_title(self):
        name = self.model._meta.verbose_name
        return f"Change {name}" if "pk" in self.kwargs else f"New {name}"


class RecordActionView(ServiceFormMixin, FormView):
    """One thing done to one record (dispatch, receive, correct): a form above a service call.

    Declare `service` and the `argument` it takes the record as; the other arguments are the boxes of the form. `title` and
    `success_message` may name the record and the result: "Close {object.code}". `form_argument` is the argument a form takes the
    record as, if it has one. With `confirm` it reads as a question that is answered, for what cannot be undone; `get_text` says
    what will happen.
    """

    model = None
    service = None
    argument = form_argument = ""
    confirm = False

    def get_template_names(self):
        return ["generic/confirm.html"] if self.confirm else super().get_template_names()

    def get_form_kwargs(self):
        kwargs = super().get_form_kwargs()
        return kwargs | {self.form_argument: self.object} if self.form_argument else kwargs

    def get_text(self):
        return ""

    def perform(self, form):
        return type(self).service(actor=self.request.user, **{self.argument: self.object}, **form.cleaned_data)

    def dispatch(self, request, *args, **kwargs):
        if request.user.may(self.action):
            self.object = get_object_or_404(self.scoped(self.model), pk=kwargs["pk"])
        return super().dispatch(request, *args, **kwargs)

    def get_cancel_url(self):
        return reverse_to(f"{self.model._meta.model_name}_detail", self.object.pk)

    def get_success_url(self):
        return self.get_cancel_url()

    def get_context_data(self, **kwargs):
        return super().get_context_data(object=self.object, text=self.get_text(), **kwargs)


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
    """A page that is no record: title, question and whatever `get_page` adds."""

    title = question = ""

    def get_page(self):
        return {}

    def get_context_data(self, **kwargs):
        return super().get_context_data(**kwargs) | {"title": self.title, "question": self.question} | self.get_page()


def reverse_to(name, *args):
    return reverse(name, args=args)


def file_response(content, content_type, filename):
    """A download. The name may hold anything somebody called their file."""
    headers = {"Content-Disposition": content_disposition_header(True, filename)}
    return HttpResponse(content, content_type=content_type, headers=headers)
