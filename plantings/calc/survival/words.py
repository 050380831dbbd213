"""What is printed beside survival figures, and the survival table as plain rows for a file.

Source
------
Definition of this programme for all functions here: the words and columns survival figures are given in.
"""

from collections.abc import Sequence
from datetime import date

from plantings.calc.results import Difference
from plantings.calc.survival.census_choice import AGE, CensusChoice
from plantings.calc.survival.completeness import COMPLETE_PERCENT
from plantings.calc.survival.survival import NOT_ASSESSED
from plantings.calc.survival.table import BINOMIAL, OUT_OF_REACH, OVER_SITES, STANDARD_WORDS, TEST, SurvivalRow
from plantings.calc.survival.tallies import COUNT_NAMES
from registry.calc.shared.worded import Worded, counted, worded

SHORT_METHOD = {
    OVER_SITES: "95 % over sites (wider of Wilson on the effective number of trees with t, and Wilson on the trees)",
    BINOMIAL: "95 % Wilson",
}
METHOD = (
    "alive / assessed; assessed = planted - removed for non-biological reasons - not visited - not located - seen but unclear; "
    "replacements, buffers and fillers not counted; not found at two rounds running = presumed dead; seen alive later = alive; "
    "complete rounds only unless said; interval: "
)
_SHARE_DECIMALS = 4


def season_words(season: int) -> str:
    """The age of a planting in words.

    Parameters
    ----------
    season : int, 0 or more
        Growing seasons completed.
    """
    return counted(season, "growing seasons")


def definitions(protocol_versions: Sequence[str] | None = None, complete_percent: int = COMPLETE_PERCENT) -> tuple[tuple[str, str], ...]:
    """The definitions printed beside the numbers, as (term, sentence).

    Parameters
    ----------
    protocol_versions : sequence of str or None
        Of the rounds in the table; None where there is no table.
    complete_percent : int
        Of the positions, how many must be assessed before a round counts as complete; the programme sets it.
    """
    versions = ", ".join(protocol_versions or ()) or worded("not stated")
    sentence = worded("Census protocol versions in this table: %(versions)s.", versions=versions)
    of_the_table = () if protocol_versions is None else ((worded("Protocol"), sentence),)
    return (
        (
            worded("Age"),
            worded("Growing seasons completed. Equal ages are compared, unless a season, a visit or the latest census is chosen."),
        ),
        (
            worded("Complete census"),
            worded(
                "A planting enters with its latest complete census: the window is closed or every position is settled, and at least "
                "%(percent)s %% of the positions not known to be dead before were assessed. One that is still open, or thinly "
                "visited, is shown as progress. It enters the figures only when you ask for it, and is marked there.",
                percent=complete_percent,
            ),
        ),
        (
            worded("Survival"),
            worded(
                "Alive / assessed. Assessed (n) are all trees planted under test (or as a check, in the rows marked so), less those "
                "removed for reasons that are not biological, not visited, at a position not located, or seen in an unclear state. A "
                "tree that was not assessed is not dead. Buffers, fillers and replacements are never counted; a dead original stays "
                "dead."
            ),
        ),
        (worded("Sown as seed"), worded("Establishment from seed sown in place. It is never added to the survival of planted trees.")),
        (
            worded("Not found"),
            worded(
                "A tree not found once is assessed and not alive. Not found at two rounds running counts as presumed dead from the "
                "first of them, apart from dead; a tree seen later, clear or not, undoes it. Not visited, not located and unclear never "
                "count as dead. Dead stays dead until the tree is seen alive again."
            ),
        ),
        (
            worded("Hindsight"),
            worded(
                "A tree seen alive at a later round lived at this one, so a later census can change the figures of an earlier age. “As "
                "recorded then” leaves out what later rounds showed."
            ),
        ),
        (
            worded("Band"),
            worded(
                "Over all planted less those removed for reasons that are not biological: from “every tree not found, not located, "
                "unclear or not visited is dead” to “every one of them is alive”."
            ),
        ),
        (
            worded("Interval"),
            worded(
                "95 %%. Wilson’s where all trees are on one site. A row over several sites takes the wider of two: one from how far the "
                "sites lie apart, and Wilson’s on the trees. In simulations it held the true share in 93 to 100 of 100 cases; where the "
                "share lies beyond about 0.9 or under 0.1 and trees within a site are much alike, no interval tried holds, and the row "
                "says so. Where the sites do not differ at all, the interval is from the trees alone, and the row says that too."
            ),
        ),
        (
            worded("Tried on simulated programmes"),
            worded(
                "On 8 sites with 20 trees of a lineage on each, the interval held the true survival over all sites in 95 of 100 cases, "
                "and that of the difference from the native checks in 97. Where 30 of 100 trees were not located at a visit, dead or "
                "alive, survival came out 0.05 too low and its interval held the truth in 88 cases: a tree once found dead stays "
                "assessed, a living one that is not located does not. The band held the truth there. Where the crew wrote 30 of 100 "
                "living trees as not found, survival came out 0.22 too low, and the band missed the truth too, since a tree missed "
                "twice running is presumed dead. Send a crew again before you read such figures."
            ),
        ),
        (
            worded("Under 10 trees"),
            worded("The count leads, and the row is given no place in an order. Orders are of raw shares, not shrunk towards the mean."),
        ),
        (
            worded("From the checks"),
            worded(
                "The mean over the sites of survival less that of the native checks on the same site; sites without both are left out. "
                "The 95 %% interval is the wider of one from how the difference varies over the sites and Newcombe’s on the trees. On "
                "one common site there is a difference but no interval, since a lineage may do better on one site and worse on the "
                "next. Only a row without a native check on any of its sites is compared with other checks, such as first hybrids, and "
                "with donor checks where there is nothing else. Checks of different kinds are never mixed."
            ),
        ),
        (
            worded("Disease pressure"),
            worded(
                "Share of the assessed trees of the native check, which is the susceptible one, on the same sites that have a canker. "
                "Where it is low or not assessed, survival says little about resistance. Its interval is made as that of survival, over "
                "the sites where there are several."
            ),
        ),
        *of_the_table,
    )


