"""Ratings: the list, the keying grid of an orchard day, a single tree, corrections."""

from django.core.exceptions import ValidationError
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.functional import cached_property
from django.views.generic import FormView

from registry.calc.shared.screen import amount_words, day_words
from registry.choices import CautionTask, TreeStatus
from registry.forms.orchard.ratings import (
    DAY_FIELDS,
    READINGS,
    RatingCorrectForm,
    RatingDayForm,
    RatingFilters,
    RatingForm,
    RatingPlaceForm,
)
from registry.imports.orchard.orchard import RatingSheet
from registry.imports.sheets.formats import write_rows_to
from registry.models import PedigreeTree, Rating
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.orchard import trees_of_orchard_on
from registry.selectors.orchard.ratings import CHECKS, check_kind, compared_ratings, rating_checks, ratings_of_day
from registry.services.orchard.ratings import rating_correct, ratings_enter
from registry.views.orchard.plan import spot_words
from registry.views.orchard.rating_words import checks_words, is_superseded, position_words, rating_columns, reading_words
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.safety.task_cautions import task_cautions
from registry.views.shared.addresses import record_url
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, ServiceFormMixin
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact
from registry.views.shared.tables import Link, as_cell

_GRID_MAX = 400
# columns that a download has and no sheet brings in
_COMPARED = {"Position", "Native check", "F1 check", "Donor check", "Disease", "It is a"}


# -- the list and the page ---------------------------------------------------------------------


class RatingListView(RecordListView):
    model = Rating
    action = "orchard.view"
    question = "Where is each tree between the checks rated the same day? 0 is the mean of the native checks, 1 of the donor checks."
    filter_form = RatingFilters
    others = (("Rating scales", "orchard.view", "ratingscale_list"), *MATERIAL_LISTS)
    add = ("Rate the trees of a day", "rating.enter", "rating_day")
    empty = ("No ratings yet", "Add the scale first, then the readings of a day, including the checks.", None)
    related = ("tree__taxon", "scale", "superseded_by")
    lines = staticmethod(compared_ratings)
    row_mark = staticmethod(lambda line: "soft" if is_superseded(line.rating) else "")
    columns = rating_columns()
    download_name = "ratings"

    def write_download(self, target, wanted):
        """The ratings that count, in the columns of their sheet, with the further columns of the list behind them."""
        sheet = RatingSheet()
        headers = [field.column_name for field in sheet.sheet_fields().values()]
        more = [column for column in self.columns if column.label in _COMPARED]
        lines = compared_ratings(self.get_queryset().filter(superseded_by=None))
        rows = ([*sheet.export_resource(line.rating), *(as_cell(column.cell(line)[0]) for column in more)] for line in lines)
        write_rows_to(target, [*headers, *(column.label for column in more)], rows, wanted)


class RatingDetailView(RecordDetailView):
    model = Rating
    action = "orchard.view"
    question = "What was the reading, and what do the checks of that day say about it?"
    related = ("tree__taxon", "scale", "superseded_by", "supersedes", "entered_by")
    state = property(lambda page: "corrected later" if is_superseded(page.object) else "counts")
    title = "Rating of {object.tree.code}"
    trace_code = property(lambda page: page.object.tree.code)
    facts = (
        Fact("Tree", "tree.code", Link("pedigreetree_detail", "tree_id")),
        Fact("Rated on", "rated_on"),
        Fact("Reading", lambda page: reading_words(page.object)),
        Fact("Position between the checks (0 = native mean, 1 = donor mean)", lambda page: position_words(page.line)),
        Fact("Checks of the day, mean", lambda page: checks_words(page.line) or "none rated"),
        Fact("Scale", "scale", Link("ratingscale_detail", "scale_id")),
        Fact("Disease", "scale.disease"),
        Fact("Method", "get_method_display"),
        Fact("Strain", "strain"),
        Fact("Inoculated on", "inoculated_on"),
        Fact("Rated by", "rater"),
        Fact("Note", "note"),
        Fact("Entered by", "entered_by"),
    )
    actions = (Action("Correct the rating", "rating_correct", "rating.enter", when=lambda page: not is_superseded(page.object)),)

    line = cached_property(lambda page: compared_ratings([page.object])[0])

    def get_due(self):
        rating, reason, due = self.object, self.line.comparison.reason, []
        if is_superseded(rating):
            newer = rating.superseded_by
            due.append(Duty("info", f"Corrected: {newer.reason}", None, record_url(newer)))
        if rating.supersedes:
            due.append(Duty("info", f"It corrects an earlier rating: {rating.reason}", None, record_url(rating.supersedes)))
        if reason:
            words = "Only checks of the same orchard, day, scale version, method and strain are compared."
            due.append(Duty("odd", f"{reason.capitalize()}. {words}"))
        return due


# -- entering ----------------------------------------------------------------------------------


