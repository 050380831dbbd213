"""How far two people agree who recorded the same trees in one round, in sentences for the review of that round."""

from collections.abc import Sequence

from plantings.calc.arrival.agreement import (
    LINEAR,
    UNWEIGHTED,
    BiasAndSpread,
    Kappa,
    bias_and_spread,
    class_agreement,
    intraclass_correlations,
)
from plantings.calc.census.codes import STATUSES
from plantings.calc.census.measurements import MEASUREMENTS, Measurement
from plantings.calc.census.rows import SeenRow
from registry.calc.shared.screen import amount_words


def agreement_lines(pairs: Sequence[tuple[SeenRow, SeenRow]]) -> tuple[str, ...]:
    """A sentence for the status, and for each measurement that both records of at least one tree have.

    Parameters
    ----------
    pairs : sequence of (first, second) record of one tree, or records with the same fields

    Source
    ------
    `class_agreement`, `bias_and_spread`, `intraclass_correlations`; classes in their order with linear weights.

    Examples
    --------
    >>> tree = dict(observed_on=None, height_cm=112.0)
    >>> agreement_lines([(SeenRow(status="A", **tree), SeenRow(status="A", **tree | {"height_cm": 110.0}))])[1]
    'Height: second less first −2 cm, 1 tree.'
    """
    if not pairs:
        return ()
    codes = [code for code, _, _ in STATUSES]
    lines = [f"Status: {kappa_words(class_agreement([(one.status, other.status) for one, other in pairs], codes, UNWEIGHTED))}."]
    for item in MEASUREMENTS:
        values = [tuple(getattr(record, item.field) for record in pair) for pair in pairs]
        both = [pair for pair in values if not {None, ""} & set(pair)]
        if both and item.classes:
            lines.append(f"{item.short_label}: {kappa_words(class_agreement(both, item.codes, LINEAR))}.")
        elif both:
            lines.append(f"{item.label}: {bias_words(bias_and_spread(both), item)}{_correlation_words(both)}.")
    return tuple(lines)


def kappa_words(found: Kappa) -> str:
    """Raw agreement and kappa with its interval, both -1 to 1, in one line.

    Source
    ------
    `class_agreement`

    Examples
    --------
    >>> kappa_words(class_agreement([("A", "A"), ("A", "D"), ("D", "D")], ("A", "D")))
    '2 of 3 trees the same; kappa 0.40 (−0.37 to 1.00)'
    """
    agreed = f"{found.agreed:,} of {amount_words(found.pairs, 'trees')} the same"
    if found.estimate is None:
        return f"{agreed}; kappa: {found.reason}"
    return f"{agreed}; kappa {_signed(found.estimate)} ({_signed(found.low)} to {_signed(found.high)})"


def bias_words(found: BiasAndSpread, item: Measurement) -> str:
    """Bias and limits of agreement of a measurement in its unit, in one line. At least one pair.

    Source
    ------
    `bias_and_spread`

    Examples
    --------
    >>> from plantings.calc.census.measurements import HEIGHT
    >>> bias_words(bias_and_spread([(100, 102), (150, 149), (200, 202)]), HEIGHT)
    'second less first 1 cm, 95 % of the differences from −2.4 to 4.4 cm, 3 trees'
    """
    trees = amount_words(found.pairs, "trees")
    words = f"second less first {_short(found.bias)} {item.unit}"
    if found.spread is None:
        return f"{words}, {trees}"
    return f"{words}, 95 % of the differences from {_short(found.low)} to {_short(found.high)} {item.unit}, {trees}"


def _correlation_words(both: Sequence[tuple[float, float]]) -> str:
    found = intraclass_correlations([[float(value) for value in pair] for pair in both]).two_way
    return "" if found.estimate is None else f", intraclass correlation {found.estimate:.3f}".replace("-", "−")


def _signed(share: float) -> str:
    return f"{share:.2f}".replace("-", "−")


def _short(value: float) -> str:
    return f"{round(value, 1):g}".replace("-", "−")
