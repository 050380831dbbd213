"""Census entry: the plain form for one tree, the keying grid for a paper sheet."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect
from django.utils.html import format_html
from django.views.generic import FormView, TemplateView, View

from plantings.calc.census.rules import BROWSE_CLASSES, CANKER_CLASSES, CAUSES_OF_DEATH, FLOWERING, REMOVAL_REASONS, STATUSES
from plantings.forms.census import CensusForm, record_words
from plantings.forms.grid import COLUMNS, KEYED, ROWS_A_PAGE, CensusGrid
from plantings.models import Observation, Tree
from plantings.selectors.census.rounds import next_tree, records_by_tree, sheet_trees
from plantings.services.census import CensusRefused, observations_record, second_looks
from plantings.views.census.rounds import get_round
from plantings.views.census.visits import visit_cautions, visit_day
from plantings.views.plantings.plantings import round_url
from plantings.views.plantings.trees import place_words, tree_url
from plantings.views.sites.sites import site_cautions
from registry.access.views import AccessMixin
from registry.calc.shared.screen import amount_words, day_words
from registry.choices import CautionTask
from registry.services.safety.cautions import cautions_read
from registry.views.shared.generic import ServiceFormMixin, reverse_to
from registry.views.shared.section_views import link


class RoundEntryMixin(AccessMixin):
    """Entry into one round of the person's scope."""

    action = "census.enter"

    def dispatch(self, request, *args, **kwargs):
        if request.user.may(self.action):
            self.round = get_round(self, kwargs["pk"])
        return super().dispatch(request, *args, **kwargs)

    def head_initial(self):
        """Day and observer as they were written on the page before."""
        given = self.request.GET
        head = {name: given[key] for name, key in (("observed_on", "on"), ("observer", "by")) if given.get(key)}
        return {"observer": str(self.request.user)} | head if self.keeps_observer else head

    keeps_observer = False

    def head_query(self, form):
        values = {"on": form.cleaned_data["observed_on"].isoformat(), "by": form.cleaned_data["observer"]}
        return urlencode({name: value for name, value in values.items() if value})

    def get_context_data(self, **kwargs):
        site = self.round.planting.site
        page = {
            "round": self.round,
            "cautions": site_cautions(site),
            "visit": visit_cautions(self.request.user, site, visit_day(self.round)),
            "cautions_ticked": "cautions_read" in self.request.POST,
        }
        return super().get_context_data(**kwargs) | page

    def keep_cautions_read(self):
        """Keep that the person has read the cautions, where they ticked it. Nothing waits for it."""
        if "cautions_read" in self.request.POST:
            versions = self.request.POST.getlist("caution_version")
            cautions_read(actor=self.request.user, task=CautionTask.CENSUS, versions=versions, subject=str(self.round))


class CensusNextView(RoundEntryMixin, View):
    """Opens the form of the first tree without a record."""

    def get(self, request, pk):
        tree = next_tree(self.round)
        if tree is None:
            messages.success(request, "No tree of this round is owed a record any more.")
            return redirect(round_url(self.round))
        return redirect("census_tree", self.round.pk, tree.pk)


class CensusTreeView(RoundEntryMixin, ServiceFormMixin, FormView):
    form_class = CensusForm
    template_name = "plantings/census/census_tree.html"
    question = "What stands at this position today?"
    submit_label = "Save and go to the next tree"
    keeps_observer = True

    def dispatch(self, request, *args, **kwargs):
        if request.user.may(self.action):
            trees = self.scoped(Tree).select_related("planting", "block", "entry__lot").filter(planting__rounds=kwargs["pk"])
            self.tree = get_object_or_404(trees, pk=kwargs["tree"])
        return super().dispatch(request, *args, **kwargs)

    def get_title(self):
        return f"Tree {self.tree.tag}"

    def get_initial(self):
        return super().get_initial() | self.head_initial()

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"census_round": self.round, "tree": self.tree}

    def perform(self, form):
        self.form, row = form, form.row()
        try:
            stored = observations_record(actor=self.request.user, rows=[row])
        except CensusRefused as refused:
            raise refused_error(refused.problems[0], form) from None
        self.keep_cautions_read()
        self.looks = second_looks(self.round, [row]).get(self.tree.pk, ())
        return stored

    def get_success_message(self):
        return f"Tree {self.tree.tag} is stored." if self.result else f"Tree {self.tree.tag} was stored already."

    def get_success_url(self):
        for finding in self.looks:
            messages.warning(self.request, format_html('<a href="{}">{}</a>: {}', tree_url(self.tree), self.tree.tag, finding.message))
        following = next_tree(self.round, after=self.tree)
        if following is None:
            messages.success(self.request, "That was the last one: no tree of this round is owed a record any more.")
            return round_url(self.round)
        return f"{reverse_to('census_tree', self.round.pk, following.pk)}?{self.head_query(self.form)}"

    def get_cancel_url(self):
        return round_url(self.round)

    def get_context_data(self, **kwargs):
        following = next_tree(self.round, after=self.tree)
        records = records_by_tree(self.round, [self.tree.pk]).get(self.tree.pk, [])
        page = {
            "place": place_words(self.tree),
            "skip_url": reverse_to("census_tree", self.round.pk, following.pk) if following else None,
            "recorded": [stored_words(record) for record in records],
        }
        return super().get_context_data(**kwargs) | page


