"""Census entry: the form for one tree, and the grid that a field form is keyed into."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect
from django.utils.html import format_html
from django.utils.translation import get_language, gettext, gettext_lazy, gettext_noop, ngettext
from django.views.generic import FormView, TemplateView, View

from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS, STATUSES
from plantings.calc.census.measurements import ERROR, value_of
from plantings.forms.census import CensusForm
from plantings.forms.grid import ROWS_A_PAGE, CensusGrid
from plantings.models import Observation, Tree
from plantings.selectors.census.asked import own_of, said_of
from plantings.selectors.census.records import own_records, records_differ
from plantings.selectors.census.rounds import field_form_trees, next_tree, records_by_tree
from plantings.services.census.checks import second_looks
from plantings.services.census.observations import CensusRefused, observations_record
from plantings.views.census.asking import AskMixin, correction_url, stored_words
from plantings.views.census.rounds import get_round
from plantings.views.census.visits import visit_cautions, visit_day
from plantings.views.plantings.trees import place_words
from plantings.views.sites.sites import site_cautions
from registry.access.views import AccessMixin
from registry.choices import CautionTask
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_value
from registry.services.safety.cautions import cautions_read
from registry.views.shared.addresses import record_url, reverse_to
from registry.views.shared.forms import ServiceFormMixin


class RoundEntryMixin(AccessMixin):
    """Entry of records into a round that is within the person's rows."""

    action = "census.enter"
    fills_in_observer = False

    def find_rows(self):
        self.round = get_round(self, self.kwargs["pk"])

    def head_initial(self):
        """Day and observer, as entered on the page before."""
        given = self.request.GET
        head = {name: given[key] for name, key in (("observed_on", "on"), ("observer", "by")) if given.get(key)}
        return {"observer": str(self.user)} | head if self.fills_in_observer else head

    def head_query(self, form):
        values = {"on": form.cleaned_data["observed_on"].isoformat(), "by": form.cleaned_data["observer"]}
        return urlencode({name: value for name, value in values.items() if value})

    def get_context_data(self, **kwargs):
        site = self.round.planting.site
        page = {
            "round": self.round,
            "cautions": site_cautions(site),
            "visit": visit_cautions(self.user, site, visit_day(self.round)),
            "cautions_ticked": "cautions_read" in self.request.POST,
        }
        return super().get_context_data(**kwargs) | page

    def record_cautions_read(self):
        """Record that the person has read the cautions, if they ticked the box. Nothing waits for it."""
        if "cautions_read" in self.request.POST:
            versions = self.request.POST.getlist("caution_version")
            cautions_read(
                actor=self.user, task=CautionTask.CENSUS, versions=versions, subject=str(self.round), language=get_language()
            )  # fmt: skip


class CensusNextView(RoundEntryMixin, View):
    """Opens the form of the first tree without a record."""

    def get(self, request, pk):
        tree = next_tree(self.round)
        if tree is None:
            messages.success(request, gettext("Every tree in this round has a record."))
            return redirect(record_url(self.round))
        return redirect("census_tree", self.round.pk, tree.pk)


