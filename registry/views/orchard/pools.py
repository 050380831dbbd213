"""Pollen pools: the list, the page of one, its members, gathering the trees that were standing and flowered."""

from django.urls import reverse
from django.utils.functional import cached_property

from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.calc.shared.screen import amount_words, day_words
from registry.forms.pedigree.trees import PollenPoolForm, PoolGatherForm, PoolMembersForm
from registry.forms.shared.filters import PollenPoolFilters
from registry.imports.kinds import PollenPoolSheet
from registry.models import Lot, PollenPool
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.pools import pool_father, pool_flowering_day, pool_gathering, pool_impact, pool_members
from registry.services.orchard.pools import pool_gather, pool_members_set, pool_save
from registry.views.identity.parts import IDENTITY_ACTIONS, IDENTITY_FACT, IDENTITY_SECTIONS, IdentityOnPage
from registry.views.pedigree.taxa import MATERIAL_LISTS, lots_section
from registry.views.shared.addresses import reverse_to
from registry.views.shared.details import PART_ROWS_MAX, RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link, ledger_table

_NAMED_MAX = 12
_DENOMINATOR_MAX = 64  # shares with a larger one are shown as decimals only
_FLOWERED = Column("First flowered in", lambda tree: tree.first_flowering_year or "not known", "right")


def share_words(share):
    """A share as a fraction where it is a simple one, and as a decimal: “3/40 (0.075)”."""
    decimal = f"{float(share):.3f}".rstrip("0").rstrip(".")
    return decimal if share.denominator == 1 or share.denominator > _DENOMINATOR_MAX else f"{share} ({decimal})"


class PollenPoolListView(RecordListView):
    model = PollenPool
    action = "pedigree.view"
    question = "Which trees were standing and flowered in a block in one year?"
    sheet = PollenPoolSheet
    filter_form = PollenPoolFilters
    others = MATERIAL_LISTS
    add = ("New pollen pool", "pedigree.edit", "pollenpool_add")
    empty = ("No pollen pools yet", "The father of an open-pollinated lot is a pollen pool: an orchard block in one flowering year.", None)
    columns = (
        Column("Pollen pool", "code", kind="code", url=Link("pollenpool_detail")),
        Column("Orchard", "orchard"),
        Column("Block", "block"),
        Column("Flowered in", "flowering_year", "right"),
        Column("Outside pollen, declared share", "outside_share", "right"),
    )


def _day_words(page):
    day = day_words(pool_flowering_day(page.object))
    return day if page.object.flowered_on else f"{day}, because no day is recorded"


def _outside_words(page):
    pool = page.object
    if not pool.outside_share:
        return "none declared; counted as none"
    return f"{pool.outside_share.normalize():f}, counted as {pool.outside_taxon or 'not known'}"


def _selfing_words(page):
    share = page.object.selfing_share
    return f"{share.normalize():f}" if share else "none declared; counted as none"


def _father_rows(page):
    """(name, tree key or None, share): trees before outside pollen, the largest share first."""
    found = page.father
    if not found.father:
        return []
    rows = [(found.codes[tree], tree, share) for tree, share in found.father.trees.items()]
    for label, share in found.father.outside.items():
        rows.append(("outside pollen, not known" if label == UNKNOWN else f"outside pollen, {label}", None, share))
    return sorted(rows, key=lambda row: (row[1] is None, -row[2], row[0]))


def _father_note(page, _rows):
    mothers = len(page.father.mothers)
    note = f"Over the {amount_words(mothers, 'mothers')} of its lots, each counting alike."
    if not mothers:
        note = "No lot names the pool yet, so this is for a mother outside it."
    return f"{note} A mother in the pool fathers her own seed through the selfing share only."


_FATHER = Section(
    title="Expected father",
    unit="fathers",
    note=_father_note,
    rows=_father_rows,
    columns=(
        Column(
            "Father", lambda row: row[0], kind=lambda row: "code" if row[1] else None,
            url=lambda row: row[1] and reverse("pedigreetree_detail", args=[row[1]]),
        ),
        Column("Expected share", lambda row: share_words(row[2]), "right"),
    ),
    most=PART_ROWS_MAX,
)  # fmt: skip

_MEMBERS = Section(
    title="Members",
    unit="trees",
    note="Without weights they count alike. A tree that was rogued later stays a member: its pollen was in the air.",
    rows=lambda page: page.members,
    columns=(
        Column("Tree", "tree.code", kind="code", url=Link("pedigreetree_detail", "tree_id")),
        Column("Generation", "tree.generation_code"),
        Column("Source of resistance", "tree.source_of_resistance"),
        Column("Recurrent line", "tree.recurrent_line"),
        Column("First flowered in", lambda member: _FLOWERED.value(member.tree), "right"),
        Column("Weight", lambda member: f"{member.weight.normalize():f}" if member.weight is not None else "", "right"),
        Column("How it is known", "basis", wide=True),
        Column("Status now", "tree.get_status_display", kind="state"),
    ),
    most=PART_ROWS_MAX,
    missing="members",
    add=Action("Change members and weights", "pollenpool_members", "pedigree.edit"),
)

_TREES = Section(
    title="Trees of this pool",
    unit="trees",
    rows=lambda page: page.impact.trees,
    columns=(Column("Tree", "code", kind="code", url=Link("pedigreetree_detail")), Column("Generation", "generation_code")),
    most=PART_ROWS_MAX,
)


