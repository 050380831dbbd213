"""The words beside life tables.

Source
------
Definition of this programme: its sentences and terms.
"""

from plantings.calc.lifetimes.curves import Step
from plantings.calc.lifetimes.hazards import ALL_DIED, NO_CHECK_DIED, NONE_DIED, NOT_FITTED, HazardRatio
from plantings.calc.lifetimes.lineage_lives import AWAITED, NO_NATIVE, LineageLife, Lives
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.worded import counted, worded, worded_plural

SURE_BELOW = 0.05
_LATER = gettext_noop("A later census, or more trees of both on common sites.")
NEEDED_FOR_CURVE = gettext_noop("Needed for a curve: a second complete census of the same trees, at another age.")
# what would be needed where a hazard cannot be compared
NEEDED = {
    NO_NATIVE: gettext_noop("Plant it beside native checks, or assess the checks in its plantings."),
    NONE_DIED: _LATER, NO_CHECK_DIED: _LATER, ALL_DIED: _LATER, NOT_FITTED: _LATER,
}  # fmt: skip


def p_words(p: float | None) -> str:
    """A p-value as it is printed.

    Parameters
    ----------
    p : float, 0 to 1, or None where there is none

    Examples
    --------
    >>> p_words(0.03124), p_words(0.00002), p_words(None)
    ('0.031', 'under 0.001', '')
    """
    if p is None:
        return ""
    return worded("under %(number)s", number="0.001") if p < 0.001 else worded("%(number)s", number=f"{p:.3f}")


def step_words(step: Step) -> str:
    """Survival at an age, "0.69 (0.62–0.75)"; without a range where no band can be made."""
    share = f"{step.share:.2f}"
    if step.low is None or step.high is None:
        return worded("%(number)s", number=share)
    return worded("%(share)s (%(low)s–%(high)s)", share=share, low=f"{step.low:.2f}", high=f"{step.high:.2f}")


def hazard_range(hazard: HazardRatio) -> str:
    """A ratio of hazards with its interval, "0.45 (0.30–0.67)"; "" where there is none.

    Examples
    --------
    >>> hazard_range(HazardRatio(0.453, 0.301, 0.672, 0.4, None, 3))
    '0.45 (0.30–0.67)'
    """
    if hazard.ratio is None or hazard.low is None or hazard.high is None:
        return ""
    low, high = (f"{end:.2f}" if end < 100 else "100+" for end in (hazard.low, hazard.high))
    return worded("%(ratio)s (%(low)s–%(high)s)", ratio=f"{hazard.ratio:.2f}", low=low, high=high)


def hazard_sentence(hazard: HazardRatio) -> str:
    """How fast the lineage dies beside the native check, and whether one number says it."""
    if hazard.ratio is None:
        return worded("No ratio of hazards: %(reason)s.", reason=worded(hazard.reason))
    words = worded("Hazard as a multiple of that of the native check: %(range)s.", range=hazard_range(hazard))
    if hazard.sites == 1:
        words = worded("%(hazard)s One site only: the range knows nothing of other sites.", hazard=words)
    if hazard.constant_p is None:
        return worded("%(hazard)s With one interval nobody can tell whether it is the same at all ages.", hazard=words)
    if hazard.constant_p < SURE_BELOW:
        return worded(
            "%(hazard)s It changes with age (p %(p)s), so a single number does not describe it; read the curve.",
            hazard=words,
            p=p_words(hazard.constant_p),
        )
    return words


def last_words(one: LineageLife, ages: tuple[int, ...]) -> str:
    """One lineage at its last age, and the native check beside it: "Alive after 5: 0.74 (0.57–0.85); native check after 5: 0.43".

    Parameters
    ----------
    one : LineageLife
        With at least one step.
    ages : tuple of int
        Those of its steps, in ascending order.
    """
    words = worded("Alive after %(season)s: %(figure)s", season=ages[len(one.steps) - 1], figure=step_words(one.steps[-1]))
    if not one.check:
        return words
    check = {"season": ages[len(one.check) - 1], "figure": step_words(one.check[-1])}
    return worded("%(lineage)s; native check after %(season)s: %(figure)s", lineage=words, **check)


