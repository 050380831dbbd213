"""The words beside a comparison of lineages: its sentences, why nothing more can be told, and how each number is made.

Source
------
Definition of this programme: its sentences and terms.
"""

from collections.abc import Sequence

from plantings.calc.lifetimes.words import SURE_BELOW
from plantings.calc.lineages.compare import AWAITED, BETA, MANY_LEVELS, MODEL, OBSERVED, Comparison, LineageRow
from plantings.calc.lineages.fit_words import counts_fit_sentence
from plantings.calc.lineages.lineage_model import BLOCK, LINEAGE, REACTION, SITE
from plantings.calc.results import Difference
from plantings.calc.survival.odds import OddsOverSites, clopper_pearson
from plantings.calc.survival.table import ROLE_WORDS
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.worded import Worded, counted, worded, worded_plural

SURE_FROM = 0.95
_FACTORS = {
    SITE: gettext_noop("site"), BLOCK: gettext_noop("planting within a site"), LINEAGE: gettext_noop("lineage"),
    REACTION: gettext_noop("the reaction of a lineage to a site"),
}  # fmt: skip
_COMMA, _OR, _SEMICOLON = gettext_noop("%(first)s, %(rest)s"), gettext_noop("%(first)s or %(rest)s"), gettext_noop("%(first)s; %(rest)s")


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
    ends = {"low": signed(difference.low), "high": signed(difference.high)}
    return worded("%(estimate)s (%(low)s to %(high)s)", estimate=signed(difference.estimate), **ends)


def lineage_sentence(one: LineageRow) -> str:
    """What the picture says of one lineage, in words."""
    difference, row = one.row.difference, one.row
    if difference is None and row.share is not None and row.low is not None and row.high is not None:
        return worded(
            "%(lineage)s: %(share)s alive (%(low)s to %(high)s) over %(sites)s.", lineage=one.label, share=f"{row.share:.2f}",
            low=f"{row.low:.2f}", high=f"{row.high:.2f}", sites=counted(len(one.sites), "sites"),
        )  # fmt: skip
    sites = counted(sum(mark.difference is not None for mark in one.sites), "sites")
    if difference is None or difference.estimate is None or difference.low is None or difference.high is None:
        return worded("%(lineage)s: no difference from the native check can be told.", lineage=one.label)
    if difference.estimate >= 0:
        values = _values(difference.estimate, difference.low, difference.high)
        return worded(
            "%(lineage)s lives %(value)s (%(low)s to %(high)s) above the native check over %(sites)s.",
            lineage=one.label,
            sites=sites,
            **values,
        )
    values = _values(-difference.estimate, -difference.high, -difference.low)
    return worded(
        "%(lineage)s lives %(value)s (%(low)s to %(high)s) below the native check over %(sites)s.", lineage=one.label, sites=sites, **values
    )


def _values(value: float, low: float, high: float) -> dict[str, str]:
    first, last = (f"{end:.2f}" if end >= 0 else f"−{-end:.2f}" for end in (low, high))
    return {"value": f"{value:.2f}", "low": first, "high": last}


def opening_sentence(found: Comparison) -> str:
    """The answer of the page: how many live above the native check, and whether a best one can be told."""
    if not found.ranked:
        return worded("No lineage here can be compared with the native check.")
    count = _beside(found)
    if LINEAGE in found.singular:
        return worded("%(count)s No order among them can be told.", count=count)
    first = found.ranked[0]
    if first.shrunk is None or first.shrunk.best is None or len(found.ranked) < 2:
        return count
    values = {"count": count, "lineage": first.label, "chance": f"{first.shrunk.best:.2f}"}
    if first.shrunk.best >= SURE_FROM:
        return worded("%(count)s %(lineage)s is in the best quarter with a chance of %(chance)s.", **values)
    return worded(
        "%(count)s Which are the best cannot be told: the first, %(lineage)s, is in the best quarter with a chance of %(chance)s.", **values
    )


def _beside(found):
    """How the lineages compare with the native check, in a sentence; that there is none."""
    if not found.has_native:
        return worded_plural(
            "No native check is assessed here, so %(lineages)s is not compared with one.",
            "No native check is assessed here, so %(lineages)s are compared with each other alone.",
            len(found.ranked), lineages=counted(len(found.ranked), "lineages"),
        )  # fmt: skip
    above = sum(one.row.difference.low is not None and one.row.difference.low > 0 for one in found.ranked if one.row.difference)
    if not above:
        return worded(
            "Of %(lineages)s none has a 95 %% interval wholly above the native check.", lineages=counted(len(found.ranked), "lineages")
        )
    return worded_plural(
        "%(n)s of %(lineages)s has a 95 %% interval wholly above the native check.",
        "%(n)s of %(lineages)s have a 95 %% interval wholly above the native check.",
        above,
        lineages=counted(len(found.ranked), "lineages"),
    )


def pressure_sentence(found: Comparison) -> str:
    """Disease pressure in words, or that there is none or it is not known."""
    seen, (looked, cankered) = found.pressure, found.pressure_sites
    if seen is None:
        return worded("No native check here: disease pressure is not known, and resistance cannot be judged.")
    if seen.share is None:
        return worded("Nobody looked for cankers on the native checks: disease pressure is not known, and resistance cannot be judged.")
    if not seen.cankered:
        return worded(
            "No disease pressure: none of the %(trees)s of the native checks that were looked at has a canker. Resistance cannot be "
            "judged.",
            trees=counted(seen.assessed, "trees"),
        )
    share = worded("%(percent)s %%", percent=f"{100 * seen.share:.0f}")
    if seen.interval and seen.interval.estimable:
        low, high = (f"{100 * end:.0f}" for end in seen.interval[:2])
        share = worded("%(share)s (95 %% interval %(low)s to %(high)s %%)", share=share, low=low, high=high)
    return worded(
        "Disease pressure: %(share)s of the native checks that were looked at had a canker (%(cankered)s of %(trees)s), on %(part)s of "
        "%(sites)s.",
        share=share, cankered=seen.cankered, trees=counted(seen.assessed, "trees"), part=cankered, sites=counted(looked, "sites"),
    )  # fmt: skip


