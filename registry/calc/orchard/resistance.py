"""Resistance from unlinked, incompletely dominant loci: what to expect of any cross, in exact shares.

At each locus a tree has 0, 1 or 2 alleles for resistance. One at every locus makes it intermediate; only two at every locus
let it show the full resistance of the donor. Common practice of breeding with a resistant donor, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import prod

from registry.calc.pedigree.generation import Generation
from registry.calc.pedigree.seedlings_needed import seeds_needed

LOCI_MAX = 20


@dataclass(frozen=True, slots=True)
class CrossClasses:
    """What a cross gives on average. All are exact shares of the progeny.

    Parameters
    ----------
    alleles : tuple of Fraction, length 2k + 1
        Share with 0, 1 … 2k alleles for resistance over all k loci; sums to 1.
    carrying_all : Fraction
        Share with at least one allele at every locus.
    full : Fraction
        Share with two alleles at every locus: the only ones that can show full resistance.
    """

    alleles: tuple[Fraction, ...]
    carrying_all: Fraction
    full: Fraction

    @property
    def intermediate(self) -> Fraction:
        """Share with at least one allele at every locus, but not two at all."""
        return self.carrying_all - self.full

    @property
    def mean_alleles(self) -> Fraction:
        return sum((number * share for number, share in enumerate(self.alleles)), Fraction(0))


def generation_genotype(generation: Generation, loci: int) -> tuple[int, ...]:
    """Alleles for resistance at each locus of the best tree a generation can hold: the one a programme selects.

    Parameters
    ----------
    generation : Generation
    loci : int, 1 to 20

    Returns
    -------
    tuple of int
        Native 0, donor 2. F1 and any backcross generation 1: one parent is fully susceptible. From the first intercross on 2.

    Raises
    ------
    ValueError
        When the generation is another word, or the number of loci is outside its range.

    Source
    ------
    Common practice, no source: a selected tree of the generation, not an average one.

    Examples
    --------
    >>> [generation_genotype(Generation(*counts), 3) for counts in ((0, 0), (3, 0), (3, 1))]
    [(1, 1, 1), (1, 1, 1), (2, 2, 2)]
    """
    _check_loci(loci)
    if generation.code in ("native", "donor"):
        return (0 if generation.code == "native" else 2,) * loci
    if generation.backcrosses is None:
        raise ValueError(f"“{generation.code}” does not say how many alleles a tree has. Give a generation such as B3, or the alleles.")
    return (2 if generation.intercrosses else 1,) * loci


def cross_classes(mother: Sequence[int], father: Sequence[int]) -> CrossClasses:
    """What to expect of a cross between two trees of known genotype.

    Parameters
    ----------
    mother, father : sequence of int, equally long (1 to 20 loci)
        Alleles for resistance at each locus: 0, 1 or 2. The same tree twice is a selfing.

    Returns
    -------
    CrossClasses

    Raises
    ------
    ValueError
        When the parents differ in the number of loci, or a number of alleles is not 0, 1 or 2.

    Source
    ------
    Mendel 1866, Verh. naturf. Ver. Brünn 4:3-47 (from memory): independent loci, here unlinked.

    Examples
    --------
    >>> backcross = cross_classes((1, 1, 1), (0, 0, 0))
    >>> backcross.carrying_all, backcross.full
    (Fraction(1, 8), Fraction(0, 1))
    """
    if len(mother) != len(father):
        raise ValueError(f"The mother has {len(mother)} loci and the father {len(father)}. Give both the same number.")
    _check_loci(len(mother))
    for role, alleles in (("mother", mother), ("father", father)):
        for place, number in enumerate(alleles, start=1):
            if number not in (0, 1, 2):
                raise ValueError(f"The {role} has {number} alleles at locus {place}. Give 0, 1 or 2.")
    loci = [_offspring(*pair) for pair in zip(mother, father, strict=True)]
    total = [Fraction(1)]
    for locus in loci:
        total = _added(total, locus)
    return CrossClasses(
        tuple(total), prod((1 - locus[0] for locus in loci), start=Fraction(1)), prod((locus[2] for locus in loci), start=Fraction(1))
    )


def _offspring(mother, father):
    """Shares of the offspring with 0, 1 and 2 alleles at one locus."""
    a, b = Fraction(mother, 2), Fraction(father, 2)
    return ((1 - a) * (1 - b), a + b - 2 * a * b, a * b)


def _added(total, locus):
    """Distribution of the sum of two independent numbers of alleles."""
    padded = [Fraction(0), Fraction(0), *total, Fraction(0), Fraction(0)]
    return [sum(locus[number] * padded[place + 2 - number] for number in range(3)) for place in range(len(total) + 2)]


def seeds_to_grow(
    wanted_share: Fraction, at_least: int = 1, confidence: float = 0.95, germination: float = 1, surviving: float = 1, kept: float = 1
) -> int:  # fmt: skip
    """Fewest seeds to sow so that at least r trees with what is wanted are kept, with the given confidence.

    Parameters
    ----------
    wanted_share : Fraction
        From `CrossClasses`, such as its `full`.
    at_least, confidence, germination, surviving
        As `seeds_needed`.
    kept : float, above 0 up to 1
        Share of the wanted trees that are also kept for other reasons, such as form.

    Returns
    -------
    int, seeds

    Raises
    ------
    ValueError
        When a value is outside its range; also when the cross cannot give a wanted tree at all.

    Source
    ------
    Sedcole 1977, Crop Sci. 17:667-668, the exact method.

    Examples
    --------
    >>> seeds_to_grow(cross_classes((1, 1), (1, 1)).full)
    47
    """
    if wanted_share == 0:
        raise ValueError("No tree of this cross can carry what is wanted, however many are grown. Choose other parents.")
    if not 0 < kept <= 1:
        raise ValueError(f"The share kept is {kept}. Give a share above 0 and up to 1.")
    return seeds_needed(wanted_share * Fraction(str(kept)), at_least, confidence, germination, surviving)


def expected_selected(seeds: int, kept: Fraction | float, germination: float = 1, surviving: float = 1) -> Fraction:
    """Expected number of trees kept when a share of the living ones is selected.

    Parameters
    ----------
    seeds : int, 0 or more
        Sown.
    kept : Fraction or float, 0 to 1
        The selection fraction. Floats are taken as they are written.
    germination, surviving : float, 0 to 1

    Returns
    -------
    Fraction, trees

    Raises
    ------
    ValueError
        When a value is outside its range.

    Source
    ------
    Mean of a binomial count: elementary probability, no source.

    Examples
    --------
    >>> expected_selected(160, Fraction(1, 8), germination=0.5)
    Fraction(10, 1)
    """
    if seeds < 0:
        raise ValueError(f"The number of seeds is {seeds}. Give 0 or more.")
    for name, share in (("share kept", kept), ("germination", germination), ("share surviving", surviving)):
        if not 0 <= share <= 1:
            raise ValueError(f"The {name} is {share}. Give a share from 0 to 1.")
    return seeds * prod((Fraction(str(share)) for share in (kept, germination, surviving)), start=Fraction(1))


def programme_steps(loci: int, backcrosses: int) -> list[tuple[str, CrossClasses]]:
    """The crosses of a backcross programme, one after the other, each between the best trees the step before can give.

    Parameters
    ----------
    loci : int, 1 to 20
    backcrosses : int, 1 or more

    Returns
    -------
    list of (generation code of the progeny, CrossClasses)
        F1, each backcross to a fully susceptible tree, the intercross of two selected backcross trees, then the intercross of two of its
        selected trees.

    Raises
    ------
    ValueError
        When a number is outside its range.

    Source
    ------
    Common practice, no source.

    Examples
    --------
    >>> [(code, str(step.carrying_all), str(step.full)) for code, step in programme_steps(3, 1)]
    [('F1', '1', '0'), ('B1', '1/8', '0'), ('B1F2', '27/64', '1/64'), ('B1F3', '1', '1')]
    """
    _check_loci(loci)
    if backcrosses < 1:
        raise ValueError(f"The number of backcrosses is {backcrosses}. Give 1 or more.")
    generations = [Generation(None, None, "donor"), *(Generation(t, 0) for t in range(backcrosses + 1)), Generation(backcrosses, 1)]
    native = generation_genotype(Generation(None, None, "native"), loci)
    steps = [(child.code, cross_classes(native, generation_genotype(parent, loci))) for parent, child in pairwise(generations[:-1])]
    for parent in generations[-2:]:
        genotype = generation_genotype(parent, loci)
        steps.append((Generation(backcrosses, parent.intercrosses + 1).code, cross_classes(genotype, genotype)))
    return steps


def _check_loci(loci):
    if not 1 <= loci <= LOCI_MAX:
        raise ValueError(f"The number of loci is {loci}. Give 1 to {LOCI_MAX}.")
