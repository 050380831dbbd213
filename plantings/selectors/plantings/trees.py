"""The story of one tree: every record, its fate at every round with hindsight, and why."""

from dataclasses import dataclass

from django.utils.translation import gettext, gettext_noop

from plantings.calc.census.codes import status_code
from plantings.calc.census.fate import SEEN_ALIVE, Fate, Status, fate_history
from plantings.choices import ReviewState, TreeFate
from plantings.models import CensusRound, Observation, PlotCount
from plantings.selectors.census.tallies import FATE_KEYS
from registry.calc.shared.part_dates import surely_before

__all__ = ["TreeStory", "fate_reason", "is_struck", "is_superseded", "tree_story", "trees_listed", "trees_to_tag"]


@dataclass(frozen=True, slots=True)
class TreeStory:
    """`records` of the tree, superseded and rejected ones among them; `fates` [(round, record or None, fate)]; both newest first."""

    records: list
    fates: list
    reason: str


def trees_listed(queryset):
    """Trees for the list, in walk order within their planting; the order of an index, for a book of a million trees."""
    return queryset.order_by("planting_id", "walk_number", "id")


def trees_to_tag(planting):
    """The trees of a planting that hold their position now, in walk order: neither replaced nor known to be gone."""
    gone = (TreeFate.DEAD, TreeFate.REMOVED)
    in_the_ground = planting.trees.filter(replaced_by__isnull=True).exclude(fate__in=gone)
    return in_the_ground.select_related("planting", "block", "entry__lot").in_walk_order()


def tree_story(tree):
    """What the records of a tree say. Four queries."""
    rounds = _rounds_so_far(tree)
    records = list(
        Observation.objects.filter(tree=tree)
        .with_review()
        .select_related("round", "entered_by", "superseded_by")
        .order_by("-observed_on", "-pk")
    )
    counted = {}
    for record in reversed(records):
        if record.counts:
            counted[record.round_id] = record
    seen = [counted.get(item.pk) for item in rounds]
    statuses = [status_code(record.status, record.cause) if record else Status.NONE for record in seen]
    fates = fate_history(statuses) if statuses else []
    lines = [(item, record, FATE_KEYS[fate]) for item, record, fate in zip(rounds, seen, fates, strict=True)]
    return TreeStory(records, lines[::-1], fate_reason(statuses, fates, [item.label for item in rounds]))


def _rounds_so_far(tree):
    """The rounds of a tree's planting since it was planted, up to the last round with any record of the planting."""
    rounds = list(CensusRound.objects.filter(planting=tree.planting_id).order_by("opens_on"))
    used = set()
    for records in (Observation.objects.counting(), PlotCount.objects.counting()):
        used.update(records.filter(round__in=rounds).order_by().values_list("round", flat=True).distinct())
    while rounds and rounds[-1].pk not in used:
        rounds.pop()
    return [item for item in rounds if tree.planted_on is None or not surely_before(item.closes_on, tree.planted_on)]


def is_superseded(record):
    return hasattr(record, "superseded_by")


def is_struck(record):
    """Whether a record read `with_review` is shown struck out: a later one replaced it, or it was rejected."""
    return is_superseded(record) or record.review_state == ReviewState.REJECTED


def fate_reason(statuses, fates, labels):
    """Why a tree has its last fate, in one or two sentences.

    `statuses` and `fates` are codes of `calc.fate`, one a round in time order, `labels` the names of the rounds.
    """
    if not fates:
        return gettext("No round since this tree was planted has a record yet.")
    last, label = fates[-1], labels[-1]
    since = max((number for number, status in enumerate(statuses) if status in SEEN_ALIVE), default=-1) + 1
    if last in _ENDED:
        ended = next(number for number in range(since, len(statuses)) if statuses[number] in _ENDINGS)
        return gettext(_ENDED[last]) % {"round": labels[ended]}
    if last == Fate.PRESUMED_DEAD:
        first = fates.index(Fate.PRESUMED_DEAD)
        words = gettext("Not found at two rounds running, %(first)s and %(second)s. A later sighting settles it.")
        return words % {"first": labels[first], "second": labels[first + 1]}
    words = _REASONS.get(last) or (_NOT_VISITED if statuses[-1] else _NO_RECORD)
    return gettext(words) % {"round": label}


_ENDINGS = (Status.D, Status.RM, Status.RX)
_ENDED = {
    Fate.DEAD: gettext_noop("Recorded dead in %(round)s, and not seen alive since."),
    Fate.REMOVED: gettext_noop(
        "Recorded removed in %(round)s, and not seen alive since. The reason is biological or not known: the tree stays in the figures, "
        "not alive."
    ),
    Fate.REMOVED_EXCLUDED: gettext_noop(
        "Recorded removed in %(round)s, and not seen alive since. The reason is not biological: the tree leaves the figures."
    ),
}
_REASONS = {
    Fate.ALIVE: gettext_noop("Seen alive at the last round, %(round)s."),
    Fate.ALIVE_RESPROUT: gettext_noop("Seen alive at the last round, %(round)s."),
    Fate.NOT_FOUND: gettext_noop(
        "The position was found without a tree in %(round)s. If it is not found again at the next round, it is presumed dead."
    ),
    Fate.UNCLEAR: gettext_noop("Seen in %(round)s, but not whether it lives. That never counts as dead. Another visit settles it."),
    Fate.NOT_LOCATED: gettext_noop("The position was not located in %(round)s. That never counts as dead. Look for the corner posts."),
}
_NOT_VISITED = gettext_noop("Recorded as not visited in %(round)s. That never counts as dead.")
_NO_RECORD = gettext_noop("No record in %(round)s. A missing record never counts as dead.")
