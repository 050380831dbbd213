"""The field form: the cautions a crew reads before it goes, and boxes to write in, tree by tree in walk order."""

from dataclasses import replace

from django.core.exceptions import ValidationError
from django.utils.functional import cached_property
from django.utils.translation import get_language, gettext, gettext_lazy, gettext_noop, override

from plantings.calc.census.codes import DEAD, REMOVED, STATUSES, listed_words
from plantings.calc.census.rows import LastSeen
from plantings.forms.field_form import FieldFormForm
from plantings.models import CensusRound
from plantings.selectors.census.asked import asked_at, asked_hint, said_of
from plantings.selectors.census.rounds import crew_language, field_form_trees, last_seen, missing_trees
from plantings.selectors.plantings.unknown_plots import plot_planted_words
from plantings.selectors.sites.local_texts import caution_texts, corner_text
from plantings.services.census.round_links import round_link_make
from plantings.services.field_form.pages import form_pages_store
from plantings.views.census.census import CAUSE_LISTS
from plantings.views.census.round_links import link_address
from plantings.views.census.visits import LOCAL_WORD, caution_words, visit_cautions, visit_day
from registry.prints.document import ByHand, Document, Facts, Notes, PageMark, Plan, PlanPanel, Table, TableColumn
from registry.prints.pages import lay_out
from registry.prints.qr import PrintError
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_day, local_number
from registry.templatetags.addresses import leads_here_only
from registry.views.prints.print_view import PrintView, shown

ROWS_SHOWN = 10
WRITE_WHAT_YOU_SEE = gettext_lazy("Write what you see, not what you expect. A blank box says that nobody looked; it never means none.")
SPARE_ROWS = 5  # for trees that the list lacks; our own number, no source
WRITE_MM = 7.5  # high enough for a pencil in a cold hand


def tree_columns(asked, with_last):
    """The columns of the walk: who the tree is, what it was where that is wanted, then a box for all that is keyed later."""
    boxes = [TableColumn(f"{local_text(item.short_label)} {asked_hint(item)}".strip(), _box_width(item)) for item in asked]
    last = (TableColumn(gettext("Seen last"), 1.4),) if with_last else ()
    return (
        TableColumn(gettext("Tag"), 1.5, face="code"), TableColumn(gettext("Place"), 1.5), *last,
        TableColumn(gettext("Status"), 1.1), TableColumn(gettext("Cause"), 1.7), *boxes, TableColumn(gettext("Note"), 2.4),
    )  # fmt: skip


def _box_width(item):
    """Room for the longest word of the head, and to write the longest code by hand."""
    return max(1.2, 0.17 * max(len(word) for word in [*local_text(item.short_label).split(), *map(str, item.codes)]))


def plot_columns():
    return (
        TableColumn(gettext("Plot"), 2, face="code"), TableColumn(gettext("Planted"), 1, "right"), TableColumn(gettext("Alive"), 1.5),
        TableColumn(gettext("Dead, remains seen"), 1.5), TableColumn(gettext("Note"), 5),
    )  # fmt: skip


def code_notes(asked, with_last):
    """How to read the printed columns, then the codes, a line for each list: Status: A alive; AR alive by resprout."""
    last = [f"{local_text(item.short_label).lower()} {asked_hint(item)}" for item in asked if item.shown_last]
    if not with_last:
        yield gettext("Place: block · row/position.")
    elif last:
        yield gettext("Place: block · row/position. Seen last: status, %(last)s.") % {"last": ", ".join(last)}
    else:
        yield gettext("Place: block · row/position. Seen last: status.")
    for name, codes in ((gettext_noop("Status"), STATUSES), *CAUSE_LISTS):
        yield _code_line(name, codes)
    yield from (said_of(item, _code_line(item.label, item.classes)) for item in asked if item.classes)
    if own := [item for item in asked if item.is_own]:
        yield from (said_of(item, gettext("%(label)s: %(words)s") % _taken(item)) for item in own)


def _code_line(name, codes):
    words = "; ".join(listed_words(code, local_text(label)) for code, label, _ in codes)
    return gettext("%(label)s: %(words)s") % {"label": local_text(name), "words": f"{words}."}


def _taken(item):
    return {"label": local_text(item.label), "words": local_text(item.taken)}


