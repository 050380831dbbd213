"""The draw of a sample and the comparison of two people, against cases worked by hand."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.arrival.draw import sample_size, walk_draw
from plantings.calc.arrival.quality import CANNOT_TELL, CHANCE, MET, NOT_MET, Seen, careful_words, quality_lines
from plantings.calc.arrival.tolerances import Tolerances
from plantings.calc.census.measurements import CANKER, DIAMETER_AT, DIEBACK, HEIGHT
from plantings.calc.census.own_measurements import own_measurement

TAGS = [f"T{number:03d}" for number in range(1, 201)]


@given(st.integers(1, 60), st.text(max_size=20), st.data())
def test_one_tree_is_drawn_from_each_stretch_of_the_walk(count, seed, data):
    size = data.draw(st.integers(1, count))
    found = walk_draw(TAGS[:count], size, seed)
    assert [one.tag for one in found] == TAGS[:count]
    assert [one.stretch for one in found if one.drawn] == list(range(1, size + 1))
    lengths = [sum(one.stretch == stretch for one in found) for stretch in range(1, size + 1)]
    assert max(lengths) - min(lengths) <= 1
    assert found == walk_draw(TAGS[:count], size, seed)


def test_anybody_can_repeat_a_draw_with_a_hash_program():
    drawn = [one.tag for one in walk_draw(TAGS, 20, "5f1c")]
    by_hand = [
        min(TAGS[start : start + 10], key=lambda tag: hashlib.sha256(f"5f1c:{tag}".encode()).hexdigest()) for start in range(0, 200, 10)
    ]
    assert [tag for tag in drawn if tag in by_hand] == by_hand
    assert (
        [one.tag for one in walk_draw(TAGS, 20, "5f1c") if one.drawn]
        == by_hand
        != [one.tag for one in walk_draw(TAGS, 20, "5f1d") if one.drawn]
    )


def test_every_tree_is_drawn_about_equally_often():
    counts = dict.fromkeys(TAGS[:50], 0)
    for seed in range(1_000):
        for one in walk_draw(TAGS[:50], 5, str(seed)):
            counts[one.tag] += one.drawn
    # 1,000 draws at a chance of 0.1 each: 100, standard deviation 9.5; five of them either side
    assert min(counts.values()) > 52 and max(counts.values()) < 148


@pytest.mark.parametrize(("trees", "percent", "size"), [(200, 5, 10), (200, 10, 20), (201, 10, 21), (30, 10, 3), (1, 5, 1), (7, 100, 7)])
def test_a_share_is_rounded_up_to_trees(trees, percent, size):
    assert sample_size(trees, percent) == size


def test_a_tag_twice_or_too_many_trees_are_refused():
    with pytest.raises(ValueError, match="once"):
        walk_draw(["T1", "T1"], 1, "s")
    with pytest.raises(ValueError, match="3 trees cannot be drawn from 2"):
        walk_draw(["T1", "T2"], 3, "s")


def heights(*pairs):
    return [(Seen("A", {"height_cm": one}), Seen("A", {"height_cm": other})) for one, other in pairs]


def test_the_larger_height_tolerance_holds():
    # 5 cm under 100 cm, 5 % above: 95/100 in, 94/100 out, 200/210 in, 200/211 out, 142.1/137.1 in although it is 5.0000000000001
    pairs = heights((100, 95), (100, 94), (200, 210), (200, 211), (142.1, 137.1))
    line = quality_lines(pairs, [HEIGHT])[1]
    assert (line.within, line.trees, line.verdict) == (3, 5, CANNOT_TELL)
    assert line.tolerance == "within 5 cm or 5 %, whichever is more"


@pytest.mark.parametrize(
    ("alike", "other", "verdict"),
    # target 98 %: Wilson's upper end is 0.9956 for 39 of 40 and 0.9294 for 34 of 40
    [(40, 0, MET), (39, 1, CHANCE), (34, 6, NOT_MET), (9, 0, CANNOT_TELL)],
)
def test_a_share_below_the_target_may_be_chance(alike, other, verdict):
    pairs = [(Seen("A", {}), Seen("A", {}))] * alike + [(Seen("A", {}), Seen("D", {}))] * other
    assert quality_lines(pairs, [])[0].verdict == verdict


def test_a_tolerance_of_the_programme_changes_the_verdict():
    pairs = [(Seen("A", {}), Seen("A", {}))] * 34 + [(Seen("A", {}), Seen("D", {}))] * 6
    assert quality_lines(pairs, [], Tolerances(status_percent=85))[0].verdict == MET


def test_classes_are_compared_by_presence_and_by_steps():
    classes = [(0, 0), (0, 1), (1, 2), (1, 3), (4, 4)]
    pairs = [(Seen("A", {"canker_class": one}), Seen("A", {"canker_class": other})) for one, other in classes]
    _status, presence, steps = quality_lines(pairs, [CANKER])
    assert (presence.within, steps.within, steps.trees) == (4, 4, 5)
    # by hand, found or not: both 3, neither 1, second alone 1: agreed 0.8, chance 0.6·0.8 + 0.4·0.2 = 0.56, kappa 0.24/0.44 = 0.545
    assert presence.detail.startswith("4 of 5 trees the same; kappa 0.55 ")


def test_the_place_of_a_diameter_has_no_tolerance():
    pairs = [(Seen("A", {"diameter_at_cm": 10}), Seen("A", {"diameter_at_cm": 30}))] * 2
    line = quality_lines(pairs, [DIAMETER_AT])[1]
    assert (line.target, line.verdict, line.within) == (None, "", None)
    assert line.detail.startswith("second less first 20 cm above ground")


def test_estimates_of_a_share_are_compared_in_points():
    # 10 points at most: 10/20 in, 10/30 out
    pairs = [(Seen("A", {"dieback_percent": 10}), Seen("A", {"dieback_percent": share})) for share in (20, 30) * 10]
    line = quality_lines(pairs, [DIEBACK])[1]
    assert (line.within, line.trees, line.target, line.verdict) == (10, 20, 90, NOT_MET)
    assert line.tolerance == "within 10 percentage points"
    assert quality_lines(pairs, [DIEBACK], Tolerances(estimate_points=20))[1].verdict == MET


def test_an_own_number_has_the_larger_of_both_tolerances():
    crown = own_measurement(code="crown", version=1, name="Crown width", taken="At its widest.", unit="cm", low=0, high=900)
    # 1 cm up to 10 cm, 10 % above: 4/5 in, 4/5.5 out, 200/220 in, 200/221 out
    widths = [(4, 5), (4, 5.5), (200, 220), (200, 221)]
    pairs = [(Seen("A", {crown.field: one}), Seen("A", {crown.field: other})) for one, other in widths * 5]
    line = quality_lines(pairs, [crown])[1]
    assert (line.what, line.within, line.trees, line.verdict) == ("Crown width", 10, 20, NOT_MET)
    assert line.tolerance == "within 1 cm or 10 %, whichever is more"
    assert quality_lines(pairs, [crown], Tolerances(own_units=2, own_percent=11))[1].verdict == MET


def test_what_only_one_measured_is_counted_apart():
    pairs = [*heights((100, 100)), (Seen("A", {"height_cm": 90}), Seen("A", {}))]
    line = quality_lines(pairs, [HEIGHT])[1]
    assert (line.trees, line.one_only) == (1, 1)


def test_a_tree_not_visited_again_is_left_out():
    pairs = [(Seen("A", {}), Seen("NV", {})), (Seen("A", {}), Seen("A", {}))]
    assert quality_lines(pairs, [])[0].trees == 1
    assert careful_words(20, 2, pairs, 0, 1)[0] == "Of 2 trees drawn from 20, the second person visited 1."
    assert careful_words(20, 2, pairs, 0, 1)[-1].startswith("1 tree was measured by somebody of the office")
    assert quality_lines(pairs[:1], []) == ()