def no_curve_sentence(lives: Lives) -> str:
    """What is known where no lineage has a curve, and what would be needed; "" where one has."""
    if not lives.lineages or any(one.has_curve or one.reason == AWAITED for one in lives.lineages):
        return ""
    values = {"known": worded("Known is the share alive at that census."), "needed": worded(NEEDED_FOR_CURVE)}
    return worded(
        "No curve is drawn: no lineage here has complete censuses of two ages. %(known)s When the trees died before it, and how many live "
        "on after it, cannot be told. %(needed)s", **values
    )  # fmt: skip


def life_sentence(one: LineageLife, lives: Lives, lineages: int) -> str:
    """One lineage in words: the last age, the native check beside it, and the test.

    Parameters
    ----------
    one : LineageLife
    lives : Lives
    lineages : int, 1 or more
        How many were tested: what p is adjusted for.
    """
    if not one.steps and one.reason == AWAITED:
        return worded("The curve is being worked out.")
    if not one.steps:
        return worded("Nobody has looked at these trees yet.")
    words = last_words(one, lives.ages)
    if one.test is None:
        words = worded("%(life)s. No test: %(reason)s.", life=words, reason=worded(one.reason))
        return words if one.hazard.reason == one.reason else _with_hazard(words, one)
    values = {"life": words, "number": f"{one.test.chi_square:.1f}", "p": p_words(one.test.p)}
    if lineages < 2:
        return _with_hazard(worded("%(life)s. Log-rank within sites: chi-square %(number)s, p %(p)s.", **values), one)
    words = worded(
        "%(life)s. Log-rank within sites: chi-square %(number)s, p %(p)s, %(adjusted)s adjusted for %(lineages)s.",
        **values, adjusted=p_words(one.holm), lineages=counted(lineages, "lineages"),
    )  # fmt: skip
    return _with_hazard(words, one)


def _with_hazard(words, one):
    return worded("%(life)s %(hazard)s", life=words, hazard=hazard_sentence(one.hazard))


def lives_sentence(lives: Lives) -> str:
    """The answer of the page: how many lineages outlive the native check beside them, and for how many that cannot be told.

    The test takes trees as independent within a site, so a lineage that reacts to single sites passes it too often. The range of its hazard
    holds over the sites: a lineage counts only where that range, if there is one, leaves out 1.
    """
    tested = [one for one in lives.lineages if one.test is not None and one.holm is not None]
    if lives.lineages and all(one.reason == AWAITED for one in lives.lineages):
        return worded("The tests of these lineages are being worked out, and the curves of those that were not seen at each census.")
    if not tested:
        return worded("No lineage here can be compared with a native check in the same plantings.")
    sure = [one.test for one in tested if one.holm < SURE_BELOW and not _may_be_equal(one.hazard)]
    longer = sum(test.observed[0] < test.expected[0] for test in sure)
    sooner, open_ = len(sure) - longer, len(tested) - len(sure)
    if longer:
        words = worded_plural(
            "%(n)s of %(lineages)s outlives the native check in the same plantings",
            "%(n)s of %(lineages)s outlive the native check in the same plantings",
            longer,
            lineages=counted(len(tested), "lineages"),
        )
    else:
        words = worded("Of %(lineages)s none outlives the native check in the same plantings", lineages=counted(len(tested), "lineages"))
    if sooner:
        words = worded_plural("%(longer)s; %(n)s dies sooner", "%(longer)s; %(n)s die sooner", sooner, longer=words)
    if open_:
        words = worded("%(told)s; for %(number)s no difference can be told", told=words, number=open_)
    return worded(
        "%(answer)s (log-rank within sites, p under %(p)s adjusted for the number of lineages, and a range of the hazard without 1).",
        answer=words, p=f"{SURE_BELOW:g}",
    )  # fmt: skip


def _may_be_equal(hazard):
    return hazard.low is not None and hazard.high is not None and hazard.low <= 1 <= hazard.high


