"""Every function of the site that makes an interval is in the list of those whose coverage is measured, and has its row there."""

import ast
import re
from functools import cache

import pytest

from tests.places import PROJECT
from tests.simulation.adding_up import Sums
from tests.simulation.arms import ARMS, run
from tests.simulation.intervals import Pair
from tests.simulation.printed import BAND, BEHIND, PRINTED, TOLD

LISTED = {one.function for one in PRINTED}
# what an interval is made with: quantiles of a distribution
QUANTILES = {"NormalDist", "stdtrit", "betaincinv", "fdtri", "_NORMAL_95", "_Z", "LIMITS_95"}


@cache
def functions():
    """{(module, name): the names that its code uses, each with the module it is from} of every function and method of both packages."""
    found = {}
    for path in [*PROJECT.glob("registry/**/*.py"), *PROJECT.glob("plantings/**/*.py")]:
        tree, module = ast.parse(path.read_text(encoding="utf-8")), ".".join(path.relative_to(PROJECT).with_suffix("").parts)
        nodes = list(ast.walk(tree))
        source = {name.name: node.module for node in nodes if isinstance(node, ast.ImportFrom) for name in node.names}
        for node in nodes:
            if isinstance(node, ast.FunctionDef):
                used = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
                found.setdefault((module, node.name), set()).update((source.get(name, module), name) for name in used)
    return found


def making_intervals(used):
    """The functions that use a quantile, themselves or through one that is not in the list."""
    made = set()
    while True:
        through = {key for key in made if key[1] not in LISTED}
        more = {key for key, names in used.items() if names & through or {name for _module, name in names} & QUANTILES}
        if more == made:
            return made
        made = more


def test_every_interval_of_the_site_is_in_the_list():
    used = functions()
    makers = making_intervals(used)
    assert {name for _module, name in makers} >= LISTED
    parts = {key for key in makers if key[1] in LISTED}
    while more := {name for key in parts for name in used.get(key, ())} & makers - parts:
        parts |= more
    assert sorted(makers - parts) == []


def test_a_new_interval_is_noticed():
    new = ("plantings.calc.survival.odds", "poisson_ends")
    used = functions() | {new: {("plantings.calc.survival.odds", "_normal")}}
    assert new in making_intervals(used)


def measured_names():
    """The names in the tables of COVERAGE.md that have a share in a column."""
    text = (PROJECT / "tests/simulation/COVERAGE.md").read_text(encoding="utf-8")
    assert [words for words in TOLD if words not in text] == []
    return set(re.findall(r"^\| ([^|]+?) \|(?: – \|)* [01]\.", text, re.MULTILINE))


def test_every_interval_of_the_list_has_been_measured():
    assert {BAND, *BEHIND, *(name for one in PRINTED for name in one.names)} - measured_names() == set()


def test_a_few_programmes_have_every_interval_of_the_list():
    wanted = ("all trees found", "5 trees a site", "20 lineages", "2 sites", "every second planting lacks a census")
    arms = {arm.name: arm for arm in ARMS}
    found = {pair.name for name in wanted for pair in run(arms[name], 0)[0]}
    assert found == {BAND, *BEHIND, *(name for one in PRINTED for name in one.names)}


@pytest.fixture(scope="module")
def programmes():
    return [run(ARMS[0], seed)[0] for seed in range(24)]


def shares(programmes, times=1.0):
    """{interval: share that held the truth}, each `times` as wide about its estimate."""
    sums = Sums()
    for pairs in programmes:
        sums.add(
            pair._replace(low=pair.estimate - times * (pair.estimate - pair.low), high=pair.estimate + times * (pair.high - pair.estimate))
            for pair in pairs
            if pair.name not in (BAND, *BEHIND)
        )
    return {one.name: one.share for one in sums.held()}


def test_intervals_hold_the_truth_and_half_as_wide_they_do_not(programmes):
    """Half of a normal interval of 95 % holds 67 % (scipy.stats.norm: 2 Φ(0.98) − 1 = 0.673). Below 0.93 an interval is said not to hold; some have one
    value a programme, so that 24 programmes leave an error of 0.05 for the whole ones."""
    whole, half = shares(programmes), shares(programmes, 0.5)
    assert len(whole) > 15
    assert {name: share for name, share in whole.items() if share < 0.86} == {}
    assert {name: share for name, share in half.items() if share >= 0.93} == {}


def test_an_interval_about_the_wrong_value_is_seen(programmes):
    """With every estimate and its interval moved up by a whole width, hardly one holds the truth."""
    sums = Sums()
    for pairs in programmes:
        sums.add(Pair(one.name, one.estimate, one.high, 2 * one.high - one.low, one.true) for one in pairs)
    assert all(one.share < 0.2 for one in sums.held() if one.name not in (BAND, *BEHIND))
