"""Heritability of a trait that is there or not there, such as alive or dead, on the scale of the liability below it."""

from math import pi
from statistics import NormalDist

LOGIT_VARIANCE = pi**2 / 3
_FAMILY_FACTOR = {"half sibs": 4, "full sibs": 2}
_NORMAL = NormalDist()


def liability_factor(incidence: float) -> float:
    """What a heritability on the observed 0/1 scale is multiplied by to give that of the liability: p(1 - p)/z^2.

    Parameters
    ----------
    incidence : float, above 0 and below 1
        Share of trees that show the trait, p.

    Returns
    -------
    float, at least pi/2

    Raises
    ------
    ValueError
        When the incidence is outside its range.

    Source
    ------
    Dempster & Lerner 1950, Genetics 35:212-236, with Robertson's appendix (from memory).

    Examples
    --------
    >>> round(liability_factor(0.5), 6)
    1.570796
    """
    height = threshold_height(incidence)
    return incidence * (1 - incidence) / height**2


def liability_heritability(observed: float, incidence: float) -> float:
    """Heritability of the liability, from that of the observed 0/1 scale.

    Parameters
    ----------
    observed : float, 0 to 1
        Heritability found with the trait coded 0 and 1.
    incidence : float, above 0 and below 1

    Returns
    -------
    float
        May exceed 1 where the observed one is not of additive effects alone, or is badly estimated: it is not cut.

    Raises
    ------
    ValueError
        When a value is outside its range.

    Source
    ------
    Dempster & Lerner 1950, Genetics 35:212-236, with Robertson's appendix (from memory).

    Examples
    --------
    >>> round(liability_heritability(0.25, 0.5), 6)
    0.392699
    """
    if not 0 <= observed <= 1:
        raise ValueError(f"The observed heritability is {observed}. Give a number from 0 to 1.")
    return observed * liability_factor(incidence)


def threshold_height(incidence: float) -> float:
    """Height z of the standard normal curve where it cuts off a share p.

    Parameters
    ----------
    incidence : float, above 0 and below 1
        The share p.

    Returns
    -------
    float, up to 0.399
        In units of 1 / standard deviation.

    Raises
    ------
    ValueError
        When the incidence is not above 0 and below 1.

    Source
    ------
    Falconer & Mackay 1996, Introduction to Quantitative Genetics, ch. 11 (from memory).

    Examples
    --------
    >>> round(threshold_height(0.1), 6)
    0.175498
    """
    if not 0 < incidence < 1:
        raise ValueError(f"The incidence is {incidence}. Give a share above 0 and below 1.")
    return _NORMAL.pdf(_NORMAL.inv_cdf(incidence))


def selection_intensity(kept: float) -> float:
    """Mean superiority of the kept trees, in standard deviations, when the best share p is kept: i = z/p.

    Parameters
    ----------
    kept : float, above 0 and below 1
        The share p of candidates that is kept.

    Returns
    -------
    float, standard deviations

    Raises
    ------
    ValueError
        When the share is not above 0 and below 1.

    Source
    ------
    Falconer & Mackay 1996, Introduction to Quantitative Genetics, ch. 11 (from memory). Many candidates, cut off at one value.

    Examples
    --------
    >>> round(selection_intensity(0.1), 6)
    1.754983
    """
    return threshold_height(kept) / kept


def logit_heritability(family_variance: float, families: str = "half sibs", other_variance: float = 0.0) -> float:
    """Heritability on the logit scale, from the variance among families of a logistic mixed model.

    Parameters
    ----------
    family_variance : float, 0 or more
        On the logit scale.
    families : str
        "half sibs": the family variance is a quarter of the additive one; "full sibs": half of it. Families of open
        pollination are not true half sibs: taken as such, they overstate it.
    other_variance : float, 0 or more
        Of further random effects that count as variation among trees, such as sites.

    Returns
    -------
    float
        Factor x family variance / (family + other + pi^2/3). May exceed 1: it is not cut.

    Raises
    ------
    ValueError
        When a variance is negative or the kind of family unknown.

    Source
    ------
    Common practice for generalised mixed models, pi^2/3 being the variance of the standard logistic distribution; no source.

    Examples
    --------
    >>> round(logit_heritability(0.1), 6)
    0.117999
    """
    if families not in _FAMILY_FACTOR:
        raise ValueError(f"The families are “{families}”. Give one of: {', '.join(_FAMILY_FACTOR)}.")
    for name, variance in (("variance among families", family_variance), ("other variance", other_variance)):
        if not variance >= 0:
            raise ValueError(f"The {name} is {variance}. Give 0 or more.")
    return _FAMILY_FACTOR[families] * family_variance / (family_variance + other_variance + LOGIT_VARIANCE)