class RatingDayView(ServiceFormMixin, FormView):
    """The keying grid of one orchard day: the checks first, then the trees by position. Without a place it asks for one."""

    action = "rating.enter"
    template_name = "registry/orchard/rating_day.html"
    question = "What is the reading of each tree, and of the checks?"
    submit_label = "Save the readings"
    form_class = RatingDayForm
    service = ratings_enter
    form_extras = property(lambda page: {"trees": page.trees, "rated_on": page.place[2]})
    title = property(lambda page: f"Ratings of {page.place[0]}, {day_words(page.place[2])}" if page.place else "Rate the trees of a day")
    success_message = property(lambda page: f"{amount_words(len(page.result), 'ratings')} saved.")
    back_to = "rating_list"
    cautions = property(lambda page: task_cautions(CautionTask.INOCULATION))

    def get(self, request, *args, **kwargs):
        return super().get(request, *args, **kwargs) if self.place else self.render_to_response(self.choose())

    def post(self, request, *args, **kwargs):
        return super().post(request, *args, **kwargs) if self.place else redirect("rating_day")

    @cached_property
    def place_form(self):
        given = self.request.GET
        # a link gives the place; the day is still to be chosen
        return RatingPlaceForm(given if "on" in given else None, initial={name: given.get(name, "") for name in ("orchard", "block")})

    @cached_property
    def place(self):
        """(orchard, block, day) of the grid; None until there is one that has trees and fits a page."""
        form = self.place_form
        if not form.is_valid():
            return None
        orchard, block, day = (form.cleaned_data[name] for name in ("orchard", "block", "on"))
        count = self.standing(orchard, block, day).count()
        if not count:
            form.add_error("orchard", "No tree was standing there on that day. Check the orchard, the block and the day.")
        elif count > _GRID_MAX:
            form.add_error("block", f"{amount_words(count, 'trees')} were standing there, and a page takes {_GRID_MAX}. Give a block.")
        return None if form.errors else (orchard, block, day)

    def standing(self, orchard, block, day):
        return trees_of_orchard_on(orchard, block, day, self.scoped(PedigreeTree)).filter(status_then=TreeStatus.STANDING)

    @cached_property
    def trees(self):
        orchard, block, day = self.place
        checks = list(rating_checks(self.standing(orchard, "", day)).select_related("taxon"))
        known = {tree.pk for tree in checks}
        others = self.standing(orchard, block, day).select_related("taxon").order_by("block", "row", "position", "code")
        return checks + [tree for tree in others if tree.pk not in known]

    def values(self, form):
        return {"day": form.day(self.place[2]), "readings": form.readings}

    def get_success_url(self):
        return f"{reverse('rating_list')}?scale={self.result[0].scale_id}&since={self.place[2]}&until={self.place[2]}"

    def choose(self):
        page = {"title": self.get_title(), "question": "Which orchard, on which day?", "cautions": self.cautions}
        return page | {"form": self.place_form, "choosing": True, "view": self}

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        form, before = context["form"], ratings_of_day(self.trees, self.place[2])
        rows = [
            {
                "code": tree.code,
                "url": record_url(tree),
                "place": CHECKS.get(check_kind(tree)) or spot_words(tree),
                "fields": form.row(tree),
                "last": ", ".join(f"{reading_words(rating)} ({rating.scale})" for rating in before.get(tree.pk, ())),
            }
            for tree in self.trees
        ]
        grid = {
            "caption": "Checks first, then by position",
            "columns": [(label, unit) for _name, label, unit, *_ in READINGS],
            "rows": rows,
        }
        missing = [words for kind, words in CHECKS.items() if kind != "F1" and all(check_kind(tree) != kind for tree in self.trees)]
        return context | {"grid": grid | {"last_label": "Rated that day"}, "head": [form[name] for name in DAY_FIELDS], "missing": missing}


class RatingEnterView(RecordActionView):
    """One tree rated by itself."""

    model = PedigreeTree
    action = "rating.enter"
    form_class = RatingForm
    service = ratings_enter
    title = "Rate {object.code}"
    question = "What is the reading of this tree?"
    submit_label = "Save the rating"
    cautions = property(lambda page: task_cautions(CautionTask.INOCULATION))

    def arguments(self, form):
        return {"day": form.day(form.cleaned_data["rated_on"]), "readings": [form.reading(self.object)]}

    @property
    def success_message(self):
        line = compared_ratings(self.result)[0]
        words = f"It is {position_words(line)}." if line.comparison.reason else f"Position between the checks: {position_words(line)}."
        return f"Rating saved. {words}"


class RatingCorrectView(RecordActionView):
    model = Rating
    action = "rating.enter"
    form_class = RatingCorrectForm
    service = rating_correct
    title = "Correct the rating of {object.tree.code}"
    question = "What should it have been, and how do you know?"
    submit_label = "Save the correction"
    success_message = "Correction saved. The first rating stays on record."
    leads_to = property(lambda page: page.result)

    @property
    def initial(self):
        return {name: getattr(self.object, name) for name in RatingForm.field_order} | {
            "tree": self.object.tree_id,
            "scale": self.object.scale_id,
        }

    def perform(self, form):
        try:
            return super().perform(form)
        except ValidationError:
            self.object.refresh_from_db()
            raise

    def values(self, form):
        data = form.cleaned_data
        return {"day": form.day(data["rated_on"]), "reading": form.reading(data["tree"]), "reason": data["reason"]}
