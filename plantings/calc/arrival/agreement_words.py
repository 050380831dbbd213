"""How far two people agree who recorded the same trees in one round, in sentences for the review of that round."""

from collections.abc import Sequence

from plantings.calc.arrival.agreement import BiasAndSpread, Kappa
from plantings.calc.arrival.agreement_of_classes import LINEAR, UNWEIGHTED, class_agreement
from plantings.calc.arrival.agreement_of_readings import bias_and_spread, intraclass_correlations
from plantings.calc.census.codes import STATUSES
from plantings.calc.census.measurements import MEASUREMENTS, Measurement, value_of
from plantings.calc.census.rows import SeenRow
from registry.calc.shared.worded import counted, worded


def agreement_lines(pairs: Sequence[tuple[SeenRow, SeenRow]], own: Sequence[Measurement] = ()) -> tuple[str, ...]:
    """A sentence for the status, and for each measurement that both records of at least one tree have.

    Parameters
    ----------
    pairs : sequence of (first, second) record of one tree, or records with the same fields
    own : sequence of Measurement
        The programme's own that the round asks for.

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
    for item in (*MEASUREMENTS, *own):
        values = [tuple(value_of(record, item) for record in pair) for pair in pairs]
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
    agreed = worded("%(agreed)s of %(trees)s the same", agreed=found.agreed, trees=counted(found.pairs, "trees"))
    if found.estimate is None:
        return worded("%(agreed)s; kappa: %(reason)s", agreed=agreed, reason=worded(found.reason))
    if found.low is None:
        estimate = _signed(found.estimate)
        return worded("%(agreed)s; kappa %(estimate)s: %(reason)s", agreed=agreed, estimate=estimate, reason=worded(found.reason))
    ends = {"estimate": _signed(found.estimate), "low": _signed(found.low), "high": _signed(found.high)}
    return worded("%(agreed)s; kappa %(estimate)s (%(low)s to %(high)s)", agreed=agreed, **ends)


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
    values = {"bias": _short(found.bias), "unit": item.unit, "trees": counted(found.pairs, "trees")}
    if found.spread is None:
        return worded("second less first %(bias)s %(unit)s, %(trees)s", **values)
    values |= {"low": _short(found.low), "high": _short(found.high)}
    return worded("second less first %(bias)s %(unit)s, 95 %% of the differences from %(low)s to %(high)s %(unit)s, %(trees)s", **values)


def _correlation_words(both: Sequence[tuple[float, float]]) -> str:
    found = intraclass_correlations([[float(value) for value in pair] for pair in both]).two_way
    return "" if found.estimate is None else f", intraclass correlation {found.estimate:.3f}".replace("-", "−")


def _signed(share: float) -> str:
    return f"{share:.2f}".replace("-", "−")


def _short(value: float) -> str:
    return f"{round(value, 1):g}".replace("-", "−")