def check_words(row: SurvivalRow) -> str:
    """Which checks a row is compared with, or why with none."""
    if row.checks is None:
        return ""
    return ", ".join(row.checks.lots) or row.checks.reason


def band_words(row: SurvivalRow) -> str:
    """The band as "0.65–0.85"; blank for a row without trees."""
    return _between(row.band_low, row.band_high) if row.countable else ""


def difference_words(row: SurvivalRow) -> str:
    """As "+0.12 (−0.05 to +0.29)", or why the interval or the check is missing; "" on a row of checks."""
    difference = row.difference
    if difference is None or difference.estimate is None:
        return difference.reason if difference else ""
    if not difference.estimable:
        return worded("%(estimate)s (%(reason)s)", estimate=_signed(difference.estimate), reason=worded(difference.reason))
    if difference.reason:
        return worded("%(estimate)s (%(low)s to %(high)s; %(reason)s)", **_ends(difference), reason=worded(difference.reason))
    return worded("%(estimate)s (%(low)s to %(high)s)", **_ends(difference))


def _ends(difference: Difference) -> dict[str, str]:
    return {"estimate": _signed(difference.estimate), "low": _signed(difference.low), "high": _signed(difference.high)}


def pressure_words(row: SurvivalRow) -> str:
    """Disease pressure of a row with its interval and number, or why there is none."""
    pressure = row.pressure
    if pressure is None or pressure.share is None:
        return row.pressure_reason
    interval = _between(pressure.interval.low, pressure.interval.high)
    if not pressure.holds:
        interval = worded("%(interval)s; %(caveat)s", interval=interval, caveat=worded(OUT_OF_REACH))
    return worded("%(share)s (%(interval)s), n %(n)s", share=f"{pressure.share:.2f}", interval=interval, n=pressure.assessed)


