"""How many seedlings to grow so that enough of them carry what is wanted: exact, not the normal approximation."""

from fractions import Fraction


def share_carrying_all(loci: int, intercross: bool = False) -> Fraction:
    """Share of a family that has every wanted allele: one copy of each after a backcross, two after an intercross.

    Parameters
    ----------
    loci : int, 0 or more
        Unlinked loci at which the parent (in an intercross both parents) carries one wanted allele.
    intercross : bool
        False: backcross to trees without the alleles, 1/2^k carry one of each. True: both parents carry
        one of each, 1/4^k are homozygous for all.

    Returns
    -------
    Fraction, above 0 up to 1

    Raises
    ------
    ValueError
        When loci is negative.

    Source
    ------
    Mendel 1866 for independent loci; Sprague & Burnham's use for backcrossing (both from memory).

    Examples
    --------
    >>> share_carrying_all(3), share_carrying_all(3, intercross=True)
    (Fraction(1, 8), Fraction(1, 64))
    """
    if loci < 0:
        raise ValueError(f"The number of loci is {loci}. Give 0 or more.")
    return Fraction(1, (4 if intercross else 2) ** loci)


def plants_needed(wanted_share: Fraction | float, at_least: int = 1, confidence: float = 0.95) -> int:
    """Fewest plants that hold at least r wanted ones with the given confidence.

    Parameters
    ----------
    wanted_share : Fraction or float, above 0 up to 1
        Share of plants that are wanted. Floats are taken as they are written: 0.1 is 1/10.
    at_least : int, 1 or more
        Wanted plants, r.
    confidence : float, above 0 and below 1

    Returns
    -------
    int
        Smallest n with P(X >= r) >= confidence, X binomial (n, wanted_share), in whole numbers throughout.

    Raises
    ------
    ValueError
        When a value is outside its range.

    Source
    ------
    Sedcole 1977, Crop Sci. 17:667-668, the exact method.

    Examples
    --------
    >>> plants_needed(Fraction(1, 8)), plants_needed(Fraction(1, 4), at_least=5, confidence=0.99)
    (23, 43)
    """
    share, sure = _fraction(wanted_share), _fraction(confidence)
    if not 0 < share <= 1:
        raise ValueError(f"The wanted share is {wanted_share}. Give a share above 0 and up to 1.")
    if at_least < 1:
        raise ValueError(f"The plants wanted are {at_least}. Give 1 or more.")
    if not 0 < sure < 1:
        raise ValueError(f"The confidence is {confidence}. Give a number between 0 and 1, such as 0.95.")
    too_few, enough = at_least - 1, at_least
    while not _is_enough(enough, share, at_least, sure):
        too_few, enough = enough, 2 * enough
    while enough - too_few > 1:
        middle = (too_few + enough) // 2
        if _is_enough(middle, share, at_least, sure):
            enough = middle
        else:
            too_few = middle
    return enough


def seeds_needed(
    wanted_share: Fraction | float, at_least: int = 1, confidence: float = 0.95, germination: float = 1, surviving: float = 1
) -> int:  # fmt: skip
    """Fewest seeds to sow so that at least r wanted plants are left at the end, with the given confidence.

    Parameters
    ----------
    wanted_share, at_least, confidence
        As `plants_needed`.
    germination, surviving : float, above 0 up to 1
        Share of seeds that germinate; share of germinants that live until they are judged. Each seed is
        taken as independent of the others and of what it carries.

    Returns
    -------
    int, seeds

    Raises
    ------
    ValueError
        When a value is outside its range.

    Source
    ------
    Sedcole 1977, Crop Sci. 17:667-668, with the share of plants times the share of seeds that become plants.

    Examples
    --------
    >>> seeds_needed(Fraction(1, 4), germination=0.5)
    23
    """
    for name, share in (("germination", germination), ("share surviving", surviving)):
        if not 0 < share <= 1:
            raise ValueError(f"The {name} is {share}. Give a share above 0 and up to 1.")
    return plants_needed(_fraction(wanted_share) * _fraction(germination) * _fraction(surviving), at_least, confidence)


def _fraction(number):
    return Fraction(number) if isinstance(number, int | Fraction) else Fraction(str(number))


def _is_enough(n, share, at_least, sure):
    """Whether P(X < r) <= 1 - confidence, both sides multiplied by the denominators."""
    wanted, whole = share.numerator, share.denominator
    rest = whole - wanted
    if not rest:
        return n >= at_least
    term = below = rest**n
    for k in range(min(at_least - 1, n)):
        term = term * (n - k) * wanted // ((k + 1) * rest)  # leaves no remainder: the next binomial term is whole
        below += term
    return below * sure.denominator <= (sure.denominator - sure.numerator) * whole**n
