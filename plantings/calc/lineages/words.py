"""The words beside a comparison of lineages: its sentences, why nothing more can be told, and how each number is made.

Source
------
Definition of this programme: its sentences and terms.
"""

from plantings.calc.lineages.compare import BETA, MODEL, Comparison, LineageRow
from plantings.calc.lineages.lineage_model import BLOCK, LINEAGE, REACTION, SITE
from plantings.calc.results import Difference
from plantings.calc.survival.table import ROLE_WORDS
from registry.calc.shared.screen import amount_words, list_words

SURE_FROM = 0.95
_FACTORS = {SITE: "site", BLOCK: "planting within a site", LINEAGE: "lineage", REACTION: "the reaction of a lineage to a site"}


def signed(value: float) -> str:
    """A difference of two shares with its sign: +0.12, −0.05, 0.00.

    Parameters
    ----------
    value : float, -1 to 1
    """
    sign = "" if round(value, 2) == 0 else "+" if value > 0 else "−"
    return f"{sign}{abs(value):.2f}"


def difference_range(difference: Difference | None) -> str:
    """As "+0.12 (−0.05 to +0.29)"; "" where there is none."""
    if difference is None or difference.estimate is None:
        return ""
    if difference.low is None or difference.high is None:
        return signed(difference.estimate)
    return f"{signed(difference.estimate)} ({signed(difference.low)} to {signed(difference.high)})"


def lineage_sentence(one: LineageRow) -> str:
    """What the picture says of one lineage, in words."""
    difference = one.row.difference
    common = sum(mark.difference is not None for mark in one.sites)
    where = f"over {amount_words(common, 'sites')}"
    if difference is None or difference.estimate is None or difference.low is None or difference.high is None:
        return f"{one.label}: no difference from the native check can be told."
    low, high = difference.low, difference.high
    if difference.estimate >= 0:
        side, ends, value = "above", (low, high), difference.estimate
    else:
        side, ends, value = "below", (-high, -low), -difference.estimate
    first, last = (f"{end:.2f}" if end >= 0 else f"−{-end:.2f}" for end in ends)
    return f"{one.label} lives {value:.2f} ({first} to {last}) {side} the native check {where}."


def opening_sentence(found: Comparison) -> str:
    """The answer of the page: how many live above the native check, and whether a best one can be told."""
    if not found.ranked:
        return "No lineage here can be compared with the native check."
    above = sum(one.row.difference.low is not None and one.row.difference.low > 0 for one in found.ranked if one.row.difference)
    verb = "has" if above == 1 else "have"
    count = f"{above} of {amount_words(len(found.ranked), 'lineages')} {verb} a 95 % interval wholly above the native check."
    if LINEAGE in found.singular:
        return f"{count} No order among them can be told."
    first = found.ranked[0]
    if first.shrunk is None or first.shrunk.best is None or len(found.ranked) < 2:
        return count
    chance = f"is in the best quarter with a chance of {first.shrunk.best:.2f}."
    if first.shrunk.best >= SURE_FROM:
        return f"{count} {first.label} {chance}"
    return f"{count} Which are the best cannot be told: the first, {first.label}, {chance}"


def pressure_sentence(found: Comparison) -> str:
    """Disease pressure in words, or that there is none or it is not known."""
    seen, (looked, cankered) = found.pressure, found.pressure_sites
    if seen is None:
        return "No native check here: disease pressure is not known, and resistance cannot be judged."
    if seen.share is None:
        return "Nobody looked for cankers on the native checks: disease pressure is not known, and resistance cannot be judged."
    if not seen.cankered:
        trees = amount_words(seen.assessed, "trees")
        return (
            f"No disease pressure: none of the {trees} of the native checks that were looked at has a canker. Resistance cannot be judged."
        )
    figures = f"{100 * seen.share:.0f} % of the native checks cankered ({seen.cankered:,} of {seen.assessed:,} trees)"
    return f"Disease pressure: {figures}, on {cankered} of {amount_words(looked, 'sites')}."