class CensusTreeView(AskMixin, RoundEntryMixin, ServiceFormMixin, FormView):
    form_class = CensusForm
    template_name = "plantings/census/census_tree.html"
    question = gettext_lazy("What is at this position today?")
    submit_label = gettext_lazy("Save and go to the next tree")
    fills_in_observer = True
    title = property(lambda page: gettext("Tree %(tag)s") % {"tag": page.tree.tag})
    initial = property(lambda page: page.head_initial())
    form_extras = property(lambda page: {"census_round": page.round, "tree": page.tree})
    back_to = property(lambda page: page.round)

    def find_rows(self):
        super().find_rows()
        trees = self.scoped(Tree).select_related("planting", "block", "entry__lot").filter(planting__rounds=self.round)
        self.tree = get_object_or_404(trees, pk=self.kwargs["tree"])

    def perform(self, form):
        self.form, row = form, form.row()
        self.ask_about(form, row)
        try:
            stored = observations_record(actor=self.user, rows=[row])
        except CensusRefused as refused:
            raise refused_error(refused.problems[0], form) from None
        self.record_cautions_read()
        self.looks = second_looks(self.round, [row]).get(self.tree.pk, ())
        return stored

    @property
    def success_message(self):
        words = gettext("Record of tree %(tag)s saved.") if self.result else gettext("The record of tree %(tag)s was saved before.")
        return words % {"tag": self.tree.tag}

    def get_success_url(self):
        for finding in self.looks:
            words = finding.said(local_text, local_value)
            messages.warning(self.request, format_html('<a href="{}">{}</a>: {}', record_url(self.tree), self.tree.tag, words))
        following = next_tree(self.round, after=self.tree)
        if following is None:
            messages.success(self.request, gettext("That was the last one. Every tree in this round has a record."))
            return record_url(self.round)
        return f"{reverse_to('census_tree', self.round.pk, following.pk)}?{self.head_query(self.form)}"

    def get_page(self):
        following = next_tree(self.round, after=self.tree)
        records = records_by_tree(self.round, [self.tree.pk]).get(self.tree.pk, [])
        own = own_of(records)
        return {
            "place": place_words(self.tree),
            "skip_url": reverse_to("census_tree", self.round.pk, following.pk) if following else None,
            "recorded": [(stored_words(record, own), correction_url(self.user, record)) for record in records],
        }


def refused_error(findings, form):
    """The errors of a refused row as a ValidationError on the fields of a form."""
    errors = {}
    for finding in findings:
        if finding.severity == ERROR:
            place = finding.field if finding.field in form.fields else "__all__"
            errors.setdefault(place, []).append(finding.said(local_text, local_value))
    return ValidationError(errors)