def method_sentences(found: Comparison) -> list[str]:
    """What the order rests on, and what it leaves out."""
    if not found.ranked:
        return []
    if found.method == MODEL:
        return _of_the_model(found)
    if found.method == AWAITED:
        return [
            worded(
                "The model of site and lineage is being worked out. Until it is there the lineages are listed by name: in the order of the "
                "observed difference, small lineages would stray furthest by chance."
            )
        ]
    if found.method == OBSERVED and not found.has_native:
        return [
            worded(
                "Nothing is shrunken (%(why)s). The order is by the observed survival, in which small lineages stray furthest by chance.",
                why=_joined(_SEMICOLON, _SEMICOLON, found.why_not),
            )
        ]
    why = _joined(_SEMICOLON, _SEMICOLON, found.why_not)
    if found.method == BETA and MANY_LEVELS in found.why_not:
        return [
            worded(
                "Not by the model of sites (%(why)s). The order is by each share drawn towards the mean of all; sites are not considered.",
                why=why,
            )
        ]
    if found.method == BETA:
        return [
            worded(
                "Too thin for a model of sites (%(why)s). The order is by each share drawn towards the mean of all; sites are not "
                "considered.",
                why=why,
            )
        ]
    return [
        worded(
            "Nothing is shrunken (%(why)s). The order is by the observed difference, in which small lineages stray furthest by chance.",
            why=why,
        )
    ]


def odds_range(odds: OddsOverSites | None) -> str:
    """Odds to be alive as a multiple of the check's, "2.40 (1.31–4.40)"; "" where there are none.

    Examples
    --------
    >>> odds_range(OddsOverSites(2.4, 1.31, 4.4, 8.0, 0.005, None, 0, None))
    '2.40 (1.31–4.40)'
    """
    if odds is None or odds.ratio is None or odds.low is None or odds.high is None:
        return ""
    low, high = (f"{end:.2f}" if end < 100 else "100+" for end in (odds.low, odds.high))
    return worded("%(ratio)s (%(low)s–%(high)s)", ratio=f"{odds.ratio:.2f}", low=low, high=high)


def disagreement_sentence(found: Comparison) -> str:
    """Of which lineages the sites do not agree; "" where that shows for none."""
    apart = [one.label for one in found.ranked if one.alike_holm is not None and one.alike_holm < SURE_BELOW]
    if not apart:
        return ""
    return worded(
        "The sites do not agree about %(lineages)s (Breslow–Day, p under %(p)s adjusted for the number of lineages): one number does "
        "not say it, look at the single sites.",
        lineages=_joined(_COMMA, _COMMA, apart), p=f"{SURE_BELOW:g}",
    )  # fmt: skip


def few_trees_words(alive: int, n: int) -> str:
    """How little a handful of trees says: "2 of 3 alive, exact 95 % interval 0.09 to 0.99"; "" without trees.

    Parameters
    ----------
    alive, n : int
        Trees alive and trees assessed.
    """
    exact = clopper_pearson(alive, n)
    if exact.low is None or exact.high is None:
        return ""
    ends = {"low": f"{exact.low:.2f}", "high": f"{exact.high:.2f}"}
    return worded("%(alive)s of %(n)s alive, exact 95 %% interval %(low)s to %(high)s", alive=alive, n=n, **ends)


def _of_the_model(found: Comparison) -> list[str]:
    model = worded("The shrunken values are from a model of survival with site, lineage and the reaction of each lineage to each site.")
    said = [
        worded("%(name)s %(value)s", name=worded(_FACTORS[name]), value=f"{value:.2f}")
        for name, value in found.deviations.items()
        if name not in found.singular
    ]
    if said:
        spreads = _joined(_COMMA, _COMMA, said)
        model = worded("%(model)s Standard deviations on the logit scale: %(spreads)s.", model=model, spreads=spreads)
    words = [model]
    if found.check:
        words.append(counts_fit_sentence(found.check, found.has_native))
    if LINEAGE in found.singular:
        words.append(
            worded(
                "The lineages differ no more than chance and sites make them differ. No order can be told, so they are listed by name. "
                "More trees of each on more common sites could show a difference."
            )
        )
    others = [worded(_FACTORS[name]) for name in found.singular if name != LINEAGE]
    if others:
        words.append(worded("The model finds no spread for %(factors)s, and leaves it out.", factors=_either(others)))
    if found.left_out:
        kinds = _either([worded(ROLE_WORDS[kind][1]) for kind in found.left_out])
        words.append(worded("All or none of the trees of these are alive, so the model leaves them out: %(kinds)s.", kinds=kinds))
    return words


def _either(words: Sequence[str]) -> str:
    return _joined(_COMMA, _OR, words)


def _joined(between: str, last: str, words: Sequence[str]) -> str:
    """Words in a row, each with its own translation; `last` joins the last two."""
    *before, joined = (word if isinstance(word, Worded) else worded(word) for word in words)
    for place, word in enumerate(reversed(before)):
        joined = worded(between if place else last, first=word, rest=joined)
    return joined
