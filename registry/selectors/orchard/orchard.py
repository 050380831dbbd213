"""Reads about an orchard: which trees were standing where on a day, by the status history; what is decided; what roguing would leave."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Case, CharField, Count, Exists, OuterRef, Q, Subquery, Value, When
from django.db.models.functions import Coalesce

from registry.calc.pedigree.generation import NAMED
from registry.choices import Decision, TreeStatus
from registry.models import IdentityQuestion, PedigreeTree, SelectionDecision, TreeStatusRecord
from registry.selectors.identity.descent import linked
from registry.selectors.orchard.second import waiting_decisions

__all__ = [
    "UNKNOWN_THEN",
    "OrchardGroup",
    "OrchardRow",
    "decided_to_go",
    "last_decisions",
    "orchard_group",
    "orchard_mothers",
    "orchard_rows",
    "plan_trees",
    "rogued_undecided",
    "to_be_rogued",
    "trees_of_orchard_on",
    "trees_standing_on",
    "trees_unknown_on",
]

UNKNOWN_THEN = "unknown"  # gone since an unknown day


def trees_of_orchard_on(orchard, block, day, trees=None):
    """The trees of an orchard as they were on a day: a queryset with the status then as `status_then`.

    Parameters
    ----------
    orchard, block : str
        As written on the trees, in upper or lower case; a blank block means all blocks.
    day : datetime.date
    trees : queryset of PedigreeTree, optional
        The rows to look among, such as those a person may see; all when left out.

    Returns
    -------
    queryset of PedigreeTree
        Without trees planted in a later year. `status_then` is a status, or `UNKNOWN_THEN` for a tree that is gone since an unknown
        day. A tree without a step up to the day was standing. Of two steps of one day the one entered later counts, so that a
        mistaken step is corrected by another of the same day.
    """
    trees = PedigreeTree.objects.all() if trees is None else trees
    steps = TreeStatusRecord.objects.filter(tree=OuterRef("pk"))
    last = steps.filter(on__lte=day).order_by("-on", "-id").values("status")[:1]
    following = steps.filter(on__gt=day).order_by("on", "id").values("status")[:1]
    undated = Exists(steps.filter(on__isnull=True).exclude(status=TreeStatus.STANDING))
    # a tree whose next step is that it was rogued or died was standing until then, whatever was recorded without a day before
    before_all_steps = Case(
        When(Q(following__isnull=False) & ~Q(following=TreeStatus.STANDING), then=Value(TreeStatus.STANDING.value)),
        When(undated, then=Value(UNKNOWN_THEN)),
        default=Value(TreeStatus.STANDING.value),
        output_field=CharField(),
    )
    here = Q(orchard__iexact=orchard.strip())
    if block.strip():
        here &= Q(block__iexact=block.strip())
    planted = Q(planted_year__isnull=True) | Q(planted_year__lte=day.year)
    return (
        trees.filter(here & planted)
        .annotate(following=Subquery(following))
        .annotate(status_then=Coalesce(Subquery(last), before_all_steps))
        .order_by("code")
    )


def trees_standing_on(orchard, block, day):
    """The trees of an orchard, or of one block of it, that were standing on a day: a queryset ordered by code."""
    return trees_of_orchard_on(orchard, block, day).filter(status_then=TreeStatus.STANDING)


def trees_unknown_on(orchard, block, day):
    """The trees that are gone since an unknown day, so that it is not known whether they were standing on this day."""
    return trees_of_orchard_on(orchard, block, day).filter(status_then=UNKNOWN_THEN)


@dataclass(frozen=True, slots=True)
class OrchardRow:
    """One block of an orchard: how many trees are standing, standing with a decision to rogue, rogued (and how many of them without a
    decision), dead, in question."""

    orchard: str
    block: str
    standing: int
    to_rogue: int
    rogued: int
    undecided: int
    dead: int
    in_question: int

    @property
    def trees(self):
        return self.standing + self.rogued + self.dead


def orchard_rows(trees):
    """The blocks of all orchards among these trees, by name: four queries.

    A name written in upper and in lower case is one orchard, as it is for its plan.
    """
    here = trees.exclude(orchard="").order_by()
    counts = defaultdict(lambda: defaultdict(int))
    names = {}
    for orchard, block, status, number in here.values_list("orchard", "block", "status").annotate(Count("pk")):
        key = (orchard.strip().casefold(), block.strip().casefold())
        names.setdefault(key, (orchard.strip(), block.strip()))
        counts[key][status] += number
    some_of = (
        ("to_rogue", to_be_rogued(here)),
        ("undecided", rogued_undecided(here)),
        ("in_question", here.filter(pk__in=_in_question())),
    )
    for name, some in some_of:
        for orchard, block, number in some.values_list("orchard", "block").annotate(Count("pk")):
            counts[orchard.strip().casefold(), block.strip().casefold()][name] += number
    return [
        OrchardRow(*names[key], *(found[name] for name in ("standing", "to_rogue", "rogued", "undecided", "dead", "in_question")))
        for key, found in sorted(counts.items())
    ]


def _in_question():
    return IdentityQuestion.trees.through.objects.filter(identityquestion__settled_on__isnull=True).values("pedigreetree")


def decided_to_go(trees):
    """The standing trees among these that two people decided to rogue. One of which the second person has yet to confirm it stays."""
    return to_be_rogued(trees).exclude(decision_key__in=waiting_decisions().values("pk"))


def to_be_rogued(trees):
    """The standing trees among these whose last decision is to rogue them, confirmed or not."""
    ever = SelectionDecision.objects.filter(decision=Decision.ROGUED).values("tree")
    return _with_last_decision(trees.filter(status=TreeStatus.STANDING, pk__in=ever)).filter(last_decision=Decision.ROGUED)


def rogued_undecided(trees):
    """The rogued trees among these without a decision of two people to rogue them: nobody decided, the last decision is another, or its
    second person has not confirmed it."""
    decided = Q(last_decision=Decision.ROGUED) & ~Q(decision_key__in=waiting_decisions().values("pk"))
    return _with_last_decision(trees.filter(status=TreeStatus.ROGUED)).exclude(decided)


def _with_last_decision(trees):
    last = SelectionDecision.objects.filter(tree=OuterRef("pk")).order_by("-decided_on", "-id")
    return trees.annotate(
        last_decision=Coalesce(Subquery(last.values("decision")[:1]), Value("")),
        decision_key=Coalesce(Subquery(last.values("pk")[:1]), Value(0)),
    )


def last_decisions(keys):
    """{tree key: its last decision} of those of these trees that have one."""
    rows = linked(SelectionDecision.objects, "tree", keys, "tree", "decided_on", "pk", "decision")
    return {tree: Decision(decision) for tree, _on, _pk, decision in sorted(rows, key=lambda row: row[1:3])}


def plan_trees(trees, orchard, block, day):
    """The trees of a plan as of a day: `status_then`, `decision_then` (None where there was none), `questioned_then`; `is_waiting`: the
    second person of that decision has yet to confirm it."""
    decision = SelectionDecision.objects.filter(tree=OuterRef("pk"), decided_on__lte=day).order_by("-decided_on", "-id")
    asked = IdentityQuestion.objects.filter(trees=OuterRef("pk"), raised_on__lte=day)
    return trees_of_orchard_on(orchard, block, day, trees).annotate(
        decision_then=Subquery(decision.values("decision")[:1]),
        decision_key=Subquery(decision.values("pk")[:1]),
        is_waiting=Exists(waiting_decisions().filter(pk=OuterRef("decision_key"))),
        questioned_then=Exists(asked.filter(Q(settled_on__isnull=True) | Q(settled_on__gt=day))),
    )


@dataclass(frozen=True, slots=True)
class OrchardGroup:
    """The trees an orchard's diversity is counted over (keys, by code); how many standing checks of each sort, and gone ones, are not."""

    counted: list
    checks: dict
    gone: int


