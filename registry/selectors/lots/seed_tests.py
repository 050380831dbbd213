"""Reads of the tests of a lot: each with its result in words and the judgement of its replicates."""

from dataclasses import dataclass

from registry.calc.lots.germination import Replicate, judge_germination
from registry.calc.lots.seed_mass import CV_SOURCE, moisture_share, seed_mass, seeds_per_kg, unit_slip
from registry.calc.lots.stratification import dry_group, dry_warning
from registry.calc.shared.part_dates import last_day
from registry.calc.shared.proportion import wilson_interval
from registry.calc.shared.screen import day_words
from registry.calc.shared.verified import AGAINST_PAGE, unverified_words
from registry.choices import LedgerKind, LotOrigin, SeedTestKind
from registry.models import LedgerEntry, SeedTest

__all__ = ["LotFigures", "SeedTestResult", "lot_figures", "lot_tests", "seed_test_draw", "seed_test_result"]

_REPLICATES_OF_SEED_MASS = [100] * 8


@dataclass(frozen=True, slots=True)
class SeedTestResult:
    """A test in words. `share` is what the kind measures (sound, moisture, pure, germinating), `per_kg` of seed mass only.

    `judgement` says whether the figures agree among themselves, by the limits of `source`; `warning` is what needs attention now.
    """

    test: SeedTest
    headline: str
    share: float | None = None
    per_kg: float | None = None
    judgement: str = ""
    warning: str = ""
    superseded_by: SeedTest | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class LotFigures:
    """What the seed calculator starts from, each figure with its source; None and "" where nothing is known."""

    per_kg: float | None
    per_kg_from: str
    germination_share: float | None
    germination_from: str
    purity_share: float | None


def lot_tests(lot, handbook=None):
    """Results of all tests of a lot, the newest first; a corrected test stays, with the one that supersedes it."""
    tests = lot.tests.select_related("lot__taxon", "entry__reversed_by", "superseded_by", "supersedes").prefetch_related("replicates")
    return [seed_test_result(test, handbook) for test in tests]


def seed_test_result(test, handbook=None):
    """The result of one test in words."""
    return _RESULTS[test.kind](test, handbook)


def seed_test_draw(test):
    """The ledger entry of the seeds a test used up, its own or that of a test it corrects; None when there is none or it was reversed."""
    while test:
        if test.entry_id:
            reversed_by = LedgerEntry.objects.filter(reverses=test.entry).exists()
            return None if reversed_by else test.entry
        test = test.supersedes
    return None


def lot_figures(lot, results, handbook=None):
    """Seeds per kg, germination and purity of a lot, each with where it comes from.

    The newest tests of the lot that count and its harvest come first, then those of the lot it was split from, then the handbook.
    """
    own = _own_figures(lot, results)
    if lot.origin == LotOrigin.SPLIT:
        own = _first(own, lot_figures(lot.parent, lot_tests(lot.parent)), f" of {lot.parent.code}")
    return _first(own, _handbook_figures(handbook), "") if handbook else own


def _own_figures(lot, results):
    standing = [result for result in results if result.superseded_by is None]
    mass = next((r for r in standing if r.test.kind == SeedTestKind.MASS and r.per_kg), None)
    germination = next((r for r in standing if r.test.kind == SeedTestKind.GERMINATION and r.share is not None), None)
    purity = next((r for r in standing if r.test.kind == SeedTestKind.PURITY and r.share is not None), None)
    per_kg, per_kg_from = (mass.per_kg, f"seed mass of {_day(mass.test.tested_on)}") if mass else _harvest_per_kg(lot)
    share, share_from = (germination.share, f"germination test of {_day(germination.test.tested_on)}") if germination else (None, "")
    return LotFigures(per_kg, per_kg_from, share, share_from, purity.share if purity else None)


def _handbook_figures(row):
    share = None if row.germination_percent is None else row.germination_percent / 100
    return LotFigures(
        row.seeds_per_kg_mean, f"handbook mean of {row.binomial}, not this lot", share,
        f"handbook figure of {row.binomial}, not this lot", None,
    )  # fmt: skip


