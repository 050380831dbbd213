"""Where the second person writes what they measure: grid, form to print and phone of the drawn trees. None shows a first record."""

from django.contrib import messages
from django.http import Http404, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext, gettext_lazy, ngettext, override
from django.views.generic import View

from plantings.forms.second import SecondCorrectionForm, SecondGrid
from plantings.models import CensusRound, SecondDraw, SecondMeasurement
from plantings.selectors.census.second import drawn_trees, draws_listed, is_handed_in, may_correct_second
from plantings.services.census.observations import CensusRefused
from plantings.services.census.second import row_of, second_measurement_correct, second_measurements_record
from plantings.views.census.census import CensusGridView, refused_error, row_cells
from plantings.views.census.field_form import FieldFormView
from plantings.views.phone.answers import SignedInJson, batch_answer
from plantings.views.phone.data import BLIND, phone_data
from plantings.views.phone.page import phone_page
from plantings.views.plantings.trees import place_words
from registry.access.views import AccessMixin
from registry.forms.prints.issued import LanguagePageForm
from registry.prints.pages import draw_document
from registry.views.shared.addresses import record_url, reverse_to
from registry.views.shared.forms import RecordActionView


def find_draw(view):
    """The draw of a page, among those the person may see; its round must be among theirs too, so that who left the crew sees none."""
    draw = get_object_or_404(draws_listed(view.scoped(SecondDraw)), pk=view.kwargs["pk"])
    get_object_or_404(view.scoped(CensusRound), pk=draw.round_id)
    return draw


class SecondGridView(CensusGridView):
    """The grid of the drawn trees. It is closed once every tree has a second measurement."""

    fills_in_observer = True

    def find_rows(self):
        self.draw = find_draw(self)
        self.round = self.draw.round

    def get(self, request, *args, **kwargs):
        if is_handed_in(self.draw):
            messages.success(request, gettext("Every drawn tree has a second measurement."))
            return redirect(record_url(self.draw))
        return super().get(request, *args, **kwargs)

    def head_initial(self):
        return super().head_initial() | ({} if self.request.GET.get("by") else {"observer": self.draw.measured_by})

    def get_trees(self):
        return drawn_trees(self.draw)

    def make_grid(self, **given):
        return SecondGrid(self.draw, self.page.object_list, drawn_trees(self.draw), **given)

    def record(self, rows):
        return second_measurements_record(actor=self.user, draw=self.draw, rows=rows)

    def stored_again(self, rows):
        return []

    def looks(self):
        return {}

    def own_before(self, rows):
        return {}

    def get_context_data(self, **kwargs):
        page = {
            "title": gettext("Measure again: %(planting)s, %(round)s") % {"planting": self.round.planting.code, "round": self.round.label},
            "question": gettext(BLIND),
            "cancel_url": record_url(self.draw),
            "back_words": gettext("Back to the drawn trees"),
        }
        return super().get_context_data(**kwargs) | page

    def row(self, line, looks):
        asked = self.grid.asked
        records = [(row_cells(row_of(record), asked), second_words(record), self.correction_url(record)) for record in line.records]
        return {
            "tag": line.tree.tag,
            "place": place_words(line.tree),
            "url": None,
            "uuid": line.form["uuid"] if line.form else None,
            "fields": [line.form[name] for name in line.form.keyed] if line.form else None,
            "errors": line.form.non_field_errors() if line.form and line.form.is_bound else (),
            "records": records,
            "looks": (),
        }

    def correction_url(self, record):
        return reverse_to("secondmeasurement_correct", record.pk) if may_correct_second(self.user, record) else None

    def say_what_was_stored(self, rows, stored):
        super().say_what_was_stored(rows, stored)
        left = draws_listed(SecondDraw.objects.filter(pk=self.draw.pk)).get()
        if number := left.size - left.measured:
            messages.success(self.request, ngettext("%(n)s tree is left.", "%(n)s trees are left.", number) % {"n": number})


def second_words(record):
    """A second measurement in a few words, without anything of the first record."""
    return f"{record.get_status_display()}, {record.observer or record.entered_by}"


class SecondFormView(FieldFormView):
    """The field form of the drawn trees alone. It prints nothing that was seen before."""

    form_class = LanguagePageForm
    form_extras = {}
    question = gettext_lazy("Print the form on which the second person writes.")
    back_to = property(lambda page: page.second_draw)

    def find_rows(self):
        self.second_draw = find_draw(self)
        self.object = self.second_draw.round

    @property
    def title(self):
        values = {"round": self.object.label, "planting": self.object.planting.code, "number": self.second_draw.number}
        return gettext("Second measurement %(number)s, %(round)s, %(planting)s") % values

    def get_document(self):
        return super().get_document(last=False)

    def get_trees(self, missing_only):
        return drawn_trees(self.second_draw)

    @staticmethod
    def plots(planting):
        return ()

    def self_sown(self):
        return ()

    def draw(self, form):
        with override(form.cleaned_data["language"] or self.crew_language):
            return draw_document(self.get_document(), form.cleaned_data["page"])


class SecondCorrectView(RecordActionView):
    """The office corrects any second measurement, whoever entered it their own until the draw is handed in; any other is a 404."""

    model = SecondMeasurement
    action = "census.enter"
    form_class = SecondCorrectionForm
    form_extras = property(lambda page: {"record": page.object})
    title = property(lambda page: gettext("Correct the second measurement of tree %(tag)s") % {"tag": page.object.drawn.tree.tag})
    question = gettext_lazy("What should this record have said, and why?")
    submit_label = gettext_lazy("Save the correction")
    success_message = property(
        lambda page: gettext("Correction of tree %(tag)s saved. The earlier record stays on file.") % {"tag": page.object.drawn.tree.tag}
    )
    back_to = property(lambda page: page.object.drawn.draw)

    def find_rows(self):
        records = self.scoped(SecondMeasurement).select_related("drawn__tree__planting", "drawn__draw__round__planting", "entered_by")
        self.object = get_object_or_404(records, pk=self.kwargs["pk"])
        if not may_correct_second(self.user, self.object):
            raise Http404("This record is not yours to correct, or all of its draw are handed in.")

    def perform(self, form):
        try:
            return second_measurement_correct(actor=self.user, record=self.object, **form.service_values())
        except CensusRefused as refused:
            raise refused_error(refused.problems[0], form) from None


class SecondPhoneView(AccessMixin, View):
    """The page of the phone for the drawn trees: the same as that of a round, without anything of anybody."""

    action = "census.enter"

    def get(self, request, pk):
        find_draw(self)
        return phone_page()


class SecondPhoneDataView(SignedInJson):
    """The drawn trees for the phone, and the second measurements that come back."""

    def get(self, request, pk):
        draw = find_draw(self)
        return JsonResponse(phone_data(draw.round, request.user, draw=draw))

    def post(self, request, pk):
        draw = find_draw(self)
        return batch_answer(request, draw.round, request.user, draw=draw)