def orchard_group(trees):
    """OrchardGroup of the trees of an orchard or block: one query.

    Where bred trees stand, native and donor trees are left out, because they are there as checks or as parents; where none does, native
    trees are counted.
    """
    standing, gone = defaultdict(list), 0
    for pk, status, word in trees.order_by("code").values_list("pk", "status", "generation_other"):
        sort = word.strip().lower()
        if status == TreeStatus.STANDING:
            standing[sort if sort in NAMED else "bred"].append(pk)
        else:
            gone += 1
    counted = standing.pop("bred", None) or standing.pop("native", [])
    return OrchardGroup(counted, {sort: len(left) for sort, left in sorted(standing.items())}, gone)


def orchard_mothers(tree):
    """The standing mothers of a tree's orchard, and the keys of those decided to go: what a diversity floor is counted over.

    Returns
    -------
    (list of PedigreeTree, set of their keys)
        As `orchard_group` counts them.
    """
    if not tree.orchard.strip():
        return [], set()
    here = PedigreeTree.objects.filter(orchard__iexact=tree.orchard.strip())
    standing = here.filter(status=TreeStatus.STANDING)
    counted = set(orchard_group(here).counted)
    going = counted & set(to_be_rogued(standing).values_list("pk", flat=True))
    return [mother for mother in standing if mother.pk in counted], going
