"""Tests of seed lots and treatments. A test is never changed; a correction is a new one that supersedes it."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry import choices
from registry.calc.lots.seed_mass import moisture_share
from registry.calc.lots.treatments import hot_water_warnings
from registry.calc.shared.screen import amount_words
from registry.choices import SeedTestKind, TreatmentKind
from registry.models import SeedTest, SeedTestReplicate, Treatment
from registry.selectors.lots.seed_tests import seed_test_draw
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.lots.ledger import ledger_enter, ledger_reverse
from registry.services.shared.past_day import day_check, known_day

__all__ = ["seed_test_correct", "seed_test_enter", "treatment_enter"]

_LEDGER_NEEDS_DAY = "Seeds that a test used up leave the ledger on a day. Give the day of the test, or leave the seeds used up blank."


@write
def seed_test_enter(*, actor, lot, kind, tested_on, replicates=(), drawn=0, **fields):
    """Record a test of a sample.

    `replicates` are (seeds, germinated or None, mass in gram or None); `drawn` is how many seeds the test used up:
    they leave the ledger as sampled, which needs the day of the test. `fields` are the other fields of `SeedTest`.
    """
    day_check(tested_on=tested_on)
    _check_test(lot, kind, replicates, fields)
    entry = None
    if drawn:
        reason, day = SeedTestKind(kind).label, known_day(tested_on, _LEDGER_NEEDS_DAY, "tested_on")
        entry = ledger_enter(actor=actor, lot=lot, kind=choices.LedgerKind.SAMPLED, quantity=drawn, on=day, reason=reason)
    test = SeedTest(lot=lot, kind=kind, tested_on=tested_on, entry=entry, entered_by=actor, entered_at=timezone.now(), **fields)
    test.full_clean()
    append_row(test)
    for number, (seeds, germinated, mass_g) in enumerate(replicates, start=1):
        replicate = SeedTestReplicate(test=test, number=number, seeds=seeds, germinated=germinated, mass_g=mass_g)
        replicate.full_clean()
        append_row(replicate)
    audit_record(actor=actor, verb="seedtest.corrected" if test.supersedes_id else "seedtest.added", obj=test, reason=test.reason)
    return test


@write
def seed_test_correct(*, actor, test, reason, drawn=0, **fields):
    """Record the right figures of a test. The old one stays; its draw on the ledger is replaced when number or day differ."""
    if not reason.strip():
        raise ValidationError({"reason": "Say why the test is corrected."})
    if SeedTest.objects.filter(supersedes=test).exists():
        raise ValidationError("This test is already corrected. Correct the later one.")
    before = seed_test_draw(test)
    same = before and -before.quantity == drawn and before.on == fields["tested_on"]
    if before and not same:
        ledger_reverse(actor=actor, entry=before, reason=f"{test.get_kind_display()} corrected: {reason}"[:200])
    return seed_test_enter(
        actor=actor, lot=test.lot, kind=test.kind, drawn=0 if same else drawn, supersedes=test, reason=reason, **fields
    )  # fmt: skip


@write
def treatment_enter(*, actor, lot, **fields):
    """Record a treatment as it was done. One of the same kind and first day completes the earlier one, such as with its end."""
    day_check(started_on=fields["started_on"])
    if fields["kind"] == TreatmentKind.HOT_WATER:
        _check_water(fields.get("temperature_c"))
    treatment = Treatment(lot=lot, entered_by=actor, entered_at=timezone.now(), **fields)
    treatment.full_clean()
    append_row(treatment)
    audit_record(actor=actor, verb="treatment.added", obj=treatment)
    return treatment


def _check_water(temperature_c):
    try:
        hot_water_warnings(temperature_c, None, None)
    except ValueError as error:
        raise ValidationError({"temperature_c": str(error)}) from error


def _check_test(lot, kind, replicates, fields):
    """A test without its numbers, or with numbers that contradict each other, would have no result."""
    if lot.kind != choices.LotKind.SEED:
        raise ValidationError(f"Lot {lot.code} is counted in {lot.unit}. Only a seed lot takes seed tests.")
    missing = {name: "This kind of test needs this figure." for name in _NEEDED.get(kind, ()) if fields.get(name) is None}
    if missing:
        raise ValidationError(missing)
    _CHECKS[kind](replicates, fields)


def _check_counts(_replicates, fields):
    seeds, counted = fields["seeds"], sum(fields.get(name) or 0 for name in ("sound", "infested", "mouldy", "empty"))
    if not 0 < seeds >= counted:
        raise ValidationError(
            {"seeds": f"{amount_words(counted, 'seeds')} are counted, but the sample has {seeds:,}. Count each seed in one box only."}
        )


def _check_moisture(_replicates, fields):
    try:
        moisture_share(fields["container_g"], fields["wet_g"], fields["dry_g"])
    except ValueError as error:
        raise ValidationError({"dry_g": str(error)}) from error


def _check_purity(_replicates, fields):
    if not 0 <= fields["pure_g"] <= fields["sample_g"] or not fields["sample_g"]:
        raise ValidationError({"pure_g": "Pure seed weighs from 0 up to the whole sample. Check whether the two are swapped."})


def _check_mass(replicates, _fields):
    if not replicates or any(not seeds or not mass_g for seeds, _germinated, mass_g in replicates):
        raise ValidationError("Seed mass needs at least one weighing, each with its seeds and their mass.")


def _check_germination(replicates, _fields):
    if not replicates or any(not seeds or germinated is None for seeds, germinated, _mass_g in replicates):
        raise ValidationError("A germination test needs at least one replicate, each with its seeds laid out and seeds germinated.")


_NEEDED = {
    SeedTestKind.FLOAT: ("seeds", "sound"),
    SeedTestKind.CUT: ("seeds", "sound"),
    SeedTestKind.MOISTURE: ("container_g", "wet_g", "dry_g"),
    SeedTestKind.PURITY: ("pure_g", "sample_g"),
}
_CHECKS = {
    SeedTestKind.FLOAT: _check_counts,
    SeedTestKind.CUT: _check_counts,
    SeedTestKind.MOISTURE: _check_moisture,
    SeedTestKind.PURITY: _check_purity,
    SeedTestKind.MASS: _check_mass,
    SeedTestKind.GERMINATION: _check_germination,
}
