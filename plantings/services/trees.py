"""Trees as planted: entries, positions, walk order, replacements, tags."""

import datetime
from collections import Counter
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.utils import timezone

from plantings.calc.census.plots import COUNT_OF_A_PLOT_MOST
from plantings.calc.sites.walk import walk_numbers
from plantings.choices import EntryRole, Supply, WalkOrder
from plantings.models import Block, CountedPlot, Planting, PlantingEntry, Tree
from plantings.services.additions import additions_pass, lots_to_ask_about
from plantings.services.census.tallies import tallies_rebuild
from plantings.services.supply import supply_draw
from plantings.services.tree_lists.checks import trees_check
from plantings.services.tree_lists.points import point_faults
from registry.calc.shared.screen import day_words
from registry.models import Lot
from registry.services.audit.trail import audit_record, made_note, state_note
from registry.services.gate.determinations import RECORDING_DAYS, GateStopped, is_past_recording, stores_refusal
from registry.services.shared.rows_refused import RowsRefused

__all__ = [
    "PlotAsPlanted",
    "TreeAsPlanted",
    "blocks_by_code",
    "counted_plot_add",
    "counted_plots_add",
    "planting_locked",
    "planting_renumber",
    "tree_replace",
    "trees_plant",
    "trees_replace",
]


@dataclass(frozen=True, slots=True)
class TreeAsPlanted:
    tag: str
    lot: Lot
    role: str = EntryRole.TEST
    block: str = ""
    row: int | None = None
    position: int | None = None
    planted_on: datetime.date | None = None
    note: str = ""
    longitude: float | None = None
    latitude: float | None = None
    accuracy_m: float | None = None
    point_is_right: bool = False  # somebody was asked about a point far from the site

    @property
    def point(self):
        return {"longitude": self.longitude, "latitude": self.latitude, "accuracy_m": self.accuracy_m}

    @property
    def has_point(self):
        return any(value is not None for value in self.point.values())


@dataclass(frozen=True, slots=True)
class PlotAsPlanted:
    """A plot whose trees are counted, not tagged; `planted_count` is None where nobody knows how many were planted."""

    code: str
    lot: Lot
    planted_count: int | None = None
    role: str = EntryRole.TEST


def _entry(planting, lot, role):
    return PlantingEntry.objects.get_or_create(planting=planting, lot=lot, role=role)[0]


def planting_locked(planting):
    """The planting as the database has it now; nobody else changes its trees until the write ends."""
    return Planting.objects.select_for_update().select_related("site__partner").get(pk=planting.pk)


@stores_refusal
def trees_plant(*, actor, planting, trees, on=None, override_reason=""):
    """Enter trees of one planting as they were planted, draw their supply and number them in walk order.

    Parameters
    ----------
    trees : list of TreeAsPlanted, in the order they were written
    on : date of planting; the planting's own date when it is not given
    override_reason : str
        The lead's reason to go on where the gate stops a lot that is new to a planting in the ground.

    Raises
    ------
    ValidationError
        When the supply does not cover the trees, a tag or position is taken or half given, a point cannot be right or is far from the
        site, or the gate stops a new lot.
    """
    planting = planting_locked(planting)
    on = on or planting.planted_on
    trees_check(planting, trees)
    new = lots_to_ask_about(planting, [(tree.lot, tree.planted_on or on) for tree in trees])
    entries = {key: _entry(planting, *key) for key in dict.fromkeys((tree.lot, tree.role) for tree in trees)}
    blocks = blocks_by_code(planting, {tree.block for tree in trees if tree.block})
    for (lot, role), count in Counter((tree.lot, tree.role) for tree in trees).items():
        supply_draw(actor=actor, entry=entries[lot, role], count=count, on=on)
    additions_pass(actor=actor, planting=planting, lots_by_day=new, override_reason=override_reason)
    start = planting.trees.count()
    made = Tree.objects.bulk_create(
        [
            Tree(
                planting=planting, entry=entries[tree.lot, tree.role], tag=tree.tag, block=blocks.get(tree.block), row=tree.row,
                position=tree.position, planted_on=tree.planted_on, note=tree.note, walk_number=start + number, **tree.point,
            )
            for number, tree in enumerate(trees, start=1)
        ],
        batch_size=2_000,
    )  # fmt: skip
    planting_renumber(planting)
    tallies_rebuild(planting)
    made_note(Tree, [tree.pk for tree in made])
    for tree in made[:1]:
        state_note(Tree, tree)  # one of them notes the trees of the planting
    audit_record(actor=actor, verb="planting.trees_planted", obj=planting, changes={"trees": [start, start + len(made)]})
    return made


