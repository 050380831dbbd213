"""Treatments of seed. Limits are common practice, no source; the ten minutes of a dip are from memory."""

import pytest

from registry.calc.lots.treatments import HotWaterBath, hot_water_warnings, storage_warnings, surface_warnings

# common practice, no source
BATH = HotWaterBath(47, 50, 20, "weevils", "common practice, no source")


@pytest.mark.parametrize(
    ("temperature_c", "minutes", "words"),
    [
        (49, 20, []),
        (47, 20, []),
        (50, 40, []),
        (46.9, 20, ["treatment against weevils fails"]),
        (50.1, 20, ["kills the embryo"]),
        (49, 19, ["fewer than the usual 20"]),
        (49, 41, ["more than twice"]),
        (40, 5, ["treatment against weevils fails", "fewer than the usual 20"]),
        (None, None, []),
    ],
)
def test_a_bath_that_fails_or_kills_says_so(temperature_c, minutes, words):
    said = hot_water_warnings(temperature_c, minutes, BATH)
    assert len(said) == len(words)
    assert all(word in line for word, line in zip(words, said, strict=True))


def test_a_bath_is_judged_by_the_figures_of_its_species():
    cooler = HotWaterBath(43, 46, 30, "curculio", "made for this test")
    assert hot_water_warnings(45, 30, cooler) == ()
    assert hot_water_warnings(49, 20, cooler) == (
        "49 °C is over 46 °C: this kills the embryo. Cut a sample before you rely on the lot.",
        "20 minutes are fewer than the usual 30: expect live curculio.",
    )
    assert hot_water_warnings(30, 1, None) == ()


@pytest.mark.parametrize(
    ("temperature_c", "words"), [(120, "120 °F are 48.9 °C"), (500, "Enter degrees Celsius"), (-4, "Check the thermometer")]
)
def test_a_temperature_no_water_has_is_refused(temperature_c, words):
    # 120 F = (120 - 32) / 1.8 = 48.9 C
    with pytest.raises(ValueError, match=words):
        hot_water_warnings(temperature_c, 20, None)


@pytest.mark.parametrize(("minutes", "warned"), [(None, False), (3, False), (10, False), (10.5, True)])
def test_a_dip_in_bleach_that_became_a_soak_says_so(minutes, warned):
    assert bool(surface_warnings(minutes)) is warned


@pytest.mark.parametrize(
    ("temperature_c", "dies_frozen", "words"),
    [
        (2, True, ""),
        (0, True, ""),
        (5, True, ""),
        (-0.5, True, "dies of frost"),
        (8, True, "early sprouting"),
        (-18, False, ""),
        (None, True, ""),
    ],
)
def test_a_store_too_cold_or_too_warm_for_nuts_says_so(temperature_c, dies_frozen, words):
    assert words in " ".join(storage_warnings(temperature_c, dies_frozen))
    assert bool(storage_warnings(temperature_c, dies_frozen)) is bool(words)
