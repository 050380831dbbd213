"""Counts that look like percentages of survival: few false alarms, and the sheet that made trees that never were."""

import random

import pytest

from plantings.calc.census.percentages import look_like_percentages, names_a_rate


@pytest.mark.parametrize("chance", [0.3, 0.6, 0.8, 0.9, 0.95])
def test_true_counts_of_a_hundred_are_hardly_ever_asked_about(chance):
    draw = random.Random(7)
    asked = 0
    for _sheet in range(200):
        counts = [sum(draw.random() < chance for _seed in range(100)) for _plot in range(24)]
        asked += look_like_percentages(counts, [100] * 24)
    assert asked == 0


def test_percentages_of_small_plots_are_found():
    draw = random.Random(7)
    for planted in (10, 12, 20):
        alive = [sum(draw.random() < 0.85 for _tree in range(planted)) for _plot in range(100)]
        assert look_like_percentages([round(100 * count / planted) for count in alive], [100] * 100)


def test_what_cannot_be_mistaken_is_not_asked_about():
    assert not look_like_percentages([100, 95, 90] * 10, [100, 120, 140] * 10)  # planted numbers that differ were counted
    assert not look_like_percentages([100, 95, 120] * 10, [150] * 30)
    assert not look_like_percentages([50, 45, 40] * 10, [50] * 30)  # every percentage above 50 would be refused
    assert not look_like_percentages([90, 85, 100], [100] * 3)
    assert look_like_percentages([90, 85, 100], [100] * 3, "Surv")
    assert not look_like_percentages([90, 85, 100], [100] * 3, "Survivors (count)")
    assert names_a_rate("Survival 2020") and not names_a_rate("Surveyor")
