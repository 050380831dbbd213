"""Mixtures of labels, such as sources of resistance: parts that sum to 1, and the words they are shown and grouped by."""

from collections import defaultdict
from collections.abc import Mapping
from fractions import Fraction

from registry.calc.shared.marked import gettext_noop

NOT_STATED = gettext_noop("not stated")
SILENT = {NOT_STATED: Fraction(1)}
_EXACT_MAX = 16
_DENOMINATORS = (8, 16, 32, 64)
_LABELS_MAX = 4


def blended_labels(parts: list[tuple[Mapping[str, Fraction], Fraction | int]]) -> dict[str, Fraction]:
    """One mixture of several, by weight: the components of a bulk by their counts. An empty one counts as `NOT_STATED`.

    Parameters
    ----------
    parts : list of (mixture, weight)
        A mixture is a mapping of label to Fraction that sums to 1. Weights are 0 or more (counts, say), one above 0.

    Returns
    -------
    dict of label to Fraction
        Sums to 1.

    Raises
    ------
    ValueError
        When the weights are all 0, or one is negative.

    Source
    ------
    Weighted mean of shares: arithmetic, no source.

    Examples
    --------
    >>> blended_labels([({"L7": Fraction(1)}, 300), ({"L9": Fraction(1)}, 100)])
    {'L7': Fraction(3, 4), 'L9': Fraction(1, 4)}
    """
    total = sum(weight for _, weight in parts)
    if not total or min(weight for _, weight in parts) < 0:
        raise ValueError("The weights are all 0, or one is negative. Give 0 or more, one of them above 0.")
    found: defaultdict[str, Fraction | int] = defaultdict(int)
    for mixture, weight in parts:
        for label, share in (mixture or SILENT).items():
            found[label] += weight if share == 1 else share * weight
    return {label: Fraction(weight) / total for label, weight in found.items()}


def mixture_label(mixture: Mapping[str, Fraction]) -> str:
    """The label a mixture is shown and grouped by: “Heron”, or “mixed (Heron 3/4, Otter 1/4)”.

    Parameters
    ----------
    mixture : mapping of label to share
        Summing to 1; empty is `NOT_STATED`.

    Returns
    -------
    str
        Largest share first, then by name, what is not stated last; of more than four the smaller ones together as “others”. When
        a denominator is above 16, all are rounded to eighths that sum to 1 and those that changed are marked “about”, so that a pool
        that loses a tree has the same label. Where a part would round to 0, steps of 1/16, 1/32 or at the finest 1/64 are used.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> mixture_label({"Otter": Fraction(1, 4), "Heron": Fraction(3, 4)}), mixture_label({"L7": Fraction(21, 40), "L9": Fraction(19, 40)})
    ('mixed (Heron 3/4, Otter 1/4)', 'mixed (L7 about 1/2, L9 about 1/2)')
    """
    parts = [(label, share) for label, share in mixture.items() if share]
    if len(parts) <= 1:
        return parts[0][0] if parts else NOT_STATED
    parts.sort(key=lambda part: (part[0] == NOT_STATED, -part[1], part[0]))
    if len(parts) > _LABELS_MAX:
        parts = _largest(parts)
    if len(parts) == 1:
        return f"mixed ({parts[0][0]})"
    words = _shares_words([share for _, share in parts])
    return f"mixed ({', '.join(f'{label} {share}' for (label, _), share in zip(parts, words, strict=True))})"


def _largest(parts):
    """The parts to be named, then the others together. Equal shares are named or left out together, whatever their names."""
    named = [part for part in parts if part[0] != NOT_STATED]
    limit = named[_LABELS_MAX - 1][1] if len(named) >= _LABELS_MAX else Fraction(0)
    kept = [part for part in named if part[1] > limit]
    others = sum((share for _, share in named), Fraction(0)) - sum((share for _, share in kept), Fraction(0))
    silent = [part for part in parts if part[0] == NOT_STATED]
    if not kept:
        return [(f"{len(named)} together", others), *silent]
    return [*kept, ("others", others), *silent]


def _shares_words(shares):
    """The words of shares that sum to 1, so that what is printed sums to 1 too, and no part is left without a share."""
    if all(share.denominator <= _EXACT_MAX for share in shares):
        return [str(share) for share in shares]
    for denominator in _DENOMINATORS:
        units = _units(shares, denominator)
        if all(units):
            break
    while 0 in units:  # a part smaller than the finest step counts as one step, taken from the largest
        units[units.index(max(units))] -= 1
        units[units.index(0)] = 1
    return [_rounded_words(share, Fraction(unit, denominator)) for share, unit in zip(shares, units, strict=True)]


def _units(shares, denominator):
    """Whole units that sum to the denominator: what is left over goes to the largest remainders first."""
    units = [share * denominator // 1 for share in shares]
    by_remainder = sorted(range(len(shares)), key=lambda place: units[place] - shares[place] * denominator)
    for place in by_remainder[: denominator - sum(units)]:
        units[place] += 1
    return units


def _rounded_words(share, rounded):
    return str(rounded) if rounded == share else f"about {rounded}"