def _refuse_plots(planting, plots):
    codes = Counter(plot.code for plot in plots)
    there = set(planting.counted_plots.filter(code__in=codes).values_list("code", flat=True))
    taken = sorted(there | {code for code, count in codes.items() if count > 1})
    if taken:
        raise ValidationError({"code": f"Planting {planting.code} already has a plot {', '.join(taken[:5])}. Give it another code."})
    if many := [plot.code for plot in plots if (plot.planted_count or 0) > COUNT_OF_A_PLOT_MOST]:
        words = f"Plot {many[0]}: no plot holds more than {COUNT_OF_A_PLOT_MOST:,} seeds or plants. Check it for a digit too many."
        raise ValidationError({"planted_count": words})


def _refuse_unknown(planting, plots, on):
    """A number planted may be unknown in old records alone: what came from a shipment or a lot's own stock is accounted for to the seed,
    and what was planted lately can still be asked about."""
    codes = [plot.code for plot in plots if plot.planted_count is None]
    if not codes:
        return
    if planting.supply != Supply.BEFORE_RECORDS:
        why = (
            f"Planting {planting.code} takes its supply from “{planting.get_supply_display()}”, where every seed and plant is "
            f"accounted for. The number may be unknown only where the supply is “{Supply.BEFORE_RECORDS.label}”."
        )
    elif on is None or not is_past_recording(on, timezone.localdate()):
        when = f"was planted on {day_words(on)}" if on else "is not planted yet"
        why = f"It {when}. The number may be unknown only in old records, planted more than {RECORDING_DAYS} days ago."
    else:
        return
    raise ValidationError({"planted_count": f"Plot {codes[0]}: how many were planted? {why}"})


def blocks_by_code(planting, codes):
    """{code: block} of a planting, with a new block for each of these codes that it has none of."""
    have = {block.code: block for block in planting.blocks.all()}
    for code in sorted(codes - have.keys()):
        have[code] = Block.objects.create(planting=planting, code=code)
    return have


def planting_renumber(planting):
    """Number the trees in the order a crew walks them: block by block, row by row, as the planting says."""
    trees = list(planting.trees.select_related("block").order_by("walk_number", "id"))
    places = [(tree.block.code if tree.block else "", tree.row, tree.position) for tree in trees]
    numbers = walk_numbers(places, serpentine=planting.walk == WalkOrder.SERPENTINE)
    moved = []
    for tree, number in zip(trees, numbers, strict=True):
        if tree.walk_number != number:
            tree.walk_number = number
            moved.append(tree)
    Tree.objects.bulk_update(moved, ["walk_number"], batch_size=500)


@stores_refusal
def counted_plot_add(*, actor, planting, code, lot, planted_count, role=EntryRole.TEST, on=None, override_reason=""):
    """Enter a plot whose trees are counted, not tagged (direct seeding, old records). The gate decides as in `trees_plant`."""
    plots = [PlotAsPlanted(code, lot, planted_count, role)]
    return counted_plots_add(actor=actor, planting=planting, plots=plots, on=on, override_reason=override_reason)[0]


