"""The evidence on which two people decide whether an orchard mother stays: all mothers in order, and one of them on a page."""

from dataclasses import dataclass

from django.utils import timezone

from plantings.calc.lineages.compare import AWAITED, MODEL, NEEDED, LineageRow
from plantings.calc.lineages.fit_words import counts_fit_sentence
from plantings.calc.lineages.lineage_model import LINEAGE
from plantings.calc.lineages.roguing import NO_PROGENY, NO_PROGENY_NEEDED, progeny_proposal
from plantings.calc.lineages.words import difference_range, pressure_sentence, signed
from plantings.selectors.survival.lineages import LineageTable, lineage_comparison
from plantings.selectors.survival.rounds import SurvivalFilter
from registry.calc.shared.screen import amount_words, day_words, moment_words
from registry.choices import Decision, TreeStatus
from registry.models import PedigreeTree
from registry.prints.document import Alert, ByHand, Document, Facts, Notes, Table, TableColumn
from registry.selectors.orchard.diversity import group_diversity
from registry.selectors.orchard.floors import floor_warnings, lines_and_sources, programme_floors
from registry.selectors.orchard.orchard import last_decisions, orchard_group, orchard_mothers
from registry.selectors.orchard.ratings import compared_ratings

__all__ = ["MotherRow", "Mothers", "mothers_in_order", "roguing_document"]

_LEVEL = "mother"


@dataclass(frozen=True, slots=True)
class MotherRow:
    """A mother tree, her progeny in the field (None where none is in a complete census), why she has no place in the order, what would
    be needed, and the last decision on her."""

    tree: PedigreeTree
    progeny: LineageRow | None
    reason: str
    needed: str
    decision: str


@dataclass(frozen=True, slots=True)
class Mothers:
    """Those with a value, the lowest first, then those that cannot be told. `table` is what they were read from."""

    ordered: tuple[MotherRow, ...]
    cannot_tell: tuple[MotherRow, ...]
    table: LineageTable


def mothers_in_order(user):
    """Mothers of the pedigree that have progeny in a complete census, and standing orchard trees that have none."""
    table = lineage_comparison(user, _LEVEL, None, SurvivalFilter(), at_once=False)
    progeny = {one.label: one for one in (*table.comparison.ranked, *table.comparison.unranked)}
    trees = PedigreeTree.objects.for_user(user)
    standing = trees.filter(status=TreeStatus.STANDING).exclude(orchard="")
    found = {tree.code: tree for tree in trees.filter(code__in=progeny)}
    others = trees.filter(pk__in=orchard_group(standing).counted).exclude(code__in=progeny).order_by("code")
    decisions = last_decisions([tree.pk for tree in found.values()])

    def row(tree, one=None, reason="", needed=""):
        decision = decisions.get(tree.pk)
        return MotherRow(tree, one, reason, needed, Decision(decision).label if decision else "")

    ranked = table.comparison.ranked if table.comparison.method == AWAITED else reversed(table.comparison.ranked)
    ordered = [row(found[one.label], one) for one in ranked if one.label in found]
    cannot = [row(found[one.label], one, one.reason, NEEDED[one.reason]) for one in table.comparison.unranked if one.label in found]
    cannot += [row(tree, None, NO_PROGENY, NO_PROGENY_NEEDED) for tree in others]
    return Mothers(tuple(ordered), tuple(cannot), table)


def roguing_document(tree, *, user, scan, made_on, made):
    """The print that two people sign: her ratings, her progeny, what her loss would do. It proposes, people decide."""
    table = lineage_comparison(user, _LEVEL, None, SurvivalFilter(), at_once=False)
    found = table.comparison
    one = next((one for one in (*found.ranked, *found.unranked) if one.label == tree.code), None)
    return Document(
        title=f"Evidence on the orchard mother {tree.code}", code=tree.code, scan=scan, made_on=made_on, made=made, least_scale=0.8,
        subtitle=", ".join(filter(None, (tree.orchard, tree.block and f"block {tree.block}"))),
        parts=(
            Facts(_tree_facts(tree), columns=2), Notes("What it proposes", (str(progeny_proposal(one, found)), _DECIDE)), _ratings(tree),
            Facts(_progeny_facts(one, table), title="Her progeny in the field", columns=2), *_awaited(table), *_unread(table),
            *_fit(found), *_sites(one), *_loss(tree),
            Notes("How to read it", _HOW), ByHand(_SIGN),
        ),
    )  # fmt: skip


_GO_ON = "The page Evidence on orchard mothers works it out. Print this page again when it is there."
_DECIDE = "It proposes, people decide: two of them, after a look at the tree."
_HOW = (
    "Position: 0 is the mean of the native checks rated that day, 1 the mean of the donor checks. One rating alone says little.",
    "Difference: survival of her progeny less that of the native check on the same sites. Shrunken: drawn towards the mean of all mothers, "
    "the more the fewer trees there are. Reliability: near 0 little of it is her own.",
    "Open-pollinated progeny have half of their genes from other trees, so they tell of her less than a test of her own clones would.",
)
_SIGN = (
    "Kept, held or rogued, and why", "First person: name, signature, day", "Second person: name, signature, day",
)  # fmt: skip


def _awaited(table):
    """A print that is signed says what it lacks."""
    if table.awaited:
        made = table.awaited.made
        of_earlier = (f"What is shrunken here is of the records of {moment_words(timezone.localtime(made))}.",) if made else ()
        yield Alert("The model of these records is missing", (*of_earlier, _GO_ON))


