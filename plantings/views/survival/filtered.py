"""What the pages of results share: the sentence of boxes that limits them, and the census of each planting they are about."""

from django.http import Http404, QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.survival.census_choice import AGE, LATEST, SEASON, VISIT, CensusChoice
from plantings.calc.survival.completeness import OPEN
from plantings.calc.survival.groups import LEVELS
from plantings.selectors.census.progress_words import of_words
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_day
from registry.views.shared.details import PageView


class FilteredResults(PageView):
    """A page of results with filters. Declare `form_class`, and `download(wanted)` for its downloads."""

    action = "survival.view"
    form_class = None

    chosen = property(lambda page: page.form.cleaned_data)

    def get(self, request, *args, **kwargs):
        form = self.form_class(request.user, request.GET)
        if "site" in form.errors:
            raise Http404("No site has this number.")
        self.problems = form.problems
        if self.problems:
            form = self.form_class(request.user, QueryDict())
            form.full_clean()
        self.form = form
        wanted = request.GET.get("download")
        if wanted and not self.problems:
            return self.download(wanted)
        return super().get(request, *args, **kwargs)

    def render_to_response(self, context, **kwargs):
        return super().render_to_response(context, status=400 if self.problems else 200, **kwargs)

    def filters_used(self):
        """The filters in words for the print: what the sentence of boxes says."""
        boxes = [bound for bound in self.form.visible_fields() if hasattr(bound.field, "choices")]
        ticked = [bound.label for bound in self.form.visible_fields() if not hasattr(bound.field, "choices") and self.chosen[bound.name]]
        return [*(f"{bound.label} {_choice_words(bound)}" for bound in boxes), *ticked]

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


def progress_words(item, unread_count):
    """(planting, sentence) of a round that is not a result; it names records that do not count before their review."""
    part, progress = item.part, item.part.progress
    why = _("open until %(day)s") % {"day": local_day(part.closes_on)} if part.why == OPEN else _("thinly visited")
    words = (
        _("%(round)s at %(site)s, %(why)s: %(share)s positions of sown seed assessed")
        if part.sown
        else _("%(round)s at %(site)s, %(why)s: %(share)s positions assessed")
    )
    parts = [words % {"round": part.label, "site": part.site, "why": why, "share": of_words(progress.assessed, progress.countable)}]
    if part.unread and not unread_count:
        parts.append(gettext("%(records)s not counted before a review") % {"records": local_amount(part.unread, "records")})
    return part.planting, "; ".join([*parts, gettext("in the figures above")] if item.shown else parts)


def _choice_words(bound):
    """The chosen words of a list; its first entry where nothing was chosen."""
    words = {str(getattr(key, "value", key)): str(label) for key, label in bound.field.choices}
    return words.get(bound.value() or "", next(iter(words.values())))
