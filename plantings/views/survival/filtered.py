"""What the pages of results share: the sentence of boxes that limits them, and the census of each planting they are about."""

from django import forms
from django.http import QueryDict
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.survival.census_choice import AGE, LATEST, SEASON, VISIT, CensusChoice
from plantings.calc.survival.completeness import OPEN
from plantings.calc.survival.groups import LEVELS
from plantings.forms.survival.choices import SurvivalChoices
from plantings.selectors.census.progress_words import of_words
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_day
from registry.views.shared.details import PageView
from registry.views.shared.offers import offers_response

LISTED_MOST = 200  # plantings that a page names; its templates cut at the same number
DESK = (
    ("survival", _("Survival by site and lineage"), "survival.view"),
    ("survival_lineages", _("Lineages compared"), "survival.view"),
    ("survival_lifetimes", _("When they die"), "survival.view"),
    ("survival_by_site", _("When they die, site by site"), "survival.view"),
    ("survival_growth", _("Growth"), "survival.view"),
    ("survival_measured", _("Measurements by site and lineage"), "survival.view"),
    ("survival_data", _("Data, tree by tree"), "survival.data"),
)


class FilteredResults(PageView):
    """A page of results with filters. Declare `form_class`, and `download(wanted)` for its downloads."""

    action = "survival.view"
    form_class = None

    chosen = property(lambda page: page.form.cleaned_data)

    def get(self, request, *args, **kwargs):
        form = self.form_class(request.user, request.GET)
        if "offer" in request.GET:
            return offers_response(request, form)
        self.problems = form.problems
        if self.problems:
            form = self.form_class(request.user, QueryDict())
            form.full_clean()
        self.form = form
        wanted = request.GET.get("download")
        if wanted and not self.problems:
            return self.download(wanted)
        return super().get(request, *args, **kwargs)

    def get_context_data(self, **kwargs):
        """With what the sentence of boxes shows (`_filters.html`)."""
        return super().get_context_data(**kwargs) | {
            "filters": self.form,
            "filters_used": self.filters_used(),
            "other_pages": self.other_pages(),
            "problems": self.problems,
            "only": self.only_words(),
        }

    def render_to_response(self, context, **kwargs):
        return super().render_to_response(context, status=400 if self.problems else 200, **kwargs)

    def other_pages(self):
        """[(address, words)] of the other pages of the desk, with the same choices."""
        shared = self.request.GET.copy()
        for name in [name for name in shared if name not in SurvivalChoices.base_fields]:
            del shared[name]
        query = f"?{shared.urlencode()}" if shared and not self.problems else ""
        here = self.request.resolver_match.url_name
        pages = [(f"{reverse(name)}{query}", words) for name, words, action in DESK if name != here and self.may(action)]
        return [*pages, (reverse("results"), _("All results"))]

    def filters_used(self):
        """The choices in words for the print: what the sentence of boxes says, and those in use of the others."""
        listed = [f"{box.label} {_choice_words(box)}" for box in self.form.usual_boxes]
        return [*listed, *(" ".join(filter(None, [str(box.label), _choice_words(box)])) for box in self.form.more_boxes if box.value())]

    def only_words(self):
        """What links from a row limited the page to, in words."""
        within, planting = self.form.within, self.chosen["planting"]
        parts = [f"{gettext(LEVELS[within[0]])} {within[1]}"] if within else []
        return [*parts, *([_("planting %(code)s") % {"code": planting}] if planting else [])]


def moment_choices(table):
    """[(words of the group, [(code, words, chosen)])] of all there is to choose from."""
    groups = ((_("Age"), AGE, table.ages), (_("Season"), SEASON, table.years), (_("Visit"), VISIT, table.visits))
    found = [(words, [CensusChoice(kind, number) for number, *_rest in numbers]) for words, kind, numbers in groups]
    found.append((_("Any"), [CensusChoice(LATEST)]))
    return [
        (words, [(moment.code, local_text(moment.words), moment == table.moment) for moment in moments])
        for words, moments in found
        if moments
    ]


def not_complete_lines(table):
    """`progress_words` of the first rounds of a table that are not results."""
    return [progress_words(item, table.unread_count) for item in table.not_complete[:LISTED_MOST]]


def progress_words(item, unread_count):
    """(planting, sentence) of a round that is not a result; it names records that do not count before their review."""
    part, progress = item.part, item.part.progress
    why = _("open until %(day)s") % {"day": local_day(part.closes_on)} if part.why == OPEN else _("thinly visited")
    words = (
        _("%(round)s at %(site)s, %(why)s: %(share)s positions of sown seed assessed")
        if part.sown
        else _("%(round)s at %(site)s, %(why)s: %(share)s positions assessed")
    )
    parts = [words % {"round": part.label, "site": part.site, "why": why, "share": of_words(progress.seen, progress.looked_for)}]
    if part.unread and not unread_count:
        parts.append(gettext("%(records)s not counted before a review") % {"records": local_amount(part.unread, "records")})
    return part.planting, "; ".join([*parts, gettext("in the figures above")] if item.shown else parts)


def _choice_words(bound):
    """What is chosen in a box: the words of a list, what somebody typed, else what the box says while it is empty; "" of a tick."""
    widget, value = bound.field.widget, bound.value() or ""
    if isinstance(widget, forms.CheckboxInput):
        return ""
    if not isinstance(widget, forms.Select):
        return str(value or widget.attrs.get("placeholder", ""))
    words = {str(getattr(key, "value", key)): str(label) for key, label in bound.field.choices}
    return words.get(str(value), next(iter(words.values())))