def _first(known, other, whose):
    """The known figures, and the other's where they are not known; a figure neither has also has no source."""
    per_kg = (known.per_kg, known.per_kg_from)
    if known.per_kg is None and other.per_kg is not None:
        per_kg = (other.per_kg, f"{other.per_kg_from}{whose}")
    share = (known.germination_share, known.germination_from)
    if known.germination_share is None and other.germination_share is not None:
        share = (other.germination_share, f"{other.germination_from}{whose}")
    purity = other.purity_share if known.purity_share is None else known.purity_share
    return LotFigures(*per_kg, *share, purity)


def _harvest_per_kg(lot):
    weighed = lot.ledger.in_effect().filter(kind=LedgerKind.HARVESTED, mass_g__isnull=False)
    pairs = list(weighed.values_list("quantity", "mass_g"))
    if not pairs:
        return None, ""
    return seeds_per_kg(sum(count for count, _ in pairs), sum(mass for _, mass in pairs)), "count and mass of the harvest"


def _counted(test, _handbook):
    """Float and cut tests: sound seeds of a sample, and what was wrong with the others."""
    found = wilson_interval(test.sound or 0, test.seeds)
    verb = "sank" if test.kind == SeedTestKind.FLOAT else "sound"
    others = [
        f"{count:,} {word}" for count, word in ((test.infested, "with insects"), (test.mouldy, "mouldy"), (test.empty, "empty")) if count
    ]
    rest = f"; {', '.join(others)}" if others else ""
    return _result(test, f"{test.sound or 0:,} of {test.seeds:,} {verb}: {_percent_range(found)}{rest}", share=found.share)


def _moisture(test, _handbook):
    share = moisture_share(test.container_g, test.wet_g, test.dry_g)
    warning = dry_warning(share, dry_group(test.lot.taxon.name))
    return _result(test, f"{100 * share:.1f} % moisture, wet basis", share=share, warning=warning)


def _purity(test, _handbook):
    share = test.pure_g / test.sample_g
    return _result(test, f"{100 * share:.1f} % pure by mass", share=share)


def _mass(test, handbook):
    replicates = list(test.replicates.all())
    per_kg = seeds_per_kg(sum(r.seeds for r in replicates), sum(r.mass_g for r in replicates))
    judgement = "Fewer than eight weighings of 100: the spread is not judged."
    warning, sources = "", []
    if [r.seeds for r in replicates] == _REPLICATES_OF_SEED_MASS:
        mass = seed_mass([r.mass_g for r in replicates])
        judgement, warning, sources = mass.message, "" if mass.within else mass.message, [f"spread: {CV_SOURCE}"]
    if handbook and handbook.seeds_per_kg_low and handbook.seeds_per_kg_high:
        warning = unit_slip(per_kg, handbook.seeds_per_kg_low, handbook.seeds_per_kg_high) or warning
        unverified = unverified_words(handbook, last_day(test.tested_on), AGAINST_PAGE)
        sources.append(f"seeds per kg: {handbook.source}{f', {unverified}' if unverified else ''}")
    headline = f"{per_kg:,.0f} seeds per kg; 1,000 seeds weigh {1_000_000 / per_kg:,.0f} g"
    return _result(test, headline, None, per_kg, judgement, warning, "; ".join(sources))


def _germination(test, _handbook):
    judged = judge_germination([Replicate(r.germinated or 0, r.seeds) for r in test.replicates.all()])
    headline = (
        f"{judged.mean_percent} % germinated ({100 * judged.low:.0f}–{100 * judged.high:.0f}), {judged.germinated:,} of {judged.seeds:,}"
    )
    warning = judged.message if judged.within is False else ""
    return _result(test, headline, judged.share, None, judged.message, warning, judged.source)


def _result(test, headline, share=None, per_kg=None, judgement="", warning="", source=""):
    return SeedTestResult(test, headline, share, per_kg, judgement, warning, getattr(test, "superseded_by", None), source)


def _percent_range(found):
    return f"{100 * found.share:.0f} % ({100 * found.low:.0f}–{100 * found.high:.0f})"


def _day(day):
    return f"{day_words(day)}"


_RESULTS = {
    SeedTestKind.FLOAT: _counted,
    SeedTestKind.CUT: _counted,
    SeedTestKind.MOISTURE: _moisture,
    SeedTestKind.PURITY: _purity,
    SeedTestKind.MASS: _mass,
    SeedTestKind.GERMINATION: _germination,
}
