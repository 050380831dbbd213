"""The words beside growth: its sentences, and how each number is made.

Source
------
Definition of this programme: its sentences and terms.
"""

from plantings.calc.growth.growth import Grown, Growth, GrowthGroup
from plantings.calc.results import Difference
from registry.calc.shared.worded import Worded, counted, worded


def rounded(value: float, *ends: float) -> str:
    """A mean with three figures or more: 9.46, 42.3, 143; with its sign where it is below 0.

    Parameters
    ----------
    value : float
        In the unit of the measurement.
    *ends : float
        Of its interval: the largest number of all sets the decimals, so that a value and its interval have the same.
    """
    largest = max(abs(number) for number in (value, *ends))
    decimals = 0 if largest >= 99.95 else 1 if largest >= 9.995 else 2
    text = f"{abs(value):,.{decimals}f}"
    return f"−{text}" if value < 0 and float(text.replace(",", "")) else text


def _interval(found: Grown | Difference, value: float) -> tuple[str, str, str]:
    """The value and the ends of its interval."""
    every = (value, found.low, found.high)
    return tuple(rounded(number, *every) for number in every)


def grown_words(grown: Grown) -> Worded:
    """As "143 (120 to 166), n 96", or with the reason in place of the interval."""
    if grown.low is None or grown.high is None:
        return worded("%(mean)s (%(reason)s), n %(n)s", mean=rounded(grown.mean), reason=worded(grown.reason), n=grown.n)
    mean, low, high = _interval(grown, grown.mean)
    return worded("%(mean)s (%(low)s to %(high)s), n %(n)s", mean=mean, low=low, high=high, n=grown.n)


def difference_of(grown: Grown) -> str:
    """The difference from the native check as "+12.0 (−5.1 to +29.1)"; "" where there is none."""
    difference = grown.difference
    if difference is None or difference.estimate is None:
        return ""
    if difference.low is None or difference.high is None:
        return worded("%(estimate)s (%(reason)s)", estimate=_signed(rounded(difference.estimate)), reason=worded(difference.reason))
    estimate, low, high = map(_signed, _interval(difference, difference.estimate))
    return worded("%(estimate)s (%(low)s to %(high)s)", estimate=estimate, low=low, high=high)


def _signed(text: str) -> str:
    return text if text.startswith("−") or not float(text.replace(",", "")) else f"+{text}"


def growth_sentence(found: Growth, group: GrowthGroup, name: str, unit: str) -> Worded:
    """What the picture says of one lineage at its oldest age."""
    age, grown = found.steps(group)[-1]
    values = {
        "lineage": name, "unit": unit, "seasons": counted(age, "growing seasons"), "trees": counted(grown.n, "trees"),
        "sites": counted(grown.sites, "sites"),
    }  # fmt: skip
    if grown.low is None or grown.high is None:
        words = worded("%(lineage)s: %(mean)s %(unit)s after %(seasons)s, %(trees)s on %(sites)s.", mean=rounded(grown.mean), **values)
    else:
        mean, low, high = _interval(grown, grown.mean)
        words = worded(
            "%(lineage)s: %(mean)s %(unit)s (%(low)s to %(high)s) after %(seasons)s, %(trees)s on %(sites)s.",
            mean=mean, low=low, high=high, **values,
        )  # fmt: skip
    beside = difference_of(grown)
    return worded("%(words)s From the native check: %(difference)s.", words=words, difference=beside) if beside else words


def growth_definitions() -> tuple[tuple[str, str], ...]:
    """How each number of the page is made, with formula and source: (term, sentences)."""
    return (
        (
            worded("Which trees"),
            worded(
                "Trees recorded alive at the last complete census of the age that have a value there; each counts once. The dead are "
                "not in it, so a mean can rise because small trees died: read it beside survival. Diameters taken at different heights "
                "above the ground are in one mean."
            ),
        ),
        (
            worded("Mean and interval"),
            worded(
                "From a linear mixed model at each age: value = lineage or kind of check + site + lineage on site + tree. Sites and "
                "reactions are random, with variances fitted by restricted maximum likelihood (Patterson & Thompson 1971). The mean is "
                "that expected on an average site, so lineages on good sites gain nothing. The 95 %% interval takes t at the number "
                "of sites less one (containment), which is on the careful side. On one site no interval can be told."
            ),
        ),
        (
            worded("Whether the model describes the means"),
            worded(
                "Each mean of a lineage on a site is set beside what the model expects of it from all others (Haslett & Hayes 1998). The "
                "model fails where more lie beyond two standard errors than chance allows (Poisson), the furthest is too far after "
                "Bonferroni, or the residuals are skewed (D'Agostino 1970), each with p under 0.017. A right model fails less often than 5 "
                "times in 100. Fewer than 30 means cannot tell. A lineage on one site cannot be checked."
            ),
        ),
        (
            worded("From the native check"),
            worded("The difference of the two means of the model with its 95 %% interval, by the fewer sites of both."),
        ),
        (
            worded("Without a model"),
            worded(
                "With fewer than three sites, or where no two trees of a lineage on one site differ, the mean is that of the trees and "
                "its interval from the spread of the sites (CR2 variance, Bell & McCaffrey 2002). The page says at which ages."
            ),
        ),
        (
            worded("Tried on simulated programmes"),
            worded(
                "The intervals of means and of differences held the truth in 97 to 99 of 100 cases on 8 sites, and in 95 without a "
                "model on 2 sites."
            ),
        ),
        (
            worded("From age to age"),
            worded(
                "Each age has the plantings with a complete census of it, so two dots of a line are not of the same trees. A line "
                "between them helps the eye and says nothing about the years between."
            ),
        ),
    )
