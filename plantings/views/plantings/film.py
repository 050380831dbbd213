"""A planting over its rounds: its map at each of them, as a row of small maps that a script can play, and as a print."""

from urllib.parse import urlencode

from django.http import Http404
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.generic import DetailView

from plantings.calc.survival.table import NOT_COMPLETE
from plantings.models import Planting
from plantings.selectors.plantings.film import FILM_TREES_MAX, planting_film
from plantings.selectors.plantings.positions import block_counts
from plantings.views.plantings.film_picture import FATE, SHOWN, film_frames, film_key, film_legend, not_on_the_map
from plantings.views.plantings.positions import blocks_table
from registry.access.views import AccessMixin
from registry.calc.shared.iso import iso_day
from registry.calc.shared.shapes import beside
from registry.prints.document import Document, Drawing, Table, TableColumn
from registry.prints.label_sheets import PAGES
from registry.prints.pages import draw_document
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_day
from registry.templatetags.addresses import find_address, leads_here_only
from registry.views.shared.addresses import file_response, record_url

_PAPERS = {"letter": _("Letter"), "a4": _("A4")}
_PRINT_WIDTH = 680  # units of a picture beside each other on a page of a print


class PlantingFilmView(AccessMixin, DetailView):
    """The map of every round. `show` says what is marked, `block` limits it to one block, `print` gives the PDF on a size of paper."""

    model = Planting
    action = "planting.view"
    template_name = "plantings/plantings/planting_film.html"

    def get_queryset(self):
        return self.scoped(Planting).select_related("site")

    def get(self, request, *args, **kwargs):
        self.object = self.get_object()
        self.shown, self.block = request.GET.get("show", FATE), request.GET.get("block")
        paper = request.GET.get("print")
        if self.shown not in SHOWN or paper not in {None, *PAGES}:
            raise Http404("This map is not known. Open it from the page of the planting.")
        self.film = None
        if self.block is not None or self.object.trees.count() <= FILM_TREES_MAX:
            self.film = planting_film(self.object, self.user, self.block)
        if paper and self.film and self.film.rounds:
            name = f"{self.object.code}-{self.shown}-{iso_day(self.today)}.pdf"
            return file_response(draw_document(self.get_document(), paper), "application/pdf", name)
        return self.render_to_response(self.get_context_data())

    @property
    def title(self):
        what = {"planting": self.object.code, "shown": SHOWN[self.shown], "block": self.block or gettext("without a name")}
        if self.film and len(self.film.rounds) == 1:
            return (gettext("%(planting)s at its one round so far, by %(shown)s") if self.block is None
                    else gettext("%(planting)s, block %(block)s, at its one round so far, by %(shown)s")) % what  # fmt: skip
        words = gettext("%(planting)s over the rounds, by %(shown)s")
        return (words if self.block is None else gettext("%(planting)s, block %(block)s, over the rounds, by %(shown)s")) % what

    def get_context_data(self, **kwargs):
        planting, film = self.object, self.film
        frames = film_frames(film, self.shown) if film and film.rounds else []
        block = {} if self.block is None else {"block": self.block}
        return super().get_context_data(**kwargs) | {
            "title": self.title,
            "question": _("What was at each position, round by round?"),
            "code": planting.code,
            "where": str(planting.site),
            "back": record_url(planting),
            "frames": frames,
            "legend": film_legend(film, frames, self.shown) if frames else [],
            "notes": film_notes(planting, film) if frames else [],
            "choices": [(words, f"?{urlencode({'show': code} | block)}", code == self.shown) for code, words in SHOWN.items()],
            "papers": [(_PAPERS[paper], f"?{urlencode({'show': self.shown} | block | {'print': paper})}") for paper in PAGES],
            "parts": [] if film else [blocks_table(planting, "planting_film")] if block_counts(planting) else [],
        }

    def get_document(self):
        """The print: the maps side by side, what the marks mean, and the words of each round as a table."""
        planting, frames = self.object, film_frames(self.film, self.shown)
        columns = max(1, int(_PRINT_WIDTH // (frames[0].picture.width + 16)))
        names = [f"{frame.label}, {_seasons(frame)}" for frame in frames]
        rows = beside([(name, frame.picture) for name, frame in zip(names, frames, strict=True)], columns)
        drawings = [
            Drawing("" if number else gettext("The maps"), picture, "; ".join(names[number * columns : (number + 1) * columns]))
            for number, picture in enumerate(rows)
        ]
        heads = (
            TableColumn(gettext("Round"), 1.2),
            TableColumn(gettext("Growing seasons"), 1),
            TableColumn(gettext("What the map shows"), 5),
        )
        lines = tuple((frame.label, _seasons(frame), frame.summary) for frame in frames)
        note = " ".join(film_notes(planting, self.film))
        return Document(
            title=self.title, subtitle=str(planting.site), made_on=self.today, code=planting.code,
            scan=(planting.code,) if leads_here_only(self.request) else (find_address(self.request, planting.code), planting.code),
            made=gettext("made %(day)s by %(who)s") % {"day": local_day(self.today), "who": self.user},
            page_words=gettext("page %(number)s of %(count)s"),
            parts=(*drawings, Drawing("", film_key(film_legend(self.film, frames, self.shown)), gettext("What the marks mean")),
                   Table(gettext("In words"), heads, lines, note=note)),
        )  # fmt: skip


def _seasons(frame):
    words = local_amount(frame.growing_seasons, "growing seasons")
    return words if frame.is_complete else f"{words}, {gettext(NOT_COMPLETE)}"


def film_notes(planting, film):
    """How to read the maps, and which trees they do not have."""
    notes = [
        gettext("Rows and positions as in the field, not to scale. Ring: where the walk begins. Line: the walk in each block (%(walk)s).")
        % {"walk": planting.get_walk_display()},
        gettext("Fates are those that the figures use, with hindsight: a tree seen alive later was alive."),
    ]
    return [*notes, *not_on_the_map(film)]