def lifetime_definitions() -> tuple[tuple[str, str], ...]:
    """How each number of the page is made, with formula and source: (term, sentences)."""
    return (
        (
            worded("At risk and gone"),
            worded(
                "Of each lot in a planting, gone are the trees dead, presumed dead, removed for a biological reason or not found."
                " Gone in an interval are those gone at its end less those gone at its beginning. At risk are they and the trees "
                "alive at its end. A tree that was not visited, not located, unclear or taken out for another reason is at risk "
                "up to the last census that knew it."
            ),
        ),
        (
            worded("Survival from planting"),
            worded(
                "The product over the ages of 1 − gone / at risk (Kaplan & Meier 1958); with a census a year it is the life "
                "table. A death is only known to lie between two looks, so the step is at the later one."
            ),
        ),
        (
            worded("Where looks lie further apart"),
            worded(
                "Where a planting lacks a census of an age, or trees were not seen and later found dead, a death lies between looks "
                "more than one census apart. The curve is then the distribution of deaths that makes all records most likely "
                "(Turnbull 1976), found by Newton's steps (Wang 2008) until the conditions of a maximum hold to one part in "
                "1,000 million. With a census each year it is the same as the product above. Its band over the trees is from the "
                "curvature of the likelihood."
            ),
        ),
        (
            worded("Band of a curve"),
            worded(
                "95 %%, the wider of two on the log-log scale: Greenwood's (1926), which takes trees as independent, and one that "
                "leaves out one site at a time (jackknife, quantile of t at sites − 1), which knows that trees within a site are "
                "alike."
            ),
        ),
        (
            worded("Native check beside it"),
            worded("The native checks in the same plantings as the lineage, so each picture has its own."),
        ),
        (
            worded("Log-rank within sites"),
            worded(
                "Deaths of the lineage seen and expected if it died like the native check on the same site and age, added up over"
                " the sites (Mantel 1966); where looks lie further apart, the test of Sun (1996) for interval-censored deaths. It "
                "takes trees as independent within a site: where a lineage reacts to single sites p is too small. Read it beside "
                "the curve, and after the adjustment for the number of lineages (Holm 1979; in the table also Benjamini & Hochberg "
                "1995). The p for early deaths weighs each age by the share still alive (Peto & Peto 1972)."
            ),
        ),
        (
            worded("Hazard beside the native check"),
            worded(
                "How fast trees of the lineage die, compared with the native check on the same sites: 1 means equally fast, 0.5 half "
                "as fast. log(−log(1 − chance to die)) = interval + site + lineage, fitted to the deaths of each interval (Prentice & "
                "Gloeckler 1978). An interval over several censuses has a term of its own. The 95 %% range is the wider of one over "
                "the trees and one over the sites (sandwich, quantile of t at sites − 1). The ratio of odds is the same with the "
                "logit link (Cox 1972). Whether one ratio holds at all ages is tested by a term of lineage × age; where it does not, "
                "the page says so."
            ),
        ),
        (
            worded("Tried on simulated programmes"),
            worded(
                "On 8 sites the bands held the true curve at 95 to 97 of 100 ages, and the range of the hazard held the true one in 96 "
                "of 100 cases, in 94 where lineages react much to sites. Where 30 of 100 trees were not located at a visit, dead or "
                "alive, the bands held at 93 to 96; where the dead were missed three times as often as the living, the curves lay 0.05 "
                "too high and held at 88 of 100 ages. Where 30 of 100 living trees were written as not found, the curves lay 0.10 too "
                "low and held at 57. Where lineages reacted to single sites, an adjusted p was under 0.05 in 33 of 100 programmes in "
                "which no lineage differed on average: it speaks of these plantings, not of others. So the page counts a lineage only "
                "where the range of its hazard leaves out 1 as well."
            ),
        ),
        (
            worded("What a curve is not"),
            worded(
                "It ends where records end, and says nothing of later ages. It does not know why a tree died. It proposes, people decide."
            ),
        ),
    )