def _fit(found):
    """Whether the shrunken values can be read at all."""
    if found.check:
        yield Notes("Whether the model describes the counts", (str(counts_fit_sentence(found.check, found.has_native)),))


def _unread(table):
    if table.unread:
        yield Alert("Not reviewed yet", (table.unread_words,))


def _tree_facts(tree):
    decision = last_decisions([tree.pk]).get(tree.pk)
    lines, sources = (", ".join(sorted(found)) for found in lines_and_sources([tree.pk])[tree.pk])
    since = f" since {day_words(tree.status_on)}" if tree.status_on else ""
    return (
        ("Status", f"{tree.get_status_display()}{since}"), ("Generation", tree.generation_code),
        ("Recurrent line", lines), ("Source of resistance", sources),
        ("Last decision", Decision(decision).label if decision else "none"), ("Planted in", str(tree.planted_year or "")),
    )  # fmt: skip


def _ratings(tree):
    lines = compared_ratings(tree.ratings.filter(superseded_by__isnull=True).select_related("tree__taxon", "scale"))
    columns = (
        TableColumn("Rated on", 1.2), TableColumn("Scale and disease", 3), TableColumn("Reading", 1.4),
        TableColumn("Checks of the day", 2.4),
        TableColumn("Position", 2),
    )  # fmt: skip
    rows = tuple((day_words(line.rating.rated_on), f"{line.rating.scale}: {line.rating.scale.disease}", *_rated(line)) for line in lines)
    return Table("Her own ratings", columns, rows, empty="Not rated yet.")


def _rated(line):
    """(reading, checks of the day, position) in words."""
    means = (("native", line.comparison.native), ("F1", line.comparison.f1), ("donor", line.comparison.donor))
    checks = ", ".join(f"{word} {mean:.2f}" for word, mean in means if mean is not None)
    rating, position = line.rating, line.comparison.position
    score = line.basis == "score"
    reading = f"{rating.score.normalize():f}" if score else f"canker {rating.canker_length_mm:g} mm"
    return reading, checks or "none", line.comparison.reason if position is None else f"{position:.2f}"


def _progeny_facts(one, table):
    found = table.comparison
    facts = [("Alive", str(table.moment.words) if table.moment else ""), ("Disease on all sites", str(pressure_sentence(found)))]
    if one is None:
        return tuple(facts)
    row, shrunk = one.row, one.shrunk
    facts += [
        ("Trees assessed", f"{row.n:,} of {row.countable:,}"), ("Alive of them", f"{row.alive:,}"), ("Sites", str(len(row.sites))),
        ("Native checks cankered on her sites", _pressure(row)),
        ("Difference from the native check (95 %)", str(difference_range(row.difference))),
    ]  # fmt: skip
    if shrunk is not None:
        facts += [
            ("Shrunken difference (95 %)", str(difference_range(shrunk.difference))),
            ("Shrunken survival (95 %)", f"{shrunk.share:.2f} ({shrunk.low:.2f}–{shrunk.high:.2f})"),
            ("Reliability", "" if shrunk.reliability is None else f"{shrunk.reliability:.2f}"),
            ("Chance to be in the worst quarter", "" if shrunk.worst is None else f"{shrunk.worst:.2f}"),
        ]
    if one in found.ranked and LINEAGE not in found.singular and found.method != AWAITED:
        by = "shrunken value" if found.method == MODEL else "share drawn to the mean" if shrunk else "observed difference"
        facts.append(("Place by " + by, f"{found.ranked.index(one) + 1} of {amount_words(len(found.ranked), 'mothers')}"))
    return tuple(facts)


def _pressure(row):
    if row.pressure is None or row.pressure.share is None:
        return str(row.pressure_reason) or "not known"
    return f"{row.pressure.cankered:,} of {row.pressure.assessed:,}"


def _sites(one):
    if one is not None and one.sites:
        rows = tuple(
            (mark.site, f"{mark.n:,}", "no native check" if mark.difference is None else signed(mark.difference)) for mark in one.sites
        )
        columns = (
            TableColumn("Site", 3, face="code"),
            TableColumn("Trees assessed", 2, "right"),
            TableColumn("Difference", 2, "right"),
        )
        yield Table("Site by site", columns, rows)


def _loss(tree):
    """What the orchard has without her."""
    standing, going = orchard_mothers(tree)
    mothers = {mother.pk for mother in standing}
    if tree.pk not in mothers:
        yield Notes("What her loss would do", ("She is not a standing mother of an orchard, so no floor counts her.",))
        return
    with_her = {pk: 1 for pk in mothers if pk not in going or pk == tree.pk}
    now, left = group_diversity(with_her), group_diversity({pk: 1 for pk in with_her if pk != tree.pk})
    yield Facts(
        (
            ("Mothers of the orchard", f"{len(with_her):,}, without her {len(with_her) - 1:,}"),
            ("Status number", f"{_number(now)}, without her {_number(left)}; floor {programme_floors().status_number:g}"),
        ),
        title="What her loss would do", note="Mothers already decided to be rogued count as gone.",
    )  # fmt: skip
    warnings = floor_warnings(tree)
    if warnings:
        yield Alert("Without her, below a floor of the programme", tuple(warnings))
    else:
        yield Notes("", ("No floor of the programme would be broken.",))


def _number(group):
    return group.problem if group.problem and group.trees else f"{group.status_number:.1f}"
