"""Pollen pools: the list, the page of one, its members, gathering the trees that stood and flowered."""

from django.urls import reverse

from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.calc.shared.screen import amount_words, day_words
from registry.forms.pedigree.trees import PollenPoolForm, PoolGatherForm, PoolMembersForm
from registry.forms.shared.filters import PollenPoolFilters
from registry.imports.kinds import PollenPoolSheet
from registry.models import PollenPool
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.pools import pool_father, pool_flowering_day, pool_gathering, pool_members, pool_reach
from registry.services.orchard.pools import pool_gather, pool_members_set, pool_save
from registry.views.identity.parts import identity_parts
from registry.views.pedigree.taxa import MATERIAL_LISTS, lots_table
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, SectionFormView, SectionListView, allowed
from registry.views.shared.tables import Column, ledger_table

_NAMED_MAX = 12
_PLAIN_MAX = 64


def pool_url(pool):
    return reverse_to("pollenpool_detail", pool.pk)


def _tree_url(tree):
    return reverse("pedigreetree_detail", args=[tree.pk])


def share_words(share):
    """A share as a fraction where it is a plain one, and as a decimal: “3/40 (0.075)”."""
    decimal = f"{float(share):.3f}".rstrip("0").rstrip(".")
    return decimal if share.denominator == 1 or share.denominator > _PLAIN_MAX else f"{share} ({decimal})"


class PollenPoolListView(SectionListView):
    model = PollenPool
    action = "pedigree.view"
    title = "Pollen pools"
    question = "What stood and flowered in a block in one year?"
    unit = "pollen pools"
    sheet = PollenPoolSheet
    filter_form = PollenPoolFilters
    others = MATERIAL_LISTS
    add = ("New pollen pool", "pedigree.edit", "pollenpool_add")
    empty = ("No pollen pool yet", "The father of an open-pollinated lot is a pollen pool: an orchard block in one flowering year.", None)
    columns = (
        Column("Pollen pool", "code", kind="code", url=pool_url),
        Column("Orchard", "orchard"),
        Column("Block", "block"),
        Column("Flowered in", "flowering_year", "right"),
        Column("Outside pollen, declared share", "outside_share", "right"),
    )


