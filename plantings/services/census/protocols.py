"""What the census asks for: the programme's own measurements and the protocols, each in versions that never change."""

import re

from django.core.exceptions import ValidationError
from django.utils import timezone

from plantings.calc.census.measurements import MEASUREMENTS
from plantings.calc.census.own_measurements import ClassesFault, class_words, read_classes
from plantings.models import MeasurementWords, OwnMeasurement, Protocol
from registry.access.languages import OTHER_LANGUAGES
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["measurement_add", "measurement_say", "protocol_add"]

_CODE = re.compile(r"[a-z][a-z0-9_]*")
_CODE_WORDS = "Write a code of small letters, digits and _, such as leaf_spot. It begins with a letter."
_NAMES = {item.name for item in MEASUREMENTS}
_TAKEN_NAMES = {name for item in MEASUREMENTS for name in (item.name, item.field)}


@write
def measurement_add(*, actor, code, classes="", version=None, reason="", **values):
    """Define a measurement, or the next version of one. `classes` are as `read_classes` reads them, `values` the other fields of the
    record; `version` is given only by a sheet.

    What was measured by an earlier version stays under it: a record names the version.
    """
    if not _CODE.fullmatch(code):
        raise ValidationError({"code": _CODE_WORDS})
    if code in _TAKEN_NAMES:
        raise ValidationError({"code": f"“{code}” is a measurement of the census already. Choose another code."})
    before = OwnMeasurement.objects.filter(code=code).order_by("version").last()
    try:
        values["classes"] = [[code, words] for code, words, _meaning in read_classes(classes)]
    except ClassesFault as fault:
        raise ValidationError({"classes": str(fault)}) from None
    if bool(values["classes"]) == any(values.get(name) is not None for name in ("low", "high")):
        raise ValidationError("Give a lowest and a highest value, or the classes, and not both.")
    _check_growth(values)
    if before and all(getattr(before, name) == value for name, value in values.items()):
        raise ValidationError(f"This is the same as version {before.version}. Change it, or cancel.")
    return _append(actor, OwnMeasurement(code=code, version=_next_version(before, version), **values), reason)


@write
def measurement_say(*, actor, measurement, language, name, taken, unit="", classes="", reason=""):
    """Write a measurement in another language: all of its words, or a volunteer would read two languages in one box. The values and the
    version stay. `classes` are as `class_words` reads them.
    """
    if language not in OTHER_LANGUAGES:
        raise ValidationError({"language": f"Write it in one of: {', '.join(OTHER_LANGUAGES)}."})
    try:
        said = list(class_words(classes, measurement.classes)) if classes or measurement.classes else []
    except ClassesFault as fault:
        raise ValidationError({"classes": str(fault)}) from None
    before = MeasurementWords.objects.filter(measurement=measurement, language=language).order_by("pk").last()
    words = {"name": name, "taken": taken, "unit": unit, "classes": said}
    if before and all(getattr(before, field) == value for field, value in words.items()):
        raise ValidationError("These are the words on file. Change them, or cancel.")
    return _append(actor, MeasurementWords(measurement=measurement, language=language, **words), reason)


@write
def protocol_add(*, actor, code, asks, about="", version=None, reason=""):
    """Write a protocol, or the next version of one. `asks` lists the names of measurements in the order of the boxes."""
    if not _CODE.fullmatch(code):
        raise ValidationError({"code": _CODE_WORDS})
    own = {record.field: record.code for record in OwnMeasurement.objects.all()}
    if unknown := [name for name in asks if name not in own and name not in _NAMES]:
        raise ValidationError({"asks": f"“{unknown[0]}” is not a measurement. Use {', '.join([*sorted(_NAMES), *own])}."})
    codes = [own.get(name, name) for name in asks]
    if twice := sorted({name for name in codes if codes.count(name) > 1}):
        raise ValidationError({"asks": f"“{twice[0]}” is listed twice. Keep one, in one version."})
    before = Protocol.objects.filter(code=code).order_by("version").last()
    if before and (before.asks, before.about) == (list(asks), about):
        raise ValidationError(f"This is the same as version {before.version}. Change it, or cancel.")
    return _append(actor, Protocol(code=code, version=_next_version(before, version), asks=list(asks), about=about), reason)


def _check_growth(values):
    """Refuse a growth that the checks on arrival could not ask about."""
    loss, gain = values.get("loss_most"), values.get("gain_most")
    if loss is None and gain is None:
        return
    if values["classes"]:
        raise ValidationError({"loss_most": "Classes do not grow. Clear it, or measure a number."})
    if loss is None:
        raise ValidationError({"loss_most": "Say first that it only grows: how much less a later reading may be, 0 for not at all."})
    if loss < 0 or (gain is not None and gain <= 0):
        raise ValidationError({"loss_most" if loss < 0 else "gain_most": "Write how much as a number above 0, without a sign."})
    if not values.get("unit"):
        raise ValidationError({"unit": "Give the unit, such as cm or branches: a question about a reading names it."})


def _next_version(before, version):
    """The number of a new version; where a sheet gives one, it must be the next."""
    following = before.version + 1 if before else 1
    if version not in (None, following):
        raise ValidationError({"version": f"The next version is {following}. Versions follow each other without a gap."})
    return following


def _append(actor, record, reason):
    record.entered_by, record.entered_at = actor, timezone.now()
    record.full_clean()
    append_row(record)
    audit_record(actor=actor, verb=f"{record._meta.model_name}.added", obj=record, reason=reason)
    return record