class CensusGridView(AskMixin, RoundEntryMixin, TemplateView):
    template_name = "plantings/census/census_grid.html"

    def get(self, request, *args, **kwargs):
        self.page = self.get_page()
        self.grid = self.make_grid(head_initial=self.head_initial())
        return super().get(request, *args, **kwargs)

    def get_page(self):
        return Paginator(self.get_trees().select_related("block"), ROWS_A_PAGE).get_page(self.request.GET.get("page"))

    def get_trees(self):
        return field_form_trees(self.round).for_user(self.user)

    def make_grid(self, **given):
        return CensusGrid(self.round, self.page.object_list, self.scoped(Tree), **given)

    def record(self, rows):
        """Store the rows of the grid; returns how many were new."""
        return observations_record(actor=self.user, rows=rows)

    def own_before(self, rows):
        """A page keyed twice, or two windows open; the form of one tree shows its record."""
        words = gettext_noop("You have recorded this tree in this round before. Save again to store a second record beside it.")
        return dict.fromkeys(own_records(self.user, self.round, rows), words)

    def stored_again(self, rows):
        """What is stored of these rows now."""
        return Observation.objects.filter(uuid__in=[row.uuid for row in rows])

    def post(self, request, *args, **kwargs):
        self.page = self.get_page()
        self.grid = self.make_grid(data=request.POST)
        if self.grid.is_valid() and self.store():
            return redirect(self.get_next())
        return self.render_to_response(self.get_context_data())

    def store(self):
        rows = self.grid.rows()
        if odd := self.odd_unasked(self.round, rows):
            for form in self.grid.sent:
                for name, words in odd.get(form.tree.pk, {}).items():
                    form.add_error(name if name in form.fields else None, words)
            return False
        try:
            stored = self.record(rows)
        except CensusRefused as refused:
            for number, findings in refused.problems.items():
                form = self.grid.sent[number]
                for name, texts in refused_error(findings, form).message_dict.items():
                    form.add_error(None if name == "__all__" else name, texts)
            return False
        self.record_cautions_read()
        self.say_what_was_stored(rows, stored)
        return True

    def say_what_was_stored(self, rows, stored):
        if not rows:
            messages.warning(self.request, gettext("Nothing was entered, so nothing was saved."))
            return
        said = [ngettext("Records of %(n)s tree saved.", "Records of %(n)s trees saved.", stored) % {"n": stored}]
        if known := len(rows) - stored:
            said.append(ngettext("%(n)s tree was saved before.", "%(n)s trees were saved before.", known) % {"n": known})
        messages.success(self.request, " ".join(said))
        if odd := len(second_looks(self.round, self.stored_again(rows))):
            words = ngettext(
                "%(n)s tree needs a second look: see the row marked below. It is saved as written.",
                "%(n)s trees need a second look: see the rows marked below. They are saved as written.",
                odd,
            )
            messages.warning(self.request, words % {"n": odd})

    def get_next(self):
        """The same page, so that what was saved and what looks odd can be read; day and observer stay."""
        return f"{self.request.path}?{self.page_query()}{self.head_query(self.grid.head)}"

    def page_query(self):
        return f"{urlencode({'page': self.page.number})}&"

    def get_context_data(self, **kwargs):
        looks = self.looks()
        page = {
            "title": gettext("Key the field form: %(planting)s, %(round)s")
            % {"planting": self.round.planting.code, "round": self.round.label},
            "question": gettext("What does the field form say, tree by tree?"),
            "grid": self.grid,
            "columns": self.grid.columns,
            "rows": [self.row(line, looks) for line in self.grid.lines],
            "page_obj": self.page,
            "cancel_url": record_url(self.round),
            "codes": code_lists(self.grid.asked),
        }
        return super().get_context_data(**kwargs) | page

    def looks(self):
        """{tree pk: what needs a second look in its records}."""
        records = [record for line in self.grid.lines for record in line.records]
        return second_looks(self.round, records, {line.tree.pk: line.tree.planted_on for line in self.grid.lines})

    def row(self, line, looks):
        user = self.user
        return {
            "tag": line.tree.tag,
            "place": place_words(line.tree),
            "url": record_url(line.tree),
            "uuid": line.form["uuid"] if line.form else None,
            "fields": [line.form[name] for name in line.form.keyed] if line.form else None,
            "errors": line.form.non_field_errors() if line.form and line.form.is_bound else (),
            "records": [
                (row_cells(record, self.grid.asked), stored_words(record, self.grid.asked), correction_url(user, record))
                for record in line.records
            ],
            "looks": [finding.said(local_text, local_value) for finding in looks.get(line.tree.pk, ())] + _disagreement(line.records),
        }


def _disagreement(records):
    """What to say when the records of a tree in one round say different things."""
    return [gettext("Two records disagree. Settle them by a correction.")] if records_differ(records) else []


def row_cells(record, asked):
    """A stored record, or a row, in the columns of the grid."""
    values = (record.status, record.cause, *(value_of(record, item) for item in asked), record.note)
    return [f"{value:g}" if isinstance(value, float) else value for value in values]


def code_lists(asked):
    """[(name of the list, [(code, words)])] of everything that is keyed as a code."""
    measured = [(said_of(item, local_text(item.label)), item.classes) for item in asked if item.classes]
    explained = [(name, [(code, _explained(label, meaning)) for code, label, meaning in codes])
                 for name, codes in ((gettext("Status"), STATUSES), *measured)]  # fmt: skip
    named = [(gettext(name), [(code, gettext(label)) for code, label, _ in codes]) for name, codes in CAUSE_LISTS]
    return [explained[0], *named, *explained[1:]]


def _explained(label, meaning):
    return f"{gettext(label)}. {gettext(meaning)}" if meaning else local_text(label)


CAUSE_LISTS = ((gettext_noop("Cause, for D"), CAUSES_OF_DEATH), (gettext_noop("Reason, for RM"), REMOVAL_REASONS))