class PollenPoolDetailView(RecordDetailView):
    model = PollenPool
    action = "pedigree.view"
    question = "Whose pollen was in the air, and which lots came of it?"

    def get_queryset(self):
        return super().get_queryset().select_related("outside_taxon")

    def get_page(self):
        pool = self.object
        self.members = list(pool_members(pool))
        self.father = pool_father(pool)
        self.reach = pool_reach(pool)
        identity = identity_parts(self.request.user, pool)
        return {
            "code": pool.code,
            "where": pool_place(pool),
            "due": [*identity["due"], *self.get_due()],
            "actions": [*self.get_actions(), *identity["actions"]],
            "facts": [*self.get_facts(), *identity["facts"]],
            "parts": [*self.get_parts(), *identity["parts"]],
        }

    def get_due(self):
        due = []
        if self.father.problem:
            due.append(
                Duty("odd", f"No father can be reckoned: {self.father.problem}", url=reverse_to("pollenpool_members", self.object.pk))
            )
        if not self.members:
            due.append(Duty("odd", "Nobody is in the pool. Gather the trees that stood and flowered in the block."))
        return due

    def get_actions(self):
        pk = self.object.pk
        return allowed(
            self.request.user,
            ("Gather the trees that flowered", "pedigree.edit", reverse_to("pollenpool_gather", pk)),
            ("Change members and weights", "pedigree.edit", reverse_to("pollenpool_members", pk)),
            ("Change the pool", "pedigree.edit", reverse_to("pollenpool_edit", pk)),
            ("Diversity of its seed", "pedigree.view", reverse_to("pollenpool_diversity", pk)),
        )

    def get_facts(self):
        pool = self.object
        outside = "none declared; counted as none"
        if pool.outside_share:
            outside = f"{pool.outside_share.normalize():f}, taken as {pool.outside_taxon or 'not known'}"
        selfing = f"{pool.selfing_share.normalize():f}" if pool.selfing_share else "none declared; counted as none"
        day = pool_flowering_day(pool)
        return [
            ("Day of flowering", f"{day_words(day)}{'' if pool.flowered_on else ', since no day is written down'}", None),
            ("Outside pollen, declared share", outside, None),
            ("Seed of the mother's own pollen, declared share", selfing, None),
            ("Members", f"{len(self.members):,}", None),
            ("Note", pool.note, None),
        ]

    def get_parts(self):
        pool, reach = self.object, self.reach
        lots = self.scoped(pool.lots.model).filter(pollen_pool=pool).select_related("mother")
        rests = lots_table("Lots of this pool", lots, "No lot names this pool as its father.")
        if reach.more_lots or reach.more_trees:
            rests["note"] = f"And what came of what names it: {_more_words(reach)}."
        parts = [self.father_part(), self.members_part(), rests]
        if reach.trees:
            columns = (Column("Tree", "code", kind="code", url=_tree_url), Column("Generation", "generation_code"))
            parts.append(ledger_table("Trees of this pool", columns, reach.trees[:PART_ROWS_MAX], unit="trees"))
        return parts

    def father_part(self):
        found = self.father
        rows = []
        if found.father:
            rows = [(found.codes[tree], tree, share) for tree, share in found.father.trees.items()]
            rows += [("outside pollen, not known" if label == UNKNOWN else f"outside pollen, {label}", None, share)
                     for label, share in found.father.outside.items()]  # fmt: skip
            rows.sort(key=lambda row: (row[1] is None, -row[2], row[0]))
        columns = (
            Column("Father", lambda row: row[0], kind=lambda row: "code" if row[1] else None,
                   url=lambda row: row[1] and reverse("pedigreetree_detail", args=[row[1]])),
            Column("Expected share", lambda row: share_words(row[2]), "right"),
        )  # fmt: skip
        mothers = len(found.mothers)
        note = (
            f"Over the {amount_words(mothers, 'mothers')} of its lots, each counting alike."
            if mothers
            else "No lot names the pool yet, so this is for a mother outside it."
        )
        note += " A mother in the pool fathers her own seed through the selfing share only."
        shown = rows[:PART_ROWS_MAX]
        if len(rows) > PART_ROWS_MAX:
            note += f" The first {PART_ROWS_MAX} of {len(rows):,}."
        empty = "The father cannot be reckoned until the members are put right."
        return ledger_table("Expected father", columns, shown, unit="fathers", note=note, empty=empty)

    def members_part(self):
        columns = (
            Column("Tree", "tree.code", kind="code", url=lambda member: _tree_url(member.tree)),
            Column("Generation", "tree.generation_code"),
            Column("Source of resistance", "tree.source_of_resistance"),
            Column("Recurrent line", "tree.recurrent_line"),
            Column("First flowered in", lambda member: member.tree.first_flowering_year or "not known", "right"),
            Column("Weight", lambda member: f"{member.weight.normalize():f}" if member.weight is not None else "", "right"),
            Column("How it is known", "basis"),
            Column("Status now", "tree.get_status_display", kind="state"),
        )
        total = len(self.members)
        note = "Without weights they count alike. A tree that was rogued since stays a member: its pollen was in the air."
        if total > PART_ROWS_MAX:
            note += f" The first {PART_ROWS_MAX} of {total:,}; all stand on the page that changes them."
        return ledger_table("Members", columns, self.members[:PART_ROWS_MAX], unit="trees", note=note, empty="No tree is in the pool yet.")


def pool_place(pool):
    parts = (pool.orchard, pool.block and f"block {pool.block}", f"flowered in {pool.flowering_year}")
    return ", ".join(part for part in parts if part)


def _more_words(reach):
    return " and ".join(amount_words(number, unit) for number, unit in ((reach.more_lots, "lots"), (reach.more_trees, "trees")) if number)