def refused_error(findings, form):
    """The errors of a refused row as a ValidationError on the fields of a form."""
    errors = {}
    for finding in findings:
        if finding.severity == "error":
            errors.setdefault(finding.field if finding.field in form.fields else "__all__", []).append(finding.message)
    return ValidationError(errors)


def stored_words(record):
    who = record.observer or str(record.entered_by)
    return f"{record.get_status_display()} on {day_words(record.observed_on)} by {who}: {record_words(record)}"


class CensusGridView(RoundEntryMixin, TemplateView):
    template_name = "plantings/census/census_grid.html"

    def get(self, request, *args, **kwargs):
        self.page = self.get_page()
        self.grid = CensusGrid(self.round, self.page.object_list, head_initial=self.head_initial())
        return super().get(request, *args, **kwargs)

    def get_page(self):
        return Paginator(sheet_trees(self.round).select_related("block"), ROWS_A_PAGE).get_page(self.request.GET.get("page"))

    def post(self, request, *args, **kwargs):
        self.page = self.get_page()
        self.grid = CensusGrid(self.round, self.page.object_list, data=request.POST)
        if self.grid.is_valid() and self.store():
            return redirect(self.get_next())
        return self.render_to_response(self.get_context_data())

    def store(self):
        rows = self.grid.rows()
        try:
            stored = observations_record(actor=self.request.user, rows=rows)
        except CensusRefused as refused:
            for number, findings in refused.problems.items():
                form = self.grid.sent[number]
                for name, texts in refused_error(findings, form).message_dict.items():
                    form.add_error(None if name == "__all__" else name, texts)
            return False
        self.keep_cautions_read()
        self.say_what_was_stored(rows, stored)
        return True

    def say_what_was_stored(self, rows, stored):
        if not rows:
            messages.warning(self.request, "No row had anything in it, so nothing was stored.")
            return
        known = len(rows) - stored
        before = f" {amount_words(known, 'trees')} had been stored before." if known else ""
        messages.success(self.request, f"{amount_words(stored, 'trees')} stored.{before}")
        odd = second_looks(self.round, Observation.objects.filter(uuid__in=[row.uuid for row in rows]))
        if odd:
            look = "to look at a second time: see the rows marked below. They are stored as written."
            messages.warning(self.request, f"{amount_words(len(odd), 'trees')} {look}")

    def get_next(self):
        """The same page, so that what was stored and what looks odd can be read; day and observer stay."""
        query = urlencode({"page": self.page.number})
        return f"{self.request.path}?{query}&{self.head_query(self.grid.head)}"

    def get_context_data(self, **kwargs):
        records = [record for line in self.grid.lines for record in line.records]
        looks = second_looks(self.round, records)
        page = {
            "title": f"Key the sheet: {self.round.planting.code}, {self.round.label}",
            "question": "What does the paper say, tree by tree?",
            "grid": self.grid,
            "columns": COLUMNS,
            "rows": [self.row(line, looks) for line in self.grid.lines],
            "page_obj": self.page,
            "cancel_url": round_url(self.round),
            "codes": CODE_LISTS,
        }
        return super().get_context_data(**kwargs) | page

    def row(self, line, looks):
        user = self.request.user
        return {
            "tag": line.tree.tag,
            "place": place_words(line.tree),
            "url": tree_url(line.tree),
            "uuid": line.form["uuid"] if line.form else None,
            "fields": [line.form[name] for name in KEYED] if line.form else None,
            "errors": line.form.non_field_errors() if line.form and line.form.is_bound else (),
            "records": [
                (_cells(record), stored_words(record), link(user, "observation.correct", "observation_correct", record.pk))
                for record in line.records
            ],
            "looks": [finding.message for finding in looks.get(line.tree.pk, ())] + _disagreement(line.records),
        }


def _disagreement(records):
    """What to say when a tree has records of different status in one round."""
    return ["Two records do not agree. Settle them by a correction."] if len({record.status for record in records}) > 1 else []


def _cells(record):
    """A stored record in the columns of the grid."""
    measures = ["" if value is None else f"{value:g}" for value in (record.height_cm, record.diameter_mm, record.canker_class)]
    return [record.status, record.cause, *measures, record.browse_class, record.flowering, record.note]


CODE_LISTS = (
    ("Status", [(code, f"{label}. {note}") for code, label, note in STATUSES]),
    ("Cause, for D", [(code, label) for code, label, _note in CAUSES_OF_DEATH]),
    ("Reason, for RM", [(code, label) for code, label, _biological in REMOVAL_REASONS]),
    ("Canker, worst class", [(code, f"{label}. {note}") for code, label, note in CANKER_CLASSES]),
    ("Browse", [(code, f"{label}. {note}") for code, label, note in BROWSE_CLASSES]),
    ("Flowers or fruit", [(code, f"{label}. {note}") for code, label, note in FLOWERING]),
)
