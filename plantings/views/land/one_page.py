"""One page for a landowner: what is planted on their land, how it does beside the checks, who comes next and whom to call.

Everything is read with the rights of the landowner, also where the office prints it.
"""

from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, override

from plantings.calc.lineages.words import difference_range
from plantings.calc.survival.census_choice import LATEST, CensusChoice
from plantings.calc.survival.groups import TEST
from plantings.calc.survival.proportions import newcombe_difference
from plantings.calc.survival.table import NATIVE
from plantings.choices import TreeFate
from plantings.selectors.land.land import land_plantings
from plantings.selectors.plantings.film import FILM_TREES_MAX, planting_film
from plantings.selectors.survival.figure_words import figure_words
from plantings.selectors.survival.survival import survival_rows
from plantings.views.land.land import PrivatePage
from plantings.views.land.parts import contact_role
from plantings.views.plantings.film_picture import FATE, film_frames, film_key, film_legend, not_on_the_map
from registry.access import roles
from registry.forms.prints.issued import LanguagePageForm
from registry.models import Partner, Person
from registry.prints.document import Document, Drawing, Notes, Table, TableColumn
from registry.prints.pages import draw_document
from registry.selectors.land.land import land_contacts, programme_contacts
from registry.selectors.people.programme import programme_address
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_count, local_day
from registry.views.prints.print_view import PrintView, file_name
from registry.views.shared.addresses import file_response

__all__ = ["LandPrintView", "PartnerOnePageView"]

_LEAST_SCALE = 0.6
_TREES_LEAST = 5  # of either kind: fewer say nothing
_LAST = gettext_lazy(
    "Test material, not for sale or gift. Before you cut, spray or hand on the land, check with the coordinator and the local authority."
)
_HOW = gettext_lazy(
    "Numbers in brackets hold the true value with 95 % confidence; n: trees looked at; band: from every tree that was not seen "
    "dead to every one alive. Native checks are native trees planted for "
    "comparison. One planting does not say how these trees do elsewhere."
)
_LIVING = (TreeFate.ALIVE, TreeFate.RESPROUT)


def one_page(person, on):
    """The Document of a landowner's contact, in the language of the reader."""
    plantings = land_plantings(person, on)
    thanks = _("Thank you for giving these trees a place. Because you let a crew come back, we learn which of them live.")
    parts = [Notes("", (thanks,)), _planted(plantings), *_beside_checks(person), *_map(person, plantings), _visits(plantings), _call()]
    parts.append(Notes("", (str(_LAST),)))
    return Document(
        title=_("The trees on your land, %(day)s") % {"day": local_day(on)}, subtitle=person.partner.name, made_on=on,
        made=programme_address(), page_words=_("page %(number)s of %(count)s"), parts=tuple(parts), least_scale=_LEAST_SCALE,
    )  # fmt: skip


def _planted(plantings):
    heads = (
        (_("Planting"), 2, "left"), (_("Planted on"), 1.2, "left"), (_("Trees"), 0.8, "right"), (_("Alive"), 0.8, "right"),
        (_("Last visit"), 1.2, "left"),
    )  # fmt: skip
    rows = []
    for item in plantings:
        name = f"{item.planting.site.name}, {item.planting.code}"
        planted = local_day(item.planting.planted_on) if item.planting.planted_on else item.planting.get_state_display()
        alive = sum(count for fate, count in item.fates if fate in _LIVING)
        if item.trees or not item.plots:
            seen = item.visited_on is not None and (item.complete_round or not item.under_way)
            rows.append((name, planted, local_count(item.trees), local_count(alive) if seen else "", _last_visit(item)))
        for plot, number, living, day in item.plots:
            of_plot = f"{name}, {_('plot %(plot)s') % {'plot': plot}}"
            there = _("not known") if number is None else local_count(number)
            rows.append((of_plot, planted, there, "" if living is None else local_count(living), _day(day)))
    columns = tuple(TableColumn(words, weight, align) for words, weight, align in heads)
    return Table(_("What is planted here"), columns, tuple(rows), empty=_("We have no planting on your land on record."))


def _day(day):
    return local_day(day) if day else _("not yet")


def _last_visit(item):
    """The visit that the count is of; one since then that is not complete is named as such."""
    if not item.under_way:
        return _day(item.visited_on)
    words = _("%(round)s; a later visit, last on %(day)s, is not complete") if item.complete_round else _("not complete, last on %(day)s")
    return words % {"round": item.complete_round and item.complete_round.label, "day": _day(item.visited_on)}


