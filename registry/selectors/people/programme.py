"""The thresholds the programme sets for itself; where it set none, a default is used and marked as such."""

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from django.utils.translation import gettext_noop

from registry.choices import NO, YES, ProgrammeKey
from registry.compliance.gate.place_codes import place_code
from registry.models import ProgrammeSetting

__all__ = [
    "AS_NATIVE",
    "DEFAULTS",
    "Threshold",
    "chromosome_morgans",
    "parse_setting",
    "programme_address",
    "setting",
    "settings_of",
    "thresholds",
]

PRACTICE = "common practice, no source"
DEFINED = "a definition of Mastbook, no source"

NOT_STATED = "not stated"

# what an unknown parent of a native tree may count as
NOT_KNOWN, AS_NATIVE = "not known", "native"
# settings that take one of a few words
_WORDS = {ProgrammeKey.UNKNOWN_NATIVE_PARENT: (NOT_KNOWN, AS_NATIVE), ProgrammeKey.UNREAD_COUNT: (YES, NO)}

# key: (default, its basis, unit); the type of the default is the type of the setting
DEFAULTS = {
    ProgrammeKey.NAME: ("", NOT_STATED, ""),
    ProgrammeKey.ADDRESS: ("", NOT_STATED, ""),
    ProgrammeKey.MOTHERS_PER_LINE: (2, PRACTICE, "mothers"),
    ProgrammeKey.MOTHERS_PER_SOURCE: (5, PRACTICE, "mothers"),
    ProgrammeKey.STATUS_NUMBER: (Decimal("4"), PRACTICE, ""),
    ProgrammeKey.CHROMOSOMES: (16, "an example value, from memory; set your species' own", "pairs"),
    ProgrammeKey.CHROMOSOME_MORGANS: (Decimal("1"), PRACTICE, "Morgan"),
    ProgrammeKey.UNKNOWN_NATIVE_PARENT: (NOT_KNOWN, "the more careful of the two, no source", ""),
    ProgrammeKey.HOME_REGION: ("", NOT_STATED, ""),
    ProgrammeKey.RECEIPT_DAYS: (14, PRACTICE, "days"),
    ProgrammeKey.KEEP_YEARS: (0, "no number of years is set, so nothing is discarded", "years"),
    ProgrammeKey.YOUNGEST_AGE: (18, PRACTICE, "years"),
    ProgrammeKey.LONE_WORK: (gettext_noop("Nobody works alone; check in and out with a named contact."), PRACTICE, ""),
    ProgrammeKey.COMPLETE_PERCENT: (80, DEFINED, "%"),
    ProgrammeKey.UNREAD_COUNT: (YES, DEFINED, ""),
    ProgrammeKey.CHECK_HEIGHT_LOSS: (Decimal("5"), PRACTICE, "cm"),
    ProgrammeKey.CHECK_HEIGHT_LOSS_PERCENT: (Decimal("10"), PRACTICE, "%"),
    ProgrammeKey.CHECK_HEIGHT_GAIN: (Decimal("200"), PRACTICE, "cm"),
    ProgrammeKey.CHECK_HEIGHT_GAIN_TIMES: (Decimal("3"), PRACTICE, "times"),
    ProgrammeKey.CHECK_DIAMETER_LOSS: (Decimal("1"), PRACTICE, "mm"),
    ProgrammeKey.CHECK_DIAMETER_GAIN: (Decimal("30"), DEFINED, "mm"),
    ProgrammeKey.CHECK_UNIT_SLIP: (Decimal("5"), PRACTICE, "%"),
    ProgrammeKey.CHECK_WINDOW: (21, PRACTICE, "days"),
    ProgrammeKey.CHECK_END_DIGIT: (Decimal("50"), PRACTICE, "%"),
    ProgrammeKey.CHECK_SAME: (Decimal("50"), PRACTICE, "%"),
    ProgrammeKey.CHECK_SAME_RUN: (6, PRACTICE, "trees"),
    ProgrammeKey.CHECK_EXCHANGE: (Decimal("4"), DEFINED, "standard deviations"),
    ProgrammeKey.CHECK_COUNT_LEAP: (Decimal("50"), PRACTICE, "%"),
    ProgrammeKey.SECOND_STATUS: (Decimal("98"), PRACTICE, "%"),
    ProgrammeKey.SECOND_HEIGHT_CM: (Decimal("5"), PRACTICE, "cm"),
    ProgrammeKey.SECOND_HEIGHT_PERCENT: (Decimal("5"), PRACTICE, "%"),
    ProgrammeKey.SECOND_HEIGHT_SHARE: (Decimal("90"), PRACTICE, "%"),
    ProgrammeKey.SECOND_DIAMETER_MM: (Decimal("1"), PRACTICE, "mm"),
    ProgrammeKey.SECOND_DIAMETER_SHARE: (Decimal("90"), PRACTICE, "%"),
    ProgrammeKey.SECOND_POINTS: (Decimal("10"), PRACTICE, "percentage points"),
    ProgrammeKey.SECOND_OWN_UNITS: (Decimal("1"), DEFINED, "units"),
    ProgrammeKey.SECOND_OWN_PERCENT: (Decimal("10"), DEFINED, "%"),
    ProgrammeKey.SECOND_NUMBER_SHARE: (Decimal("90"), PRACTICE, "%"),
    ProgrammeKey.SECOND_PRESENCE: (Decimal("85"), PRACTICE, "%"),
    ProgrammeKey.SECOND_CLASS: (Decimal("90"), PRACTICE, "%"),
}