def walk_notes(planting):
    """Where the walk starts and how it goes."""
    if planting.start_corner:
        yield gettext("Start corner: %(words)s") % {"words": corner_text(planting)}
    yield gettext("Walk order: %(words)s") % {"words": planting.get_walk_display()}
    if planting.spacing_m:
        yield gettext("Spacing: %(words)s") % {"words": f"{local_number(f'{planting.spacing_m:g}')} m"}


def phone_notes(link):
    """What the QR code of the form opens, where it is a link."""
    if link is not None:
        words = gettext(
            "Scan the QR code with a phone while there is a signal: the page it opens records this round without one. Until %(day)s."
        )
        yield Notes(gettext("On a phone"), (words % {"day": local_day(link.ends_on)},))


class FieldFormView(PrintView):
    model = CensusRound
    action = "census.enter"
    kind = "field_form"
    recorded = False
    form_class = FieldFormForm
    form_extras = property(lambda page: {"may_link": page.may("link.edit") and not leads_here_only(page.request)})
    initial = property(lambda page: {"language": page.crew_language})
    question = gettext_lazy("Print the form the crew fills in.")
    submit_label = gettext_lazy("Make the field form")

    @property
    def title(self):
        return gettext("Field form %(round)s, %(planting)s") % {"round": self.object.label, "planting": self.object.planting.code}

    def get_document(self, missing_only=False, last=False, link=None, address="", marked=False):
        item = self.object
        planting = item.planting
        scan = (address,) if link else self.scan(planting.code)
        season = {"round": item.label, "n": item.growing_seasons}
        window = {"opens": local_day(item.opens_on), "closes": local_day(item.closes_on)}
        trees = list(self.get_trees(missing_only).select_related("block"))
        parts = [
            Facts(
                (
                    (gettext("Site"), f"{planting.site.name} ({planting.site.code})"), (gettext("Code of the planting"), planting.code),
                    (gettext("Round"), gettext("%(round)s, growing seasons completed: %(n)s") % season),
                    (gettext("Window"), gettext("%(opens)s to %(closes)s") % window),
                ),
                columns=2,
            ),
            ByHand((gettext("Seen on (day, month, year)"), gettext("Who looked (names)"))),
            *phone_notes(link),
            *self.cautions(),
            Notes(gettext("The walk"), tuple(walk_notes(planting))),
            *self.plan(trees),
            Notes(gettext("The codes"), tuple(code_notes(self.asked, last))),
            *self.trees(trees, last_seen(item, [tree.pk for tree in trees]) if last else None, missing_only),
            *self.plots(planting),
            *self.self_sown(),
        ]  # fmt: skip
        return Document(
            title=self.get_title(), code=planting.code, scan=scan, made_on=self.today, made=self.made,
            parts=tuple(parts), subtitle=str(WRITE_WHAT_YOU_SEE), page_words=gettext("page %(number)s of %(count)s"), marked=marked,
        )  # fmt: skip

    def get_trees(self, missing_only):
        return missing_trees(self.object) if missing_only else field_form_trees(self.object)

    def cautions(self):
        """The cautions of the visit, the same as on screen."""
        site = self.object.planting.site
        visit = visit_cautions(self.user, site, visit_day(self.object))
        lines = [caution_words(line) for line in visit["lines"]]
        here = [gettext("At this site: %(words)s") % {"words": words} for words in caution_texts(site)]
        call = [gettext("Call the programme: %(who)s, %(phone)s.") % {"who": person, "phone": person.phone} for person in visit["contacts"]]
        yield Notes(
            gettext("Before you go"), (*visit["emergency"], *call, *here, *lines, *visit["usual"], *visit["rules"], str(LOCAL_WORD))
        )

    def plan(self, trees):
        """The listed trees as they are walked: in one panel, or one for each block where blocks number their rows alike."""
        placed = [tree for tree in trees if tree.row is not None and tree.position is not None]
        if not placed:
            return
        places = {(tree.row, tree.position) for tree in placed}
        blocks = {"": placed} if len(places) == len(placed) else {}
        if not blocks:
            for tree in placed:
                blocks.setdefault(tree.block.code if tree.block else "", []).append(tree)
        panels = tuple(
            PlanPanel(
                gettext("block %(block)s") % {"block": block} if block else "", own[0].tag,
                tuple((tree.row, tree.position) for tree in own),
            )
            for block, own in blocks.items()
        )  # fmt: skip
        note = gettext("Rows and positions of the listed trees, not to scale. The ring is the first tree, the line is the walk.")
        yield Plan(gettext("Plan"), note, panels)

    def trees(self, trees, last, missing_only):
        if not trees and self.object.planting.counted_plots.exists():
            return
        rows = tuple(self.tree_row(tree, None if last is None else last.get(tree.pk, LastSeen())) for tree in trees)
        columns = tree_columns(self.asked, last is not None)
        empty = (
            gettext("Every tree in this round has a record.")
            if missing_only
            else gettext("No tree of this planting is expected at this round.")
        )
        yield Table(gettext("In walk order"), columns, rows, empty=empty, write_mm=WRITE_MM, keys=tuple(tree.pk for tree in trees))
        if trees:
            note = gettext("For a tree of this planting that is not listed: write its tag and its place.")
            yield Table(gettext("Spare rows"), columns, (("",) * len(columns),) * SPARE_ROWS, note=note, write_mm=WRITE_MM)

    @cached_property
    def asked(self):
        return asked_at(self.object)

    @cached_property
    def crew_language(self):
        return crew_language(self.object, otherwise=get_language())

    def tree_row(self, tree, last):
        block = f"{tree.block.code} · " if tree.block else ""
        place = f"{block}{tree.row}/{tree.position}" if tree.row is not None else block.rstrip(" ·")
        boxes = [""] * (len(self.asked) + 3)
        if last is None:
            return (tree.tag, place, *boxes)
        shown = [item.field for item in self.asked if item.shown_last and last.status not in (DEAD, REMOVED)]
        readings = [local_number(f"{last.readings[name][0]:g}") for name in shown if name in last.readings]
        return (tree.tag, place, " ".join([last.status, *readings]), *boxes)

    @staticmethod
    def plots(planting):
        rows = tuple((plot.code, plot_planted_words(plot), "", "", "") for plot in planting.counted_plots.order_by("code"))
        if rows:
            yield Table(gettext("Counted plots"), plot_columns(), rows, write_mm=WRITE_MM)

    def self_sown(self):
        """Where seedlings that came up by themselves are noted, apart from the trees."""
        yield ByHand((gettext("Self-sown seedlings: how many, and where (never among the trees)"),))

    def draw(self, form):
        data = form.cleaned_data
        link = self.make_link() if data.get("link") else {}
        with override(data["language"] or self.crew_language):
            laid_out = lay_out(
                self.get_document(missing_only=data["trees"] == "missing", last=data["last"], marked=True, **link), data["page"]
            )
            pages = form_pages_store(actor=self.user, census_round=self.object, pages=laid_out.page_keys)
            return laid_out.draw([self.page_mark(page) for page in pages])

    def page_mark(self, page):
        """The code at the foot of a page, and the QR code that opens the grid of its trees."""
        return PageMark(
            page.code, self.scan(page.code), gettext("To key this page, scan the square or type this code into the box for codes.")
        )

    def make_link(self):
        """A link for whoever holds the printed form, and its address."""
        try:
            made, token = round_link_make(actor=self.user, census_round=self.object, for_whom=gettext("whoever holds the field form"))
        except ValidationError as error:
            raise PrintError(" ".join(error.messages)) from None
        return {"link": made, "address": link_address(self.request, token)}

    def get_shown(self):
        """The head of the field form and its first rows."""
        parts = []
        for part in self.document.parts:
            if isinstance(part, Table) and part.rows and not any(map(any, part.rows)):
                continue  # spare rows say nothing on a screen
            if isinstance(part, Table) and len(part.rows) > ROWS_SHOWN:
                part = replace(part, rows=part.rows[:ROWS_SHOWN], note=_first_rows(len(part.rows)))
            parts.append(shown(part))
        return super().get_shown() | {"parts": parts}


def _first_rows(count):
    return gettext("The first %(shown)s of %(count)s rows.") % {"shown": ROWS_SHOWN, "count": local_number(f"{count:,}")}
