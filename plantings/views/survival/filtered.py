"""What the pages of results share: the sentence of boxes that limits them, and the census of each planting they are about."""

from django.http import Http404, QueryDict

from plantings.calc.survival.census_choice import AGE, LATEST, SEASON, VISIT, CensusChoice
from plantings.calc.survival.completeness import OPEN
from plantings.calc.survival.groups import LEVELS
from registry.calc.shared.screen import amount_words, day_words
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
        parts = [f"{LEVELS[within[0]]} {within[1]}"] if within else []
        return [*parts, *([f"planting {planting}"] if planting else [])]


def moment_choices(table):
    """[(words of the group, [(code, words, chosen)])] of all there is to choose from."""
    groups = (("Age", AGE, table.ages), ("Season", SEASON, table.years), ("Visit", VISIT, table.visits))
    found = [(words, [CensusChoice(kind, number) for number, _ in numbers]) for words, kind, numbers in groups]
    found.append(("Any", [CensusChoice(LATEST)]))
    return [(words, [(moment.code, moment.words, moment == table.moment) for moment in moments]) for words, moments in found if moments]


def progress_words(item, unread_count):
    """(planting, sentence) of a round that is not a result; it names records that do not count before their review."""
    part, progress = item.part, item.part.progress
    why = f"open until {day_words(part.closes_on)}" if part.why == OPEN else "thinly visited"
    seeds = " of sown seed" if part.sown else ""
    shown = "; in the figures above" if item.shown else ""
    share = f"{progress.assessed:,} of {progress.countable:,} positions{seeds} assessed"
    waiting = f"; {amount_words(part.unread, 'records')} not counted before a review" if part.unread and not unread_count else ""
    return part.planting, f"{part.label} at {part.site}, {why}: {share}{waiting}{shown}"


def _choice_words(bound):
    """The chosen words of a list; its first entry where nothing was chosen."""
    words = {str(getattr(key, "value", key)): str(label) for key, label in bound.field.choices}
    return words.get(bound.value() or "", next(iter(words.values())))