class PollenPoolDetailView(IdentityOnPage, RecordDetailView):
    model = PollenPool
    action = "pedigree.view"
    question = "Which trees are the pollen parents, and which lots came from them?"
    related = ("outside_taxon",)
    facts = (
        Fact("Day of flowering", _day_words),
        Fact("Outside pollen, declared share", _outside_words),
        Fact("Seed of the mother's own pollen, declared share", _selfing_words),
        Fact("Members", lambda page: f"{len(page.members):,}"),
        IDENTITY_FACT,
        Fact("Note", "note"),
    )
    actions = (
        Action("Gather the trees that flowered", "pollenpool_gather", "pedigree.edit"),
        Action("Change members and weights", "pollenpool_members", "pedigree.edit"),
        Action("Diversity of its seed", "pollenpool_diversity", "pedigree.view"),
        Action("Change the pool", "pollenpool_edit", "pedigree.edit"),
        *IDENTITY_ACTIONS,
    )
    sections = (
        _FATHER,
        _MEMBERS,
        lots_section(
            "Lots of this pool",
            lambda page: page.scoped(Lot).filter(pollen_pool=page.object).select_related("mother"),
            note=lambda page, _lots: f"And what came from them: {_more_words(page.impact)}." if _more_words(page.impact) else "",
        ),
        _TREES,
        *IDENTITY_SECTIONS,
    )

    @property
    def where(self):
        pool = self.object
        return ", ".join(filter(None, (pool.orchard, pool.block and f"block {pool.block}", f"flowered in {pool.flowering_year}")))

    members = cached_property(lambda page: list(pool_members(page.object)))
    father = cached_property(lambda page: pool_father(page.object))
    impact = cached_property(lambda page: pool_impact(page.object))

    def get_due(self):
        due = self.identity_due()
        if self.father.problem:
            text = f"The father cannot be calculated: {self.father.problem}"
            due.append(Duty("odd", text, url=reverse_to("pollenpool_members", self.object.pk)))
        if not self.members:
            due.append(Duty("odd", "The pool has no members. Gather the trees that were standing and flowered in the block."))
        return due


def _more_words(impact):
    return " and ".join(amount_words(number, unit) for number, unit in ((impact.more_lots, "lots"), (impact.more_trees, "trees")) if number)


def impact_cautions(impact):
    """What a change of a pool affects, as cautions above its form; none where nothing depends on the pool."""
    if not impact:
        return []
    named = [lot.code for lot in impact.lots] + [tree.code for tree in impact.trees]
    lines = [", ".join(named[:_NAMED_MAX]) + (f" and {len(named) - _NAMED_MAX} more" if len(named) > _NAMED_MAX else "")]
    if _more_words(impact):
        lines.append(f"and what came from them: {_more_words(impact)}")
    text = "These name the pool as their father. Their expected shares, sources and lines change with it. Say why; the reason is recorded."
    affected = [amount_words(len(group), unit) for group, unit in ((impact.lots, "lots"), (impact.trees, "trees")) if group]
    depend = "depends" if len(named) == 1 else "depend"
    return [{"title": f"{' and '.join(affected)} {depend} on this pool", "text": text, "lines": lines}]


class PollenPoolFormView(RecordFormView):
    model = PollenPool
    action = "pedigree.edit"
    form_class = PollenPoolForm
    service = pool_save
    argument = "pool"
    success_message = "Pollen pool {result} saved."
    cautions = property(lambda page: impact_cautions(pool_impact(page.record)) if page.record else [])


class PoolChangeView(RecordActionView):
    """A change of the members. The page names what depends on the pool, and then a reason is needed."""

    model = PollenPool
    action = "pedigree.edit"
    argument = "pool"

    impact = cached_property(lambda page: pool_impact(page.object))
    cautions = property(lambda page: impact_cautions(page.impact))
    form_extras = property(lambda page: {"needs_reason": bool(page.impact)})


class PoolGatherView(PoolChangeView):
    template_name = "registry/orchard/pool_gather.html"
    form_class = PoolGatherForm
    service = pool_gather
    title = "Gather the trees of {object.code}"
    question = "Which trees were standing and flowered in the block on the day of flowering?"
    success_message = "Members of the pool saved."
    initial = property(lambda page: {"shown": " ".join(str(tree.pk) for tree in page.gathering.new)})

    gathering = cached_property(lambda page: pool_gathering(page.object))

    def tree_lists(self):
        """A table of each group of trees that is not empty."""
        found = self.gathering
        lists = (
            ("To be added", found.new, "They were standing in the block on that day."),
            ("Members already", found.stay, ""),
            (
                "Members not on record as standing and flowering there that day",
                found.absent,
                "They stay in the pool. Take out what does not belong.",
            ),
            ("Standing, but flowered first in a later year", found.too_young, "They are left out."),
            ("Gone since an unknown day", found.unknown_then, "They are left out. If one was standing then, add it by its code."),
        )
        columns = (
            Column("Tree", "code", kind="code", url=Link("pedigreetree_detail")),
            Column("Block", "block"),
            Column("Generation", "generation_code"),
            Column("Planted in", "planted_year", "right"),
            _FLOWERED,
        )
        return [ledger_table(title, columns, trees, unit="trees", note=note) for title, trees, note in lists if trees]

    def get_page(self):
        label = f"Add {amount_words(len(self.gathering.new), 'trees')}"
        return {"gathering": self.gathering, "parts": self.tree_lists(), "submit_label": label}


class PoolMembersView(PoolChangeView):
    template_name = "registry/orchard/pool_members.html"
    form_class = PoolMembersForm
    service = pool_members_set
    title = "Members of {object.code}"
    question = "Which trees are the pollen parents?"
    submit_label = "Save the members"
    success_message = "Members of the pool saved."
    form_extras = property(lambda page: {"members": list(pool_members(page.object)), "needs_reason": bool(page.impact)})
