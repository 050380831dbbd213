"""The mass of seeds: moisture, eight weighings of 100 seeds, and from a count to a mass and back."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from registry.calc.lots.checked_numbers import check_finite, check_positive
from registry.calc.shared.screen import number_words

CV_LIMIT_PERCENT = 4.0
CV_LIMIT_CHAFFY_PERCENT = 6.0
CV_SOURCE = "ISTA chapter 10, from memory: check it against the printed rules"
GRAMS_PER_POUND = 453.59237
GRAMS_PER_OUNCE = GRAMS_PER_POUND / 16
_SLIPS = (
    (1000, "The mass looks like kilograms written as grams, or the other way round."),
    (GRAMS_PER_POUND, "The mass looks like pounds written as grams, or the other way round."),
    (GRAMS_PER_OUNCE, "The mass looks like ounces written as grams, or the other way round."),
    (10, "Count and mass may be ten times apart: look for a missing zero."),
)
_NO_SLIP = "Check the count, the mass and its unit."


@dataclass(frozen=True, slots=True)
class SeedMass:
    """Eight weighings of 100 seeds: mean and spread, mass of 1,000 seeds, seeds in a kilogram, and whether the spread is tolerated."""

    mean_g: float
    sd_g: float
    cv_percent: float
    limit_percent: float
    within: bool
    thousand_seed_mass_g: float
    seeds_per_kg: float
    message: str


def moisture_share(container_g: float, with_fresh_g: float, with_dry_g: float) -> float:
    """Moisture of seed on the wet basis, from three weighings: container, with fresh seed, with the seed dried.

    Parameters
    ----------
    container_g, with_fresh_g, with_dry_g : float, gram
        Container empty (0 or more), with the fresh seed, with the same seed dried.

    Returns
    -------
    float, 0 to 1
        Water of the mass of the fresh seed.

    Raises
    ------
    ValueError
        When the weights are not in the order container < with dry <= with fresh; it says which two to look at.

    Source
    ------
    ISTA chapter 9: (M2 - M3) / (M2 - M1) (formula from memory).

    Examples
    --------
    >>> round(moisture_share(10.0, 15.0, 13.25), 4)
    0.35
    """
    for name, mass in (("container", container_g), ("container with fresh seed", with_fresh_g), ("container with dry seed", with_dry_g)):
        check_positive(name, mass, "g", zero_too=name == "container")
    if with_dry_g > with_fresh_g:
        raise ValueError(f"Dry ({with_dry_g:g} g) weighs more than fresh ({with_fresh_g:g} g). Check whether the two are swapped.")
    if with_dry_g <= container_g:
        raise ValueError(
            f"Container with dry seed ({with_dry_g:g} g) weighs no more than the container ({container_g:g} g). "
            "Check whether the container's weight was already taken off."
        )
    return (with_fresh_g - with_dry_g) / (with_fresh_g - container_g)


def seed_mass(masses_g: Sequence[float], chaffy: bool = False) -> SeedMass:
    """Mass of seeds from eight weighings of 100 seeds each, with the limit of their spread.

    Parameters
    ----------
    masses_g : sequence of 8 floats, gram
    chaffy : bool
        Seed with wings or hairs, whose weighings may differ more.

    Returns
    -------
    SeedMass
        Mean, spread and seeds per kilogram; `within` says whether the weighings agree.

    Raises
    ------
    ValueError
        When there are not eight weighings, or one is not above 0.

    Source
    ------
    ISTA chapter 10: coefficient of variation at most 4.0, chaffy seed 6.0 (from memory).

    Examples
    --------
    >>> round(seed_mass([340.0, 345.0, 338.0, 350.0, 342.0, 336.0, 347.0, 341.0]).seeds_per_kg, 1)
    292.1
    """
    if len(masses_g) != 8:
        raise ValueError(f"{len(masses_g)} weighings are given. Weigh eight replicates of 100 seeds.")
    for number, mass in enumerate(masses_g, start=1):
        check_positive(f"weighing {number}", mass, "g")
    mean, sd = fmean(masses_g), stdev(masses_g)
    cv, limit = 100 * sd / mean, CV_LIMIT_CHAFFY_PERCENT if chaffy else CV_LIMIT_PERCENT
    within = cv <= limit
    message = (
        f"The weighings agree: their coefficient of variation is {cv:.1f} %, {limit:g} % is tolerated."
        if within
        else f"Weigh eight more replicates: the coefficient of variation is {cv:.1f} %, only {limit:g} % is tolerated."
    )
    return SeedMass(mean, sd, cv, limit, within, 10 * mean, 100_000 / mean, message)


def seeds_per_kg(seeds: int, mass_g: float) -> float:
    """Seeds in a kilogram, from a counted and weighed sample.

    Parameters
    ----------
    seeds : int, 1 or more
    mass_g : float, gram, above 0

    Returns
    -------
    float, above 0

    Raises
    ------
    ValueError
        When seeds is below 1 or the mass is not above 0.

    Source
    ------
    Definition of the unit: 1 kg is 1,000 g; no source needed beyond it.

    Examples
    --------
    >>> seeds_per_kg(50, 172.5)
    289.8550724637681
    """
    if seeds < 1:
        raise ValueError(f"The number of seeds is {seeds}. Give 1 or more.")
    check_positive("mass", mass_g, "g")
    return 1000 * seeds / mass_g


def mass_of_seeds_g(seeds: int, per_kg: float) -> float:
    """Mass of a number of seeds by the lot's own seeds per kilogram, gram.

    Parameters
    ----------
    seeds : int, 0 or more
    per_kg : float, above 0
        Seeds per kilogram of the lot.

    Returns
    -------
    float, gram

    Raises
    ------
    ValueError
        When seeds is below 0, per_kg is not above 0, or the mass is too large for a floating point number.

    Source
    ------
    Definition of the unit: 1 kg is 1,000 g; no source needed beyond it.

    Examples
    --------
    >>> mass_of_seeds_g(145, 290)
    500.0
    """
    if seeds < 0:
        raise ValueError(f"The number of seeds is {seeds}. Give 0 or more.")
    check_positive("number of seeds per kg", per_kg, "")
    return check_finite("mass", lambda: 1000 * seeds / per_kg)


def seeds_of_mass(mass_g: float, per_kg: float) -> int:
    """Number of seeds in a mass by the lot's own seeds per kilogram, to the nearest whole seed, halves up.

    Parameters
    ----------
    mass_g : float, gram, 0 or more
    per_kg : float, above 0
        Seeds per kilogram of the lot.

    Returns
    -------
    int, seeds

    Raises
    ------
    ValueError
        When the mass is below 0, per_kg is not above 0, or the number is too large for a floating point number.

    Source
    ------
    Definition of the unit: 1 kg is 1,000 g; no source needed beyond it.

    Examples
    --------
    >>> seeds_of_mass(500, 290)
    145
    """
    check_positive("mass", mass_g, "g", zero_too=True)
    check_positive("number of seeds per kg", per_kg, "")
    return int(check_finite("number of seeds", lambda: mass_g * per_kg / 1000) + 0.5)


def unit_slip(per_kg: float, low_per_kg: float, high_per_kg: float) -> str:
    """Words for a number of seeds per kilogram far outside its handbook range, naming the unit that was probably mixed up; or "".

    Parameters
    ----------
    per_kg : float
        As counted and weighed.
    low_per_kg, high_per_kg : float
        Of the species. Half the low and twice the high figure still count as plausible: lots differ.

    Returns
    -------
    str
        One or two sentences; "" when the number is plausible.

    Raises
    ------
    ValueError
        When a value is not above 0 or low is above high.

    Source
    ------
    1 lb = 453.59237 g (definition of 1959); the half and the double are common practice, no source.

    Examples
    --------
    >>> unit_slip(290, 220, 360)
    ''
    >>> unit_slip(0.29, 220, 360)[:62]
    '0.29 seeds per kg is far from the 220 to 360 of the handbook. '
    """
    for name, value in (("seeds per kg", per_kg), ("low figure", low_per_kg), ("high figure", high_per_kg)):
        check_positive(name, value, "")
    if low_per_kg > high_per_kg:
        raise ValueError(f"The low figure {low_per_kg:g} is above the high figure {high_per_kg:g}. Exchange them.")
    if low_per_kg / 2 <= per_kg <= 2 * high_per_kg:
        return ""
    words = next((words for factor, words in _SLIPS if _fits_by(factor, per_kg, low_per_kg, high_per_kg)), _NO_SLIP)
    book = f"{number_words(low_per_kg)} to {number_words(high_per_kg)}"
    return f"{number_words(per_kg)} seeds per kg is far from the {book} of the handbook. {words}"


def _fits_by(factor, per_kg, low, high):
    return any(low / 1.2 <= value <= high * 1.2 for value in (per_kg * factor, per_kg / factor))
