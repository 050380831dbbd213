"""Sheets of the material: taxa, pollen pools, trees of the pedigree."""

from registry import choices
from registry.calc.pedigree.loops import find_loops
from registry.imports.gate.code_cells import CodesCell
from registry.imports.pedigree.generations import GenerationMixin
from registry.imports.pedigree.parent_cell import ParentCell
from registry.imports.sheets.append_only_sheets import AGAIN, LOADED
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import Ahead, RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, DecimalCell, GenerationCell, NumberCell, TextCell, YesNoCell
from registry.imports.sheets.plan import CHANGED, UNCHANGED, Problem
from registry.imports.sheets.sheet import Sheet
from registry.models import PedigreeTree, PollenPool, PollenPoolMember, Taxon
from registry.selectors.pedigree.trees import years_out_of_order
from registry.services.orchard.pools import pool_members_set, pool_save
from registry.services.orchard.tree_status import tree_status_follow
from registry.services.pedigree.parents import tree_refuse_loop, tree_save
from registry.services.shared.records import record_save

_PARENTS = ("mother", "father")


class TaxonSheet(Sheet):
    kind = "taxon"
    title = "Taxa"
    about = "Species and hybrids, each native or donor here."
    edit_action = "taxon.edit"
    model = Taxon
    key = ("name",)

    name = SheetField("Binomial", "name", TextCell(120), required=True, example="Juglans cinerea")
    common_name = SheetField("Common name", "common_name", TextCell(120), example="butternut")
    hybrid_of = SheetField("Parents of a hybrid", "hybrid_of", TextCell(200), example="")
    role = SheetField("Role here", "role", ChoiceCell(choices.taxon_roles), required=True, example="native")


class PollenPoolSheet(Sheet):
    kind = "pollen_pool"
    title = "Pollen pools"
    about = "What shed pollen in one orchard block in one year: the father of open-pollinated lots."
    edit_action = "pedigree.edit"
    model = PollenPool
    key = ("code",)

    code = SheetField("Pool", "code", TextCell(40), required=True, example="POOL-A-2019")
    orchard = SheetField("Orchard", "orchard", TextCell(60), required=True, example="Mill Brook")
    block = SheetField("Orchard block", "block", TextCell(40), example="A")
    flowering_year = SheetField("Flowering year", "flowering_year", NumberCell(1900, 2200, whole=True), required=True, example=2019)
    flowered_on = SheetField("Day of flowering", "flowered_on", DateCell(), example="2019-05-24")
    outside_share = SheetField("Declared outside share (0-1)", "outside_share", DecimalCell(0, 1), example=0.1)
    outside_taxon = SheetField(
        "Taxon of outside pollen",
        "outside_taxon",
        RecordCell(Taxon, by="name"),
        example="Juglans cinerea",
        was=("Outside pollen is taken as",),
    )
    outside_classes = SheetField("Material classes outside pollen may carry", "outside_classes", CodesCell(), example="")
    selfing_share = SheetField("Declared selfing share (0-1)", "selfing_share", DecimalCell(0, 1, places=3), example="")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("outside_taxon")

    def save_row(self, values, item, actor, reason):
        pool = item.current or PollenPool()
        for name, value in values.items():
            setattr(pool, self.sheet_fields()[name].attribute, value)
        return pool_save(actor=actor, pool=pool, reason=reason or (AGAIN if item.current else LOADED))


class PollenPoolMemberSheet(Sheet):
    kind = "pollen_pool_member"
    title = "Members of pollen pools"
    about = "The trees that were standing and flowered in the block of a pool that year. Weights, in any unit, for all of them or for none."
    edit_action = "pedigree.edit"
    model = PollenPoolMember
    key = ("pool", "tree")

    pool = SheetField("Pool", "pool", RecordCell(PollenPool), required=True, example="POOL-A-2019")
    tree = SheetField("Tree", "tree", RecordCell(PedigreeTree), required=True, example="MB-A-012")
    weight = SheetField("Weight of its pollen (any unit)", "weight", DecimalCell(0, 999, places=4), example=140)
    basis = SheetField("How the weight is known", "basis", TextCell(120), example="male flowers counted on four branches")

    def stored_records(self):
        return super().stored_records().select_related("pool", "tree")

    def check_items(self, plan):
        for item in plan.items:
            if "basis" in item.values and "weight" not in item.values and not (item.current and item.current.weight):
                message = "says how a weight is known, but the row has no weight; give the weight, or clear this cell"
                self._add_problem(plan, Problem(item.row, self.header("basis"), item.values["basis"], message))
            if item.outcome != UNCHANGED and item.values.get("weight") == 0:
                message = "is not above 0; give a weight above 0, or clear the cell where no weights are known"
                self._add_problem(plan, Problem(item.row, self.header("weight"), "0", message))

    def store_items(self, items, actor, reason, plan):
        """Weights of members that are there already first, so that all of a pool or none have one at every step."""
        pools = {}
        for item in items:
            pools.setdefault(item.values["pool"], []).append(item)
        for pool, rows in pools.items():
            present = [item for item in rows if item.current]
            if any("weight" in item.changes for item in present):
                self.attempt(plan, present[0], lambda pool=pool, present=present: self._weigh(pool, present, actor, reason or AGAIN))
            for item in rows:
                self.attempt(plan, item, lambda item=item: self._store(item, actor, reason))

    @staticmethod
    def _weigh(pool, items, actor, reason):
        weights = {item.current.tree_id: item.values["weight"] for item in items if "weight" in item.changes}
        return pool_members_set(actor=actor, pool=pool, weights=weights, reason=reason)

    def _store(self, item, actor, reason):
        values = item.values
        if item.current:
            item.current.refresh_from_db()
            item.current.basis = values.get("basis", item.current.basis)
            return record_save(actor=actor, obj=item.current, reason=reason or AGAIN)
        added = (values["tree"], values.get("weight"))
        return pool_members_set(
            actor=actor, pool=values["pool"], weights={}, basis=values.get("basis", ""), added=added, reason=reason or LOADED
        )


