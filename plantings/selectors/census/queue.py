"""The queue of a round: the records nobody has read, each with what the checks on arrival say, its last values and its neighbours."""

from dataclasses import dataclass

from plantings.calc.arrival.arrival import ArrivalChecks, Window, check_arrival
from plantings.calc.arrival.growth import Arrived
from plantings.calc.census.rows import LastSeen
from plantings.choices import ReviewState
from plantings.models import Observation, Tree
from plantings.selectors.census.asked import own_at
from plantings.selectors.census.limits import check_limits
from plantings.selectors.census.records import records_differ
from plantings.selectors.census.reviews import is_unread
from plantings.selectors.census.rounds import last_seen
from registry.selectors.shared.local_words import local_value

__all__ = ["QueueLine", "ReviewQueue", "review_queue"]

DISAGREE = "Two records of this tree disagree."
FITS_ANOTHER = "The record fits another tree better, or another record this tree: see the suggestion above."


@dataclass(frozen=True, slots=True)
class QueueLine:
    """A record, the last values of its tree, why it is listed, and the lines of the trees before and after it in its row, or None."""

    record: Observation
    last: LastSeen
    looks: tuple = ()
    before: "QueueLine | None" = None
    after: "QueueLine | None" = None


@dataclass(frozen=True, slots=True)
class ReviewQueue:
    """`clean` and `odd` records wait to be read, `asked` for an answer of the crew; lines in the order of the walk. `pairs` are the first
    two records of each tree that two people recorded."""

    clean: list
    odd: list
    asked: list
    checks: ArrivalChecks
    pairs: list

    @property
    def unread(self):
        return len(self.clean) + len(self.odd)


def review_queue(census_round):
    """The ReviewQueue of a round. All its records are read, since one is judged beside the others. Four queries, and one where
    its protocol asks for measurements of the programme's own."""
    records = list(
        Observation.objects.current().filter(round=census_round).with_review()
        .select_related("tree__block", "entered_by").order_by("tree__walk_number", "tree_id", "observed_on", "pk")
    )  # fmt: skip
    last = last_seen(census_round, Tree.objects.filter(planting=census_round.planting_id).order_by().values("pk"))
    planted_on = census_round.planting.planted_on
    arrived, windows, lines = [], {}, {}
    for record in records:
        tree = record.tree
        known = last.get(tree.pk, LastSeen())
        block = tree.block.code if tree.block else ""
        observer = record.observer or str(record.entered_by)
        arrived.append(Arrived(record.pk, tree.tag, record, known, observer, block, tree.row, tree.position))
        windows[record.pk] = Window(tree.planted_on or planted_on, census_round.opens_on, census_round.closes_on)
        lines[record.pk] = QueueLine(record, known)
    waiting = frozenset(record.pk for record in records if is_unread(record))
    checks = check_arrival(arrived, windows, waiting, check_limits(), own_at(census_round))
    by_tree = {}
    for record in records:
        by_tree.setdefault(record.tree_id, []).append(record)
    several = [found for found in by_tree.values() if len(found) > 1]
    looks = _looks(several, checks)
    beside = _neighbours(arrived)
    clean, odd, asked = [], [], []
    for pk, line in lines.items():
        if pk in waiting and pk in looks:
            before, after = (lines.get(key) for key in beside.get(pk, (None, None)))
            odd.append(QueueLine(line.record, line.last, tuple(looks[pk]), before, after))
        elif pk in waiting:
            clean.append(line)
        elif line.record.review_state == ReviewState.ASKED_BACK:
            asked.append(line)
    pairs = [(found[0], found[1]) for found in several if found[0].observer != found[1].observer]
    return ReviewQueue(clean, odd, asked, checks, pairs)


def _looks(several, checks):
    """{record pk: sentences} of everything that makes a record odd; `several` are the records of each tree that has more than one."""
    looks = {pk: [finding.said(str, local_value) for finding in found] for pk, found in checks.by_tree.items()}
    for exchange in checks.exchanges:
        for one in (*exchange.records, *exchange.trees):
            if FITS_ANOTHER not in looks.setdefault(one.key, []):
                looks[one.key].append(FITS_ANOTHER)
    for found in several:
        if records_differ(found):
            for record in found:
                looks.setdefault(record.pk, []).append(DISAGREE)
    return looks


def _neighbours(arrived):
    """{key: (key before, key after)} along each row; of two records of one tree the later one is its neighbours' neighbour."""
    rows = {}
    for one in arrived:
        if one.row is not None:
            rows.setdefault((one.block, one.row), {})[one.position] = one.key
    next_to = {}
    for places in rows.values():
        keys = [None, *(places[position] for position in sorted(places)), None]
        next_to |= {key: (keys[number], keys[number + 2]) for number, key in enumerate(keys[1:-1])}
    of_tree = {one.key: rows[one.block, one.row][one.position] for one in arrived if one.row is not None}
    return {key: next_to[listed] for key, listed in of_tree.items()}
