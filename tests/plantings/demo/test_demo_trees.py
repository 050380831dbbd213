"""The demo: what became of its trees."""

from collections import Counter, defaultdict

from django.db.models import Count

from plantings.models import CensusRound, Observation, SecondDraw, SurvivalTally, Tree
from plantings.selectors.census.queue import review_queue
from plantings.selectors.census.second import draw_lines, quality_of
from registry.models import (
    Lot,
    PedigreeTree,
)

# -- what became of the trees ------------------------------------------------------------------


def survival_after_five(rounds):
    """{lot: (alive, counted)} over rounds of the fifth season, from the tallies."""
    tallies = SurvivalTally.objects.filter(round__in=rounds, entry__role__in=("test", "check"), entry__planting__counted_plots=None)
    totals = defaultdict(lambda: [0, 0])
    for lot, alive, planted, out in tallies.values_list("entry__lot__code", "alive", "planted", "removed_excluded"):
        totals[lot][0] += alive
        totals[lot][1] += planted - out
    return dict(totals)


def test_under_disease_the_native_check_does_worst(book):
    # plan of the demo: canker decides at every site but the one with root rot and the unfinished and frost-bitten ones
    rounds = CensusRound.objects.filter(growing_seasons=5).exclude(planting__site__code__in=("ST-04", "ST-06", "ST-10"))
    share = {lot: alive / counted for lot, (alive, counted) in survival_after_five(rounds).items()}
    for stock in ("P19", "P20"):
        lots = {lot: value for lot, value in share.items() if lot.startswith(stock)}
        assert max(lots, key=lots.get) == f"{stock}-DON" and min(lots, key=lots.get) == f"{stock}-NAT"
    assert share["P18-SLK02"] < min(share["P19-SLS01"], share["P19-SLK01"])  # the mother was rogued for a reason


def test_survival_differs_by_site_and_root_rot_hits_every_lineage(book):
    rounds = CensusRound.objects.filter(growing_seasons=5).exclude(planting__code="ST-05-2019").exclude(planting__site__code="ST-06")
    by_site = {}
    for census_round in rounds.select_related("planting__site"):
        totals = survival_after_five([census_round])
        alive, counted = (sum(column) for column in zip(*totals.values(), strict=True))
        by_site[census_round.planting.site.code] = alive / counted
    assert len(set(by_site.values())) == len(by_site) == 10
    assert min(by_site, key=by_site.get) == "ST-04" and by_site["ST-04"] < 0.5
    causes = Counter(Observation.objects.filter(round__planting__site__code="ST-04", status="D").values_list("cause", flat=True))
    assert causes.most_common(1)[0][0] == "root_rot"
    wet_site = {"planting__site__code": "ST-04"}
    wet, dry = (survival_after_five(chosen)["P19-DON"] for chosen in (rounds.filter(**wet_site), rounds.exclude(**wet_site)))
    assert wet[0] / wet[1] < dry[0] / dry[1] - 0.2


def test_the_census_meets_everything_a_census_meets(book):
    history = defaultdict(list)
    for tree, status in Observation.objects.current().order_by("tree", "observed_on", "pk").values_list("tree", "status"):
        history[tree].append(status)
    together = Counter(pair for statuses in history.values() for pair in zip(statuses, statuses[1:], strict=False))
    assert together["D", "AR"] and together["NF", "A"] and together["NF", "NF"] and together["NL", "A"]
    assert set(Observation.objects.values_list("status", flat=True)) == {"A", "AR", "D", "NF", "NL", "NV", "RM"}
    causes = set(Observation.objects.values_list("cause", flat=True))
    assert causes >= {"canker", "root_rot", "drought", "deer", "planting", "landowner", "sanitation"}
    visited = Observation.objects.filter(round__planting__code="ST-06-2022", round__label="2023 autumn").values_list("status", flat=True)
    assert set(visited) == {"NV"}


def test_two_records_are_corrected_and_two_are_contradicted(book):
    corrections = Observation.objects.filter(supersedes__isnull=False)
    assert [row.reason for row in corrections] == ["paper sheets that came in later"] * 2
    twice = Observation.objects.current().values("round", "tree").annotate(n=Count("pk")).filter(n=2)
    assert len(twice) == 2
    for pair in twice:
        first, second = Observation.objects.current().filter(round=pair["round"], tree=pair["tree"])
        assert first.status != second.status and first.observer != second.observer


def test_the_last_round_is_partly_reviewed(book):
    last = Observation.objects.filter(round__planting__code="ST-06-2022", round__label="2026 autumn").with_review()
    states = Counter(record.review_state for record in last)
    assert (states["asked_back"], states["rejected"]) == (1, 1) and states["accepted"] > 10 and states[None] > 50
    assert {record.arrived_as for record in last} == {"received"}
    queue = review_queue(CensusRound.objects.select_related("planting").get(planting__code="ST-06-2022", label="2026 autumn"))
    assert [one.kind for one in queue.checks.exchanges] == ["swapped"] and {line.record.tree.tag for line in queue.odd} >= {"0037", "0038"}
    assert any("No dieback, browse or resprout" in words for line in queue.odd for words in line.looks)
    assert set(Observation.objects.exclude(pk__in=last.values("pk")).values_list("arrived_as", flat=True)) == {"accepted"}


def test_a_tenth_of_one_round_was_measured_again(book):
    draw = SecondDraw.objects.handed_in().get()
    lines = draw_lines(draw)
    assert 10 * draw.size >= len(draw.candidates) and len(lines) == draw.size
    status, height, *_others = quality_of(draw, lines).lines
    assert (status.trees - status.within, height.verdict) == (1, "met") and "kappa" in status.detail


def test_a_rogued_mother_has_descendants_in_the_forest(book):
    mother = PedigreeTree.objects.get(code="SL-K-02")
    assert mother.status == "rogued" and mother.status_on.year == 2019
    standing = Tree.objects.filter(entry__lot__parent__mother=mother, fate__in=("alive", "resprout"))
    assert standing.count() > 50 and not Lot.objects.filter(mother=mother, year__gte=2019).exists()
