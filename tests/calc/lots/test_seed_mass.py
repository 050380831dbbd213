"""Moisture, eight weighings, count and mass."""

from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.lots.checked_numbers import check_finite, check_positive
from registry.calc.lots.seed_mass import mass_of_seeds_g, moisture_share, seed_mass, seeds_of_mass, seeds_per_kg, unit_slip

EVEN = [340.0, 345.0, 338.0, 350.0, 342.0, 336.0, 347.0, 341.0]


def test_moisture_is_on_the_wet_basis():
    # ISTA chapter 9, 100 (M2 - M3) / (M2 - M1) (formula from memory): 10.0000, 15.0000, 13.2500 -> 35.00 %.
    assert moisture_share(10.0, 15.0, 13.25) == pytest.approx(0.35, abs=5e-5)


@pytest.mark.parametrize(
    ("masses", "words"),
    [
        ((10, 13, 15), "weighs more than fresh"),
        ((10, 5, 3), "container's weight was already taken off"),
        ((-1, 5, 3), "container is -1 g"),
        ((10, 0, 11), "container with fresh seed is 0 g"),
        ((10, float("nan"), 11), "container with fresh seed is nan g"),
    ],
)
def test_weighings_in_an_impossible_order_say_what_to_look_at(masses, words):
    with pytest.raises(ValueError, match=words):
        moisture_share(*masses)


@given(st.floats(0.1, 50), st.floats(0.1, 100), st.floats(0.01, 0.99))
def test_moisture_comes_back_from_the_weighings_it_makes(container, fresh, share):
    assert moisture_share(container, container + fresh, container + fresh * (1 - share)) == pytest.approx(share, abs=1e-9)


def test_eight_weighings_give_thousand_seed_mass_and_spread():
    mass = seed_mass(EVEN)
    # standard library statistics; 1,000 seeds are ten times the mean of 100
    assert mass.thousand_seed_mass_g == pytest.approx(10 * fmean(EVEN))
    assert mass.cv_percent == pytest.approx(100 * stdev(EVEN) / fmean(EVEN))
    assert mass.seeds_per_kg * mass.thousand_seed_mass_g == pytest.approx(1_000_000)
    assert mass.within and mass.message.startswith("The weighings agree")


@pytest.mark.parametrize(
    # ISTA chapter 10 (from memory): at most 4.0, chaffy seed 6.0. Four at 100 - d and four at 100 + d have a CV of d * sqrt(8 / 7).
    ("d", "chaffy", "within"),
    [(3.74, False, True), (3.75, False, False), (3.75, True, True), (5.61, True, True), (5.62, True, False)],
)
def test_the_spread_tolerated_is_four_percent_and_six_for_chaffy_seed(d, chaffy, within):
    mass = seed_mass([100 - d] * 4 + [100 + d] * 4, chaffy=chaffy)
    assert mass.within is within
    assert ("Weigh eight more" in mass.message) is not within


@pytest.mark.parametrize("masses", [EVEN[:7], [*EVEN, 340.0]])
def test_other_than_eight_weighings_are_refused(masses):
    with pytest.raises(ValueError, match="Weigh eight replicates of 100"):
        seed_mass(masses)


def test_a_weighing_of_nothing_is_refused_by_number():
    with pytest.raises(ValueError, match="weighing 3 is 0 g"):
        seed_mass([340.0, 345.0, 0.0, 350.0, 342.0, 336.0, 347.0, 341.0])


@given(st.integers(0, 2_000_000), st.floats(1, 500_000))
def test_a_count_turned_into_a_mass_and_back_is_the_same_count(seeds, per_kg):
    assert seeds_of_mass(mass_of_seeds_g(seeds, per_kg), per_kg) == seeds


def test_seeds_per_kilogram_from_a_counted_sample():
    assert seeds_per_kg(50, 172.5) == pytest.approx(289.855, abs=5e-4)  # 50,000 / 172.5 by hand


@pytest.mark.parametrize(
    "call", [lambda: seeds_per_kg(0, 5), lambda: seeds_per_kg(5, 0), lambda: mass_of_seeds_g(-1, 290), lambda: mass_of_seeds_g(5, 0),
             lambda: seeds_of_mass(-1, 290), lambda: seeds_of_mass(5, -2), lambda: check_positive("mass", -1)]
)  # fmt: skip
def test_counts_and_masses_that_cannot_be_are_refused(call):
    with pytest.raises(ValueError, match="Give"):
        call()


@pytest.mark.parametrize(
    ("per_kg", "words"),
    [
        (290, None),
        (115, None),  # half the low figure and a little more: lots differ
        (0.29, "kilograms written as grams"),
        (290_000, "kilograms written as grams"),
        (290 * 453.59237, "pounds written as grams"),  # 1 lb = 453.59237 g
        (290 / 28.349523125, "ounces written as grams"),  # 1 oz = 28.349523125 g
        (29, "ten times apart"),
        (4_000, "ten times apart"),
        (900, "Check the count, the mass and its unit"),
    ],
)
def test_a_mass_in_the_wrong_unit_is_guessed_from_the_handbook_range(per_kg, words):
    # Castanea dentata 220 to 360 per kg: Woody Plant Seed Manual, USDA Agric. Handb. 727, Castanea table 2.
    said = unit_slip(per_kg, 220, 360)
    assert said == "" if words is None else words in said


def test_a_mass_in_the_wrong_unit_is_said_in_plain_numbers():
    # 1 kg written as 1 g and 50 seeds: 50,000 seeds per kg; the range as above
    assert unit_slip(50_000, 220, 360).startswith("50,000 seeds per kg is far from the 220 to 360 of the handbook.")
    assert unit_slip(0.00029, 220, 360).startswith("0.00029 seeds per kg is far from")
    assert "from the 1,200,000 to 1,500,000 of" in unit_slip(290, 1_200_000, 1_500_000)


@pytest.mark.parametrize(
    ("compute", "words"),
    [(lambda: seeds_of_mass(1e308, 1e308), "number of seeds is too large"), (lambda: mass_of_seeds_g(10**400, 290), "mass is too large")],
)
def test_a_number_beyond_floating_point_is_refused_in_words(compute, words):
    with pytest.raises(ValueError, match=words):
        compute()


@pytest.mark.parametrize("figures", [(0, 220, 360), (290, 360, 220), (290, 0, 360)])
def test_an_impossible_handbook_range_is_refused(figures):
    with pytest.raises(ValueError):
        unit_slip(*figures)


def test_a_number_too_large_to_calculate_is_refused_by_name():
    assert check_finite("mass", lambda: 2.5 * 2) == 5.0
    for compute in (lambda: 1e308 * 10, lambda: 10.0**400):
        with pytest.raises(ValueError, match="The mass is too large"):
            check_finite("mass", compute)
