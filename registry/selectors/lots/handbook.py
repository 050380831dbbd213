"""Reads of the handbook of species."""

from dataclasses import fields

from django.utils import timezone

from registry.calc.lots.handbook import HandbookRow, check_row
from registry.calc.lots.stratification import USE_BY_DAY, USE_BY_MONTH, Period
from registry.calc.lots.treatments import HotWaterBath
from registry.calc.shared import verified
from registry.choices import StorageClass
from registry.models import SpeciesHandbook

__all__ = [
    "dies_dry_or_frozen",
    "handbook_periods",
    "handbook_problems",
    "handbook_row",
    "hot_water_bath",
    "is_assumed_use_by",
    "stated_bath",
    "unverified_words",
    "verified_words",
]


def handbook_row(binomial):
    """The verified row of a species, else any row of it, else None."""
    return next(iter(_rows(binomial)), None)


def hot_water_bath(binomial):
    """The HotWaterBath of a species, from the first of its rows that states one; None when none does."""
    return next((bath for bath in map(stated_bath, _rows(binomial)) if bath), None)


def stated_bath(row):
    """The HotWaterBath a row states, or None."""
    if not row.bath_minutes:
        return None
    return HotWaterBath(row.bath_c_low, row.bath_c_high, row.bath_minutes, row.bath_against, row.bath_source)


def _rows(binomial):
    """Rows of a species, verified ones first."""
    rows = SpeciesHandbook.objects.filter(binomial__iexact=binomial.strip())
    return sorted(rows, key=lambda row: bool(unverified_words(row)))


def handbook_periods(row):
    """(warm, cold) of a row as its calendar takes them, or None when the row states neither."""
    periods = [_period(row, "warm"), _period(row, "cold")]
    return None if periods == [None, None] else tuple(period or Period() for period in periods)


def handbook_problems(row):
    """What looks wrong in the figures of a row, stored or not: (column, message) pairs."""
    names = [field.name for field in fields(HandbookRow) if field.name != "verified"]
    values = HandbookRow(**{name: getattr(row, name) for name in names}, verified=not unverified_words(row))
    return [(problem.column, problem.message) for problem in check_row(values)]


def unverified_words(row):
    """Why a row counts as not verified today; "" when it is verified."""
    return verified.unverified_words(row, timezone.localdate(), verified.AGAINST_PAGE)


def verified_words(row):
    return verified.verified_words(row, timezone.localdate(), verified.AGAINST_PAGE)


def dies_dry_or_frozen(row):
    return bool(row) and row.storage_class == StorageClass.RECALCITRANT


def is_assumed_use_by(use_by, row):
    """Whether a use-by day is the usual one of seed that dies on drying, although it is not known whether this seed does."""
    return (row is None or row.storage_class == StorageClass.UNKNOWN) and (use_by.month, use_by.day) == (USE_BY_MONTH, USE_BY_DAY)


def _period(row, name):
    low, high = getattr(row, f"{name}_days_low"), getattr(row, f"{name}_days_high")
    if low is None and high is None:
        return None
    return Period(high if low is None else low, low if high is None else high)
