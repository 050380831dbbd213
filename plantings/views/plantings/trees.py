"""Trees: the list, and the page of a tree with its records and fate."""

from django.utils.functional import cached_property
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.census.codes import RESPROUT
from plantings.calc.census.life import Sight, draw_life
from plantings.calc.census.measurements import HEIGHT, measures_words, value_of
from plantings.choices import TreeFate
from plantings.forms.trees import PlantedTreeFilters
from plantings.imports.general_sheets import GeneralTreeSheet
from plantings.imports.trees import TreeSheet
from plantings.models import CensusRound, Tree
from plantings.selectors.census.asked import own_of
from plantings.selectors.census.reviews import is_unread
from plantings.selectors.census.rounds import current_round
from plantings.selectors.plantings.photos import photos_by_record
from plantings.selectors.plantings.plantings import entry_shipments, exact_for, tree_point_words
from plantings.selectors.plantings.trees import is_struck, is_superseded, tree_story, trees_listed
from plantings.views.census.asking import correction_url
from plantings.views.sites.sites import PLANTING_LISTS, site_cautions
from registry.choices import LOT_KIND_WORDS
from registry.selectors.identity.questions import question_duties
from registry.selectors.lots.lots import lot_ancestors
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_number
from registry.views.shared.addresses import link, record_url
from registry.views.shared.details import RecordDetailView, chain_step
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Panel, Section
from registry.views.shared.tables import Column, Link


def place_words(tree):
    """The place of a tree in its planting: block 1, row 4, position 7."""
    parts = [gettext("block %(code)s") % {"code": tree.block.code}] if tree.block else []
    if tree.row is not None:
        parts.append(gettext("row %(row)s, position %(position)s") % {"row": tree.row, "position": tree.position})
    return ", ".join(parts) or gettext("no position recorded")


def _place_of(page):
    return place_words(page.object)


def life_sight(census_round, record, fate):
    """A round of a tree as its life draws it."""
    on = record.observed_on if record else census_round.opens_on
    words = f"{census_round.label}{gettext(':')} {TreeFate(fate).label}"
    return Sight(on, words, fate, value_of(record, HEIGHT) if record else None, bool(record) and record.status == RESPROUT)


def _sheet_for(user):
    if not user.may("tree.lot"):
        return None
    return TreeSheet if exact_for(user) else GeneralTreeSheet


class TreeListView(RecordListView):
    model = Tree
    action = "tree.view"
    title = _("Trees")
    question = _("Which tree carries this tag, where is it planted, and what became of it?")
    sheet = cached_property(lambda page: _sheet_for(page.user))
    filter_form = PlantedTreeFilters
    question_path = "entry__lot__questions"
    others = PLANTING_LISTS
    add = ("Add a tree", "tree.edit", "tree_add")
    empty = (_("No tree yet"), _("Trees are loaded from the sheet of the planting day, or added one by one."), None)
    read = staticmethod(trees_listed)
    columns = (
        Column(_("Tag"), "tag", kind="code", url=record_url),
        Column(_("Fate at the last round"), "fate", kind="fate"),
        Column(_("Planting"), "planting.code", kind="code", url=Link("planting_detail", "planting_id")),
        Column(_("Block"), "block.code"),
        Column(_("Row"), "row", "right"),
        Column(_("Position"), "position", "right"),
        Column(_("Lot"), "entry.lot.code", kind="code", may="tree.lot"),
        Column(_("Role"), "entry.get_role_display", may="tree.lot"),
    )

    def limit_choices(self, form):
        """A crew that measures should not know which lot a tree is of, nor find out by asking."""
        form = super().limit_choices(form)
        for name in () if self.may("tree.lot") else ("lot", "role"):
            del form.fields[name]
        return form