def method_sentences(found: Comparison) -> list[str]:
    """What the order rests on, and what it leaves out."""
    if not found.ranked:
        return []
    if found.method == MODEL:
        said = [f"{_FACTORS[name]} {value:.2f}" for name, value in found.deviations.items() if name not in found.singular]
        spreads = f" Standard deviations on the logit scale: {', '.join(said)}." if said else ""
        words = [
            f"The shrunken values are from a model of survival with site, lineage and the reaction of each lineage to each site.{spreads}"
        ]
        if LINEAGE in found.singular:
            words.append(
                "The lineages differ no more than chance and sites make them differ. No order can be told, so they are listed by name. "
                "More trees of each on more common sites could show a difference."
            )
        others = [_FACTORS[name] for name in found.singular if name != LINEAGE]
        if others:
            words.append(f"The model finds no spread for {list_words(others)}, and leaves it out.")
        if found.left_out:
            kinds = list_words([ROLE_WORDS[kind][1] for kind in found.left_out])
            words.append(f"All or none of the trees of these are alive, so the model leaves them out: {kinds}.")
        return words
    why = "; ".join(found.why_not)
    if found.method == BETA:
        return [
            f"Too thin for a model of sites ({why}). The order is by each share drawn towards the mean of all; sites are not considered."
        ]
    return [f"Nothing is shrunken ({why}). The order is by the observed difference, in which small lineages stray furthest by chance."]


def lineage_definitions() -> tuple[tuple[str, str], ...]:
    """How each number of the page is made, with formula and source: (term, sentences)."""
    return (
        (
            "Difference from the native check",
            "The mean over common sites of survival of the lineage less that of the native check there, each site weighted by"
            " n·m / (n + m) of its trees. The 95 % interval is the wider of one over the sites (CR2 variance, Satterthwaite's"
            " degrees of freedom; Bell & McCaffrey 2002) and one over the trees (Newcombe 1998, method 10). It needs no "
            "model. Of 20 such intervals about one misses the truth, so with many lineages expect some to look better or "
            "worse than they are.",
        ),
        (
            "Shrunken value",
            "What a mixed model expects of the lineage: logit(share alive) = kind (under test, or kind of check) + site + "
            "lineage + lineage on site, and planting where a site has several. Kinds are fixed, the others normal with a "
            "standard deviation each, fitted to counts by maximum likelihood with Laplace's approximation (Breslow & Clayton "
            "1993; Bates et al. 2015). A lineage with few trees is drawn further towards the mean of all. The value is the "
            "mean over all sites here, so lineages on easy sites gain nothing. Its 95 % interval takes the standard "
            "deviations as known: in simulations with 12 lineages on 4 to 16 sites it held the truth in 90 to 96 of 100 "
            "cases, fewest with five trees a site.",
        ),
        (
            "Reliability",
            "1 − variance of the error of a lineage's effect / variance of the effects. Near 0 the value says little more "
            "than the mean of all lineages; near 1 it is nearly all the lineage's own.",
        ),
        (
            "Chance to be in the best or worst quarter",
            "From 10,000 draws of the true effects given the model, with their covariance and a fixed seed (Goldstein & "
            "Spiegelhalter 1996). The quarter is rounded up. Where no chance is near 1, the order is not certain, whatever "
            "the list looks like.",
        ),
        (
            "Too thin for the model",
            "Fewer than five lineages with five trees, fewer than three sites, or no lineage on two. Then each share is drawn"
            " towards the mean by a beta distribution of lineages, fitted by maximum likelihood (Skellam 1948; Gelman et al. "
            "2013): Beta(α + alive, β + n − alive). With fewer than three lineages, or none that differ, nothing is shrunken.",
        ),
        (
            "Cannot tell",
            "A lineage with fewer than five trees assessed, without a native check on its sites, or with only one site in "
            "common with it has no place in the order. Its trees are in the model all the same.",
        ),
        (
            "What the order is not",
            "A model assumes: effects that are normal and add up on the logit scale, trees independent within a cell, sites "
            "as a sample of sites. It does not know of deer, drought or a wrong label. It proposes, people decide.",
        ),
    )