@dataclass(frozen=True, slots=True)
class Threshold:
    """A threshold as it holds now. `record` is the programme's own, None while the default is used."""

    key: str
    label: str
    value: int | Decimal | str
    unit: str
    basis: str
    record: ProgrammeSetting | None


def parse_setting(key, text):
    """A stored value as the type of its default: a whole number, a number or a text.

    Raises ValueError, in words for the person who typed it, when the text is not such a value, not above 0, or not a place.
    """
    default, text = DEFAULTS[key][0], text.strip()
    if isinstance(default, str):
        if not text:
            raise ValueError("Write it in words.")
        if key == ProgrammeKey.HOME_REGION:
            return place_code(text)
        if key in _WORDS and text not in _WORDS[key]:
            raise ValueError("Write {}.".format(" or ".join(f"“{word}”" for word in _WORDS[key])))
        return text
    try:
        if "_" in text:  # Python reads 4_2 as 42; people do not write numbers like that
            raise ValueError
        value = int(text) if isinstance(default, int) else Decimal(text)
    except (ValueError, InvalidOperation):
        kind = "a whole number" if isinstance(default, int) else "a number"
        raise ValueError(f"“{text}” is not {kind}. Write one such as {default}.") from None
    if not (Decimal(value).is_finite() and 0 < value < 1_000_000):
        raise ValueError("Give a number above 0.")
    if DEFAULTS[key][2] == "%" and value > 100:
        raise ValueError("Give a share from 1 to 100 %.")
    return value


def setting(key, default=None):
    """The value of one threshold: the programme's own, else `default`, else the one in `DEFAULTS`."""
    stored = ProgrammeSetting.objects.filter(key=key).values_list("value", flat=True).first()
    if stored is not None:
        return parse_setting(key, stored)
    return DEFAULTS[key][0] if default is None else default


def settings_of(keys):
    """{key: value} of some thresholds: one query."""
    stored = dict(ProgrammeSetting.objects.filter(key__in=keys).values_list("key", "value"))
    return {key: parse_setting(key, stored[key]) if key in stored else DEFAULTS[key][0] for key in keys}


def programme_address():
    """Name and address of the programme for its prints; "" where neither is set."""
    return ", ".join(filter(None, (setting(ProgrammeKey.NAME), setting(ProgrammeKey.ADDRESS))))


def thresholds():
    """All thresholds in the order of their list, those that are not set with their default: one query."""
    stored = {record.key: record for record in ProgrammeSetting.objects.all()}
    return [_threshold(key, stored.get(key)) for key in DEFAULTS]


def _threshold(key, record):
    default, basis, unit = DEFAULTS[key]
    value = parse_setting(key, record.value) if record else default
    return Threshold(key.value, key.label, value, unit, record.basis if record else basis, record)


def chromosome_morgans():
    """Lengths of the chromosomes, all taken as equally long: what the spread of single trees is worked out from."""
    return [float(setting(ProgrammeKey.CHROMOSOME_MORGANS))] * setting(ProgrammeKey.CHROMOSOMES)