class TreeDetailView(RecordDetailView):
    model = Tree
    action = "tree.view"
    template_name = "plantings/plantings/tree_detail.html"
    question = _("What is this tree, where did it come from, and what became of it?")
    related = ("planting__site", "entry__lot__mother", "block", "replaces", "replaced_by")
    state = "get_fate_display"
    where = property(_place_of)
    title = _("Tree {object.tag}")
    code = property(lambda page: str(page.object))
    cautions = property(lambda page: site_cautions(page.object.planting.site))
    facts = (
        Fact(_("Planting"), "planting.code", lambda page: record_url(page.object.planting)),
        Fact(_("Place"), _place_of),
        Fact(_("Point (WGS 84)"), lambda page: tree_point_words(page.object) if exact_for(page.user) else ""),
        Fact(_("Number in the walk"), "walk_number"),
        Fact(_("Lot"), "entry.lot.code", lambda page: link(page.user, "lot.view", "lot_detail", page.object.entry.lot_id), "tree.lot"),
        Fact(_("Generation"), "entry.lot.generation_code", may="tree.lot"),
        Fact(_("Role"), "entry.get_role_display", may="tree.lot"),
        Fact(_("Planted on"), lambda page: page.object.planted_on or page.object.planting.planted_on, always=True),
        Fact(_("Note"), "note"),
    )
    actions = (
        Action(
            lambda page: _("Record it, %(round)s") % {"round": page.round_to_enter.label}, "census_tree", "census.enter",
            when=lambda page: page.round_to_enter, key=lambda page: (page.round_to_enter.pk, page.object.pk),
        ),
        Action("Give it a new tag", "tree_retag", "tree.edit"),
        Action("Replace it", "tree_replace", "tree.edit", when=lambda page: not hasattr(page.object, "replaced_by")),
        Action("Correct its place", "tree_edit", "tree.edit"),
    )  # fmt: skip
    sections = (
        Panel(draw_parts=lambda page: page.life_parts()),
        Section(
            title=_("Fate at every round"),
            unit="rounds",
            note=_("A later sighting settles what earlier rounds could not tell."),
            rows=lambda page: page.story.fates,
            columns=(
                Column(_("Round"), "0.label", url=Link("round_detail", "0.pk")),
                Column(_("Growing seasons"), "0.growing_seasons", "right", "number"),
                Column(_("Recorded"), lambda line: line[1].get_status_display() if line[1] else _("no record")),
                Column(_("Fate with hindsight"), "2", kind="fate"),
            ),
            missing=_("census records"),
        ),
        Panel(draw_parts=lambda page: page.record_parts()),
        Panel(draw_parts=lambda page: page.photo_parts()),
        Section(
            title=_("Old tags"),
            unit="tags",
            note=_("Its old tags still lead here."),
            rows=lambda page: page.object.old_tags.order_by("-until_on", "-pk"),
            columns=(
                Column(_("Old tag"), "tag", kind="code"),
                Column(_("Until"), "until_on", kind="date"),
                Column(_("Why it was changed"), "reason", wide=True),
            ),
        ),
    )

    story = cached_property(lambda page: tree_story(page.object))

    @cached_property
    def round_to_enter(self):
        return current_round(list(self.scoped(CensusRound).filter(planting=self.object.planting).order_by("opens_on")))

    def get_due(self):
        return question_duties({self.object.entry.lot_id}) if self.may("identity.view") else []

    def get_page(self):
        return super().get_page() | {"fate": self.object.fate, "reason": self.story.reason}

    def get_chain(self):
        tree, user = self.object, self.user
        lot = tree.entry.lot
        line = [*lot_ancestors(lot), lot] if user.may("lot.view") else [lot] if user.may("tree.lot") else []
        steps = []
        if user.may("pedigree.view") and line and line[0].mother:
            mother = line[0].mother
            steps.append(chain_step(_("mother tree"), mother.code, record_url(mother), mother.generation_code))
        for item in line:
            steps.append(
                chain_step(LOT_KIND_WORDS[item.kind], item.code, link(user, "lot.view", "lot_detail", item.pk), str(item.year or ""))
            )
        steps += [chain_step(_("shipment"), item.code, record_url(item)) for item in entry_shipments(tree.entry, user)]
        steps.append(chain_step(_("planting"), tree.planting.code, record_url(tree.planting), tree.planting.site.name))
        if tree.replaces:
            steps.append(chain_step(_("here before it"), tree.replaces.tag, record_url(tree.replaces), tree.replaces.get_fate_display()))
        role = tree.entry.get_role_display() if user.may("tree.lot") else ""
        steps.append(chain_step(_("tree"), tree.tag, None, role, current=True))
        later = getattr(tree, "replaced_by", None)
        return [*steps, chain_step(_("replaced by"), later.tag, record_url(later), later.get_fate_display())] if later else steps

    def life_parts(self):
        fates = self.story.fates[::-1]
        if not fates:
            return []
        tree = self.object
        sights = [life_sight(census_round, record, fate) for census_round, record, fate in fates]
        tags = [(old.until_on, _("New tag in place of %(tag)s") % {"tag": old.tag}) for old in tree.old_tags.all() if old.until_on]
        life = draw_life(tree.planted_on or tree.planting.planted_on, sights, tags)
        words = _("Fate at %(rounds)s, and its height at %(number)s of them.")
        words %= {"rounds": local_amount(len(sights), "rounds"), "number": len(life.dots)}
        return [{"title": _("Its life so far"), "include": "plantings/plantings/_tree_life.html", "life": life, "words": words}]

    def record_parts(self):
        own = own_of(self.story.records)
        records = [
            {
                "record": record,
                "measures": measures_words(record, local_text, local_number, own),
                "struck": is_struck(record),
                "reason": local_text(record.reason),
                "why": local_text(record.superseded_by.reason) if is_superseded(record) else "",
                "unread": is_unread(record) and not is_superseded(record),
                "correct": None if is_superseded(record) else correction_url(self.user, record),
                "add_photo": link(self.user, "observation.correct", "observation_photo", record.pk),
            }
            for record in self.story.records
        ]
        return [{"title": _("Records"), "include": "plantings/census/_records.html", "records": records}] if records else []

    def photo_parts(self):
        photos = photos_by_record(self.story.records)
        figures = [
            {
                "photo": photo,
                "tag": self.object.tag,
                "record": record,
                "struck": is_struck(record),
            }
            for record in reversed(self.story.records)
            for photo in photos.get(record.pk, ())
        ]
        return [{"title": _("Photos"), "include": "plantings/census/_photos.html", "figures": figures}] if figures else []
