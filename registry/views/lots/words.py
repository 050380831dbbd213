"""Handbook periods, treatments and the figures of a lot in words."""

from registry.calc.lots.seed_amounts import bulk_per_pure_live_seed, pure_live_seed_share
from registry.calc.lots.stratification import use_by_words
from registry.calc.shared.screen import day_words, number_words, unit_words
from registry.choices import LotKind, LotOrigin
from registry.selectors.lots.handbook import handbook_periods, is_assumed_use_by, verified_words


def origin_words(lot):
    if lot.mother:
        return lot.mother.code
    if lot.parent:
        return f"{'part of' if lot.origin == LotOrigin.SPLIT else 'raised from'} {lot.parent.code}"
    return "bulk" if lot.origin == LotOrigin.BULK else lot.outside_origin


def lot_use_by_words(lot, handbook, today):
    """The use-by day, how far off it is, and whether it is only assumed."""
    if not lot.use_by:
        return ""
    words = f"{day_words(lot.use_by)}{f', {use_by_words(lot.use_by, today)}' if lot.balance else ''}"
    if lot.kind == LotKind.SEED and is_assumed_use_by(lot.use_by, handbook):
        words += ". The storage class is not known: the shorter life is assumed (common practice, no source)"
    return words


def per_kg_words(figures):
    return f"{figures.per_kg:,.0f}, by {figures.per_kg_from}" if figures.per_kg else ""


def germination_words(figures):
    share = figures.germination_share
    return "" if share is None else f"{100 * share:.0f} %, by {figures.germination_from}"


def pure_live_seed_words(figures):
    share = figures.germination_share
    if not share or not figures.purity_share:
        return ""
    live = pure_live_seed_share(figures.purity_share, share)
    bulk = bulk_per_pure_live_seed(figures.purity_share, share)
    return f"{100 * live:.1f} %: {bulk:.2f} kg of this seed hold 1 kg of it"


def stratification_words(row):
    """What the handbook says of warm and cold, and whether somebody checked it."""
    return f"{periods_words(row) if handbook_periods(row) else 'no period stated'}; {verified_words(row)}"


def range_words(low, high, unit=""):
    """'90–120 days', '60 days', or nothing."""
    figures = [number_words(value, 6) for value in (low, high) if value is not None]
    text = figures[0] if len(set(figures)) == 1 else "–".join(figures)
    return f"{text} {unit}".strip() if text else ""


def seeds_words(row, unit):
    low, mean, high = (getattr(row, f"seeds_per_{unit}_{part}") for part in ("low", "mean", "high"))
    spread = range_words(low, high)
    if mean is None:
        return spread
    return f"{number_words(mean, 6)} ({spread})" if spread else number_words(mean, 6)


def period_words(row, name):
    """'90–120 days at 1–5 °C' of the warm or the cold period; 'none needed' where the handbook says zero."""
    low, high, at = (getattr(row, f"{name}_{part}") for part in ("days_low", "days_high", "temperature"))
    if high == 0:
        return "none needed"
    days = range_words(low, high, "days")
    return f"{days} at {at} °C" if days and at else days


def periods_words(row):
    """'warm 30 days at 20–30 °C, then cold 60 days at 5 °C'."""
    parts = [f"{name} {words}" for name in ("warm", "cold") if (words := period_words(row, name)) and words != "none needed"]
    return ", then ".join(parts) or "no stratification needed"


def treatment_words(treatment):
    """'Hot water: 49 °C, 20 minutes, thermometer no. 2'."""
    parts = [
        "" if treatment.temperature_c is None else f"{treatment.temperature_c:g} °C",
        "" if treatment.minutes is None else f"{treatment.minutes:g} {unit_words(treatment.minutes, 'minutes')}",
        f"thermometer {treatment.thermometer}" if treatment.thermometer else "",
        treatment.product,
        f"licence {treatment.licence}" if treatment.licence else "",
        treatment.note,
    ]
    how = ", ".join(part for part in parts if part)
    kind = treatment.get_kind_display().capitalize()
    return f"{kind}: {how}" if how else kind