@stores_refusal
def counted_plots_add(*, actor, planting, plots, on=None, override_reason=""):
    """Enter counted plots of one planting, all or none: `plots` is a list of PlotAsPlanted. Returns them. As `counted_plot_add`."""
    planting = planting_locked(planting)
    on = on or planting.planted_on
    new = lots_to_ask_about(planting, [(plot.lot, on) for plot in plots])
    entries = {key: _entry(planting, *key) for key in dict.fromkeys((plot.lot, plot.role) for plot in plots)}
    _refuse_plots(planting, plots)
    _refuse_unknown(planting, plots, on)
    made = [
        CountedPlot(planting=planting, entry=entries[plot.lot, plot.role], code=plot.code, planted_count=plot.planted_count)
        for plot in plots
    ]
    for record in made:
        record.clean_fields(exclude=["planting", "entry"])  # those are locked and just made: no query for each
    made = CountedPlot.objects.bulk_create(made, batch_size=2_000)
    made_note(CountedPlot, [record.pk for record in made])
    for record in made[:1]:
        state_note(CountedPlot, record)  # one of them notes the plots of the planting
    counts = Counter()
    for plot in plots:
        if plot.planted_count is not None:  # of an unknown number nothing is supplied
            counts[plot.lot, plot.role] += plot.planted_count
    for key, count in counts.items():
        supply_draw(actor=actor, entry=entries[key], count=count, on=on)
    additions_pass(actor=actor, planting=planting, lots_by_day=new, override_reason=override_reason)
    tallies_rebuild(planting)
    for record in made:
        audit_record(actor=actor, verb="countedplot.added", obj=record)
    return made


@stores_refusal
def tree_replace(*, actor, tree, tag, planted_on, lot=None, note="", override_reason=""):
    """Plant a replacement at the position of a dead tree. The original stays dead in every figure.

    The gate decides as in `trees_plant`.
    """
    planting = planting_locked(tree.planting)
    new = _replace(actor, planting, tree, TreeAsPlanted(tag, lot or tree.entry.lot, planted_on=planted_on, note=note), override_reason)
    _replaced(actor, planting, [new])
    return new


@stores_refusal
def trees_replace(*, actor, planting, replacements, override_reason=""):
    """Plant many replacements in one planting, all or none: {"replaces": tag of the tree that was there, "tree": TreeAsPlanted} each.

    One may replace a tree that comes before it in the list. Raises RowsRefused with what is wrong in each.
    """
    planting = planting_locked(planting)
    made, faults = [], {}
    for place, one in enumerate(replacements):
        try:
            made.append(_replace(actor, planting, _tree_of_tag(planting, one["replaces"]), one["tree"], override_reason))
        except GateStopped:
            raise
        except ValidationError as error:
            faults[place] = error
    if faults:
        raise RowsRefused(faults)
    _replaced(actor, planting, made)
    return made


def _tree_of_tag(planting, tag):
    tree = Tree.objects.filter(planting=planting, tag=tag).select_related("entry__lot", "block").first()
    if tree is None:
        raise ValidationError({"replaces": "names no tree of this planting"})
    return tree


def _replace(actor, planting, tree, new, override_reason):
    """Store a replacement, with its supply, once the gate lets it pass; walk order and tallies follow in `_replaced`."""
    if new.planted_on is None:
        raise ValidationError({"planted_on": "is blank; a replacement needs its own date"})
    point = new.point if new.has_point else {name: getattr(tree, name) for name in new.point}  # that of the position
    if new.has_point and (faults := point_faults(planting.site, {0: (*point.values(), new.point_is_right)})):
        raise faults[0]
    asked = lots_to_ask_about(planting, [(new.lot, new.planted_on)])
    record = Tree(
        planting=planting, entry=_entry(planting, new.lot, EntryRole.FILLER), tag=new.tag, block=tree.block, row=tree.row,
        position=tree.position, occupant=tree.occupant + 1, planted_on=new.planted_on, replaces=tree, walk_number=tree.walk_number,
        note=new.note, **point,
    )  # fmt: skip
    record.full_clean()
    supply_draw(actor=actor, entry=record.entry, count=1, on=new.planted_on)
    additions_pass(actor=actor, planting=planting, lots_by_day=asked, override_reason=override_reason)
    record.save()
    return record


def _replaced(actor, planting, made):
    planting_renumber(planting)
    tallies_rebuild(planting)
    for tree in made:
        audit_record(actor=actor, verb="tree.replaced", obj=tree, changes={"replaces": [None, tree.replaces.tag]}, reason=tree.note)