class PedigreeTreeSheet(GenerationMixin, Sheet):
    kind = "pedigree_tree"
    title = "Trees of the pedigree"
    about = "Founders, crosses and orchard trees. Parents may be in the same sheet, in any order, and give a blank generation."
    edit_action = "pedigree.edit"
    model = PedigreeTree
    key = ("code",)
    generation_needed = True
    parent_fields = _PARENTS

    code = SheetField("Tree", "code", TextCell(40), required=True, example="MB-A-012")
    taxon = SheetField("Binomial", "taxon", RecordCell(Taxon, by="name"), required=True, example="Juglans cinerea")
    mother = SheetField("Mother", "mother", ParentCell(PedigreeTree), example="JC-01")
    father = SheetField("Father", "father", ParentCell(PedigreeTree), example="F1-03")
    pollen_pool = SheetField("Pollen pool", "pollen_pool", RecordCell(PollenPool), example="")
    cross_type = SheetField("Cross type", "cross_type", ChoiceCell(choices.cross_types), example="controlled")
    generation = SheetField("Generation", "generation", GenerationCell(), example="B1")
    source_of_resistance = SheetField("Source of resistance", "source_of_resistance", TextCell(40), example="Shiro")
    recurrent_line = SheetField("Recurrent line", "recurrent_line", TextCell(40), example="Winooski")
    orchard = SheetField("Orchard", "orchard", TextCell(60), example="Mill Brook")
    block = SheetField("Orchard block", "block", TextCell(40), example="A")
    plot = SheetField("Orchard plot", "plot", TextCell(40), example="3")
    row = SheetField("Row", "row", NumberCell(0, whole=True), example=4)
    position = SheetField("Position", "position", NumberCell(0, whole=True), example=7)
    planted_year = SheetField("Planted year", "planted_year", NumberCell(1800, 2200, whole=True), example=2009)
    first_flowering_year = SheetField(
        "First flowering year", "first_flowering_year", NumberCell(1800, 2200, whole=True), example=2014
    )  # fmt: skip
    status = SheetField("Status", "status", ChoiceCell(choices.tree_statuses), example="standing")
    status_on = SheetField("Status since", "status_on", DateCell(), example="2014-05-20")
    status_reason = SheetField("Reason for status", "status_reason", TextCell(), example="", was=("Reason of status",))
    regulated_engineered = SheetField("Regulated engineered (yes/no)", "regulated_engineered", YesNoCell(), example="no")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("taxon", "mother", "father", "pollen_pool")

    def check_items(self, plan):
        super().check_items(plan)
        items = {item.values["code"]: item for item in plan.items}
        for loop in find_loops({code: _ahead_of(item) for code, item in items.items()}):
            steps = ", ".join(f"{code} from {parent}" for code, parent in zip(loop, loop[1:] + loop[:1], strict=True))
            message = f"would be its own ancestor by this sheet: {steps}; correct the parents in one of these rows"
            self._add_problem(plan, Problem(items[loop[0]].row, self.header("code"), loop[0], message))
        for item in plan.items:
            if item.outcome != UNCHANGED:
                self._check_years(plan, item, items)

    def _check_years(self, plan, item, items):
        def year_of(parent):
            other = items.get(parent.code)
            own = None if isinstance(parent, Ahead) else parent.planted_year
            return other.values.get("planted_year", own) if other else own

        stated = {name: item.values.get(name, getattr(item.current, name, None)) for name in (*_PARENTS, "pollen_pool", "planted_year")}
        parents = [(name, stated[name].code, year_of(stated[name])) for name in _PARENTS if stated[name]]
        pool = stated["pollen_pool"]
        for words in years_out_of_order(stated["planted_year"], parents, (pool.code, pool.flowering_year) if pool else None):
            plan.warnings.append(Problem(item.row, self.header("planted_year"), str(stated["planted_year"]), words))

    def store_items(self, items, actor, reason, plan):
        super().store_items(items, actor, reason, plan)
        if plan.problems:
            return
        # rows are stored one by one, so only at the end can a loop be told
        moved = {item.key[0]: item for item in items if item.outcome == CHANGED and not item.changes.keys().isdisjoint(_ORIGINS)}
        for tree in self.stored_records().filter(code__in=moved):
            self.attempt(plan, moved[tree.code], lambda tree=tree: tree_refuse_loop(tree))

    def save_record(self, record, many, actor, reason):
        tree = tree_save(actor=actor, tree=record, many=many, reason=reason, loops_later=True)
        tree_status_follow(actor=actor, tree=tree)
        return tree


_ORIGINS = (*_PARENTS, "pollen_pool")


def _ahead_of(item):
    return [value.code for name in _PARENTS if isinstance(value := item.values.get(name), Ahead)]