def _beside_checks(person):
    """For each planting its trees under test beside its native checks, with the interval, or why nobody can tell."""
    table = survival_rows(person, ("planting",), moment=CensusChoice(LATEST))
    lines = []
    for row in table.rows:
        if row.role != TEST:
            continue
        native = next((one for one in table.rows if one.keys == row.keys and one.standard == NATIVE and one.sown == row.sown), None)
        words = _("%(planting)s, alive of those looked at: trees under test %(test)s")
        figures = words % {"planting": row.keys[0], "test": figure_words(row)}
        if native is not None:
            figures = _("%(figures)s; native checks %(native)s") % {"figures": figures, "native": figure_words(native)}
        lines.append(f"{figures}. {_verdict(row, native)}")
    if lines:
        yield Notes(_("How they do beside the native trees"), tuple(filter(None, (*lines, str(_HOW), table.unread_words))))


def _verdict(row, native):
    """Trees under test beside the native checks of the same planting, as two shares, since it speaks of this planting alone."""
    if native is None:
        return _("No native check is planted here, so nobody can tell whether they do better than native trees.")
    if min(row.n, native.n) < _TREES_LEAST:
        return _("Fewer than five trees were looked at: whether they do better than the native trees here cannot be told.")
    found = newcombe_difference(row.alive, row.n, native.alive, native.n)
    words = {"range": local_text(difference_range(found))}
    if found.low > 0:
        return _("Here more of them live than of the native trees: difference %(range)s.") % words
    if found.high < 0:
        return _("Here fewer of them live than of the native trees: difference %(range)s.") % words
    return _("Whether they do better than the native trees here cannot be told yet: difference %(range)s.") % words


def _map(person, plantings):
    """The map of the planting with most trees at its last complete round."""
    largest = max((item for item in plantings if 0 < item.trees <= FILM_TREES_MAX), key=lambda item: item.trees, default=None)
    film = planting_film(largest.planting, person) if largest else None
    frame = next((frame for frame in reversed(film_frames(film, FATE) if film and film.rounds else []) if frame.is_complete), None)
    if frame is None:
        return
    title = _("%(planting)s at the last complete visit, %(round)s") % {"planting": largest.planting.code, "round": frame.label}
    note = ". ".join([frame.summary, *not_on_the_map(film)])
    yield Drawing(title, frame.picture, frame.summary, note)
    yield Drawing("", film_key(film_legend(film, [frame], FATE)), _("What the marks mean"))


def _visits(plantings):
    lines = [
        _("%(planting)s: between %(opens)s and %(closes)s (%(label)s).")
        % {"planting": item.planting.code, "opens": local_day(visit.opens_on), "closes": local_day(visit.closes_on), "label": visit.label}
        for item in plantings
        for visit in item.rounds
    ]
    return Notes(_("Who comes, and when"), tuple(lines) or (_("No visit is planned."),))


def _call():
    lines = [
        ", ".join(part for part in (str(person), str(contact_role(person)), person.phone, person.email) if part)
        for person in programme_contacts()
    ]
    return Notes(_("Whom to call"), tuple(lines) or (_("No telephone of the programme is on file."),))


class LandPrintView(PrivatePage):
    """The page behind the private link, as a PDF in the language of the reader."""

    def get(self, request, *args, **kwargs):
        content = draw_document(one_page(self.person, self.today))
        return file_response(content, "application/pdf", file_name("land", self.person.partner.code))


class PartnerOnePageView(PrintView):
    """The same page for the office to print, and for a landowner who is signed in. Nothing is recorded: it can be made again."""

    model = Partner
    action = "partner.view"
    kind = "land"
    recorded = False
    form_class = LanguagePageForm
    submit_label = gettext_lazy("Make the PDF")
    question = gettext_lazy("What does the landowner get to read about their trees?")

    @cached_property
    def reader(self):
        """The landowner's contact, or an account that is not stored and has the same rights."""
        contact = land_contacts(self.object, self.today).order_by("username").first()
        return contact or Person(role=roles.LANDOWNER, partner=self.object)

    def get_document(self):
        return one_page(self.reader, self.today)

    def draw(self, form):
        language = form.cleaned_data["language"] or self.reader.language
        if not language:
            return super().draw(form)
        with override(language):
            return draw_document(self.get_document(), form.cleaned_data["page"])