def reach_cautions(reach):
    """What a change of a pool touches, as cautions over its form; nothing where nothing rests on it."""
    if not reach:
        return []
    named = [lot.code for lot in reach.lots] + [tree.code for tree in reach.trees]
    lines = [", ".join(named[:_NAMED_MAX]) + (f" and {len(named) - _NAMED_MAX} more" if len(named) > _NAMED_MAX else "")]
    if reach.more_lots or reach.more_trees:
        lines.append(f"and what came of them: {_more_words(reach)}")
    text = "These name the pool as their father. Their expected shares, sources and lines change with it. Say why, and it is kept."
    touched = [amount_words(len(group), unit) for group, unit in ((reach.lots, "lots"), (reach.trees, "trees")) if group]
    rest = "rests" if len(named) == 1 else "rest"
    return [{"title": f"{' and '.join(touched)} {rest} on this pool", "text": text, "lines": lines}]


class PollenPoolFormView(SectionFormView):
    model = PollenPool
    action = "pedigree.edit"
    form_class = PollenPoolForm
    submit_label = "Save the pollen pool"

    def get_cautions(self):
        return reach_cautions(pool_reach(self.record)) if self.record else []

    def save(self, record, many, form):
        return pool_save(actor=self.request.user, pool=record, reason=form.cleaned_data.get("reason", ""))


class PoolChangeView(RecordActionView):
    """A change of the members, which names what rests on the pool."""

    model = PollenPool
    action = "pedigree.edit"

    def get_reach(self):
        if not hasattr(self, "reach"):
            self.reach = pool_reach(self.object)
        return self.reach

    def get_cautions(self):
        return reach_cautions(self.get_reach())

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"rests": bool(self.get_reach())}


class PoolGatherView(PoolChangeView):
    template_name = "registry/orchard/pool_gather.html"
    form_class = PoolGatherForm
    question = "Which trees stood and flowered in the block on the day of flowering?"
    success_message = "Gathered. They are members of the pool."

    def get_title(self):
        return f"Gather the trees of {self.object.code}"

    def get_initial(self):
        return {"shown": " ".join(str(tree.pk) for tree in self.get_gathering().new)}

    def get_gathering(self):
        if not hasattr(self, "gathering"):
            self.gathering = pool_gathering(self.object)
        return self.gathering

    def perform(self, form):
        return pool_gather(actor=self.request.user, pool=self.object, **form.cleaned_data)

    def get_context_data(self, **kwargs):
        found = self.get_gathering()
        lists = (
            ("To be added", found.new, "They stood in the block on that day."),
            ("Members already", found.stay, ""),
            (
                "Members that the book does not have standing and flowering there that day",
                found.absent,
                "They stay in the pool. Take out what does not belong.",
            ),
            ("Stood, but flowered first in a later year", found.too_young, "They are left out."),
            ("Gone since a day nobody wrote down", found.unknown_then, "They are left out. If one stood then, add it by its code."),
        )
        parts = [_trees_part(title, trees, note) for title, trees, note in lists if trees]
        return super().get_context_data(**kwargs) | {
            "gathering": found,
            "parts": parts,
            "submit_label": f"Add {amount_words(len(found.new), 'trees')}",
        }


def _trees_part(title, trees, note):
    columns = (
        Column("Tree", "code", kind="code", url=_tree_url),
        Column("Block", "block"),
        Column("Generation", "generation_code"),
        Column("Planted in", "planted_year", "right"),
        Column("First flowered in", lambda tree: tree.first_flowering_year or "not known", "right"),
    )
    return ledger_table(title, columns, trees, unit="trees", note=note)


class PoolMembersView(PoolChangeView):
    template_name = "registry/orchard/pool_members.html"
    form_class = PoolMembersForm
    question = "Which trees shed pollen, and how much each?"
    submit_label = "Save the members"
    success_message = "The members are in the book."

    def get_title(self):
        return f"Members of {self.object.code}"

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"members": list(pool_members(self.object))}

    def perform(self, form):
        return pool_members_set(actor=self.request.user, pool=self.object, **form.changes())