def _between(low: float, high: float) -> Worded:
    return worded("%(low)s–%(high)s", low=f"{low:.2f}", high=f"{high:.2f}")


def _signed(value: float) -> str:
    sign = "" if round(value, 2) == 0 else "+" if value > 0 else "−"
    return f"{sign}{abs(value):.2f}"


def export_headers(by: Sequence[str]) -> list[str]:
    """Names of the columns of `export_row`, in its order."""
    places = [name for word in by for name in (("site", "site_name") if word == "site" else (word,))]
    return [
        *places, "role", "population", "census", "growing_seasons", "complete", "sites", "plantings", "assessed", *COUNT_NAMES[:-2],
        "survival", "low", "high", "standard_error",
        "design_effect", "band_low", "band_high", "difference_from_checks", "difference_low", "difference_high", "checks", "checks_alive",
        "checks_n", "disease_pressure", "pressure_low", "pressure_high", "pressure_assessed", "pressure_cankered",
        "note", "method", "as_of", "unread_records", "unread_counted",
    ]  # fmt: skip


def export_row(
    row: SurvivalRow, by: Sequence[str], moment: CensusChoice, site_names: dict[str, str], as_of: date,
    unread_of: dict[tuple[str, bool], int], unread_count: bool,
) -> list:  # fmt: skip
    """One row in the order of `export_headers`: numbers as numbers, None where there is none.

    Parameters
    ----------
    row : SurvivalRow
    by : sequence of str
        What the rows are grouped by; a site takes two columns.
    moment : CensusChoice
        Which census of each planting the row is made from.
    site_names : dict of code to name
    as_of : date
        The day the figures were made.
    unread_of : dict of (planting, sown or not) to number of records
        Records of the rounds behind the figures that nobody has accepted yet: they, or what is decided about them, may change the row.
    unread_count : bool
        Whether those records are in the figures.
    """
    places = [
        part for word, key in zip(by, row.keys, strict=False) for part in ((key, site_names.get(key, "")) if word == "site" else (key,))
    ]
    difference, checks, pressure = row.difference, row.checks, row.pressure
    interval = pressure.interval if pressure else None
    return [
        *places, TEST if row.role == TEST else STANDARD_WORDS[row.standard], "sown" if row.sown else "planted", moment.code,
        moment.number if moment.kind == AGE else None, "yes" if row.complete else "no", len(row.sites), len(row.plantings), row.n,
        *(getattr(row.counts, name) for name in COUNT_NAMES[:-2]),
        *map(_rounded, (row.share, row.low, row.high, row.standard_error, row.design_effect, row.band_low, row.band_high)),
        *map(_rounded, (difference.estimate, difference.low, difference.high) if difference else (None, None, None)),
        check_words(row), checks.alive if checks else None, checks.n if checks else None,
        *map(_rounded, (pressure.share, interval.low, interval.high) if interval else (None, None, None)),
        pressure.assessed if pressure else None, pressure.cankered if pressure else None,
        _note(row), METHOD + SHORT_METHOD[row.method], as_of.isoformat(),
        sum(unread_of.get((planting, row.sown), 0) for planting in row.plantings), "yes" if unread_count else "no",
    ]  # fmt: skip


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, _SHARE_DECIMALS)


def _note(row: SurvivalRow) -> str:
    """Why a figure is missing, or why to read it with care."""
    notes = [row.reason, "under 10 trees: read the count" if row.count_leads and row.n else ""]
    notes += row.caveats
    if row.difference and row.difference.reason != row.reason:
        notes.append(row.difference.reason)
    if row.pressure_reason:
        notes.append(f"disease pressure {NOT_ASSESSED}" if row.pressure_reason == NOT_ASSESSED else row.pressure_reason)
    return "; ".join(dict.fromkeys(note for note in notes if note))
