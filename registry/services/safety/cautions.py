"""Cautions: a changed wording is a new version, and so is a withdrawal. What a person has read is recorded."""

import re

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.access.languages import OTHER_LANGUAGES
from registry.calc.shared.screen import day_words, list_words
from registry.models import CautionSeen, CautionText
from registry.selectors.safety.cautions import CAUTION_WORDS, cautions_in_use, version_word
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["CAUTION_SAID", "LOCAL_WORDS", "caution_add", "caution_withdraw", "cautions_read"]

LOCAL_WORDS = {language: {name: f"{name}_{language}" for name in CAUTION_WORDS} for language in OTHER_LANGUAGES}
CAUTION_SAID = (
    "task", *CAUTION_WORDS, *(field for fields in LOCAL_WORDS.values() for field in fields.values()), "months", "site_codes", "source",
)  # fmt: skip
# what says that something is allowed, by the field it may be typed into
_ALLOWED = {"text": r"allowed", "text_fr": r"\b(est|sont|soit|soient) (permis|permise|permises|autorisé|autorisée|autorisés|autorisées)\b"}


@write
def caution_add(*, actor, code, in_use_from, version=None, withdrawn=False, reason="", **says):
    """Write a caution, or the next version of one.

    Parameters
    ----------
    actor : Person
    code : str
    in_use_from : date
    version : int, optional
        The number somebody wrote; it must be the next one. Left out, the next one is taken.
    withdrawn : bool
        This version withdraws the caution.
    says : what `CAUTION_SAID` names

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field: a number that is not the next, a day before the version it replaces, a month that does not exist,
        a text that says what is allowed, a part of the words of another language without the rest.
    """
    last = CautionText.objects.filter(code=code).order_by("version").last()
    following = last.version + 1 if last else 1
    if version is not None and version != following:
        last_words = f"the last version is {last.version}" if last else "it has no version yet"
        raise ValidationError({"version": f"{code}: {last_words}. A changed wording is a new version: write version {following}."})
    if last and in_use_from < last.in_use_from:
        raise ValidationError(
            {"in_use_from": f"Version {last.version} is in use from {day_words(last.in_use_from)}; enter that day or a later one."}
        )
    caution = CautionText(
        code=code, version=following, in_use_from=in_use_from, withdrawn=withdrawn, entered_by=actor, entered_at=timezone.now(), **says
    )
    _check_wording(caution)
    caution.full_clean()
    append_row(caution)
    verb = "withdrawn" if withdrawn else "changed" if last else "added"
    audit_record(actor=actor, verb=f"cautiontext.{verb}", obj=caution, changes=_changes(last, caution), reason=reason)
    return caution


@write
def caution_withdraw(*, actor, caution, on, reason):
    """Withdraw a caution from a day on, by a version that says so."""
    last = CautionText.objects.filter(code=caution.code).order_by("version").last()
    if last.withdrawn:
        raise ValidationError(f"It is already withdrawn from {day_words(last.in_use_from)}.")
    says = {name: getattr(last, name) for name in CAUTION_SAID}
    return caution_add(actor=actor, code=caution.code, in_use_from=on, withdrawn=True, reason=reason, **says)


@write
def cautions_read(*, actor, task, versions, subject="", language=""):
    """Record that a person has read cautions, in the versions and on a page of the language they were shown. Versions not in use are
    left out.

    Returns the record, or None when nothing of it is new.
    """
    in_use = {version_word(caution) for caution in cautions_in_use(timezone.localdate())}
    read = {word for stored in CautionSeen.objects.filter(person=actor).values_list("versions", flat=True) for word in stored}
    new = sorted((set(versions) & in_use) - read)
    if not new:
        return None
    seen = CautionSeen(person=actor, task=task, subject=subject[:60], versions=new, language=language, seen_at=timezone.now())
    seen.full_clean()
    append_row(seen)
    audit_record(actor=actor, verb="cautionseen.added", obj=seen, changes={"versions": [None, new]})
    return seen


def _check_wording(caution):
    wrong = [month for month in caution.months if month not in range(1, 13)]
    if wrong:
        raise ValidationError({"months": f"{wrong[0]} is not a month. Enter numbers from 1 to 12."})
    for name, words in _ALLOWED.items():
        if re.search(words, getattr(caution, name).casefold()):
            raise ValidationError(
                {name: "A caution does not say what is allowed: that is for the local authority. Write what to do and who to ask."}
            )
    for fields in LOCAL_WORDS.values():
        blank = [field for field in fields.values() if not getattr(caution, field)]
        if blank and len(blank) < len(fields):
            names = list_words([caution._meta.get_field(field).verbose_name for field in fields.values()])
            raise ValidationError({blank[0]: f"Fill in all of {names}, or none of them. Until then the English is shown."})


def _changes(last, caution):
    if last is None:
        return {}
    pairs = {name: [getattr(last, name), getattr(caution, name)] for name in (*CAUTION_SAID, "version")}
    return {name: pair for name, pair in pairs.items() if pair[0] != pair[1]}
