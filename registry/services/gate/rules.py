"""The programme's rules: each edition is written once, verified with the authority and reviewed. No rule says that something is allowed."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.models import Determination, Requirement, RuleVerification
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check
from registry.services.shared.records import record_save

__all__ = ["VERIFICATION", "requirement_is_used", "requirement_save", "requirement_verify", "verification_correct"]

VERIFICATION = ("verified_on", "verified_with", "verified_by", "review_by")
_MAY_CHANGE = {*VERIFICATION, "until_on", "is_example"}


def requirement_is_used(rule):
    """Whether a stored answer of the gate used this edition: its wording then stays as it was."""
    parts = Determination.objects.values_list("facts", flat=True)
    wanted = (rule.code, rule.edition)
    return any((rule.get("code"), rule.get("edition")) == wanted for facts in parts.iterator() for rule in _rules_in(facts))


def _rules_in(facts):
    return facts.get("requirements") or facts.get("facts", {}).get("requirements") or []


@write
def requirement_save(*, actor, rule, reason=""):
    """Store a rule. The wording of an edition that an answer used is not changed: a rule that changes is a new edition.

    What the rule says of its verification, as a sheet of rules may, becomes a verification on file: a new one, or the correction of
    the last one where only its day is the same.
    """
    given, stored = {name: getattr(rule, name) for name in VERIFICATION}, None
    if rule.pk:
        stored = Requirement.objects.select_for_update().get(pk=rule.pk)
        names = [field.name for field in rule._meta.concrete_fields if getattr(stored, field.name) != getattr(rule, field.name)]
        if set(names) - _MAY_CHANGE and requirement_is_used(stored):
            raise ValidationError(
                {
                    "edition": f"The gate has used edition {stored.edition} of {stored.code} in its answers, so its wording stays. "
                    "Give it a last day, and enter the changed rule as a new edition."
                }
            )
    rule = record_save(actor=actor, obj=rule, reason=reason)
    before = {name: getattr(stored, name) if stored else None for name in VERIFICATION}
    if given["verified_on"] and given != before:
        last = rule.verifications.in_effect().last()
        if last and given["verified_on"] < last.verified_on:
            day = day_words(last.verified_on)
            raise ValidationError({"verified_on": f"The last verification on file is of {day}. Enter earlier ones by their own sheet."})
        same = last if last and last.verified_on == given["verified_on"] else None
        _verification_add(actor, rule, given, supersedes=same, reason=(reason.strip() or "entered again with the rule") if same else "")
    elif before["verified_on"] and not given["verified_on"]:
        raise ValidationError({"verified_on": "A verification on file stays. Correct it on the page of the rule."})
    return rule


@write
def requirement_verify(*, actor, rule, verified_on, verified_with, verified_by, review_by=None):
    """Somebody asked the authority, on this day or an earlier one. Until `review_by` the rule counts as verified, from that day on; it
    never counts as a permission. The rule repeats the last verification."""
    rule = Requirement.objects.select_for_update().get(pk=rule.pk)
    given = {"verified_on": verified_on, "verified_with": verified_with, "verified_by": verified_by, "review_by": review_by}
    if rule.verifications.in_effect().filter(verified_on=verified_on).exists():
        words = f"A verification of {day_words(verified_on)} is on file. Correct that one on the page of the rule."
        raise ValidationError({"verified_on": words})
    return _verified(actor, rule, given)


@write
def verification_correct(*, actor, verification, verified_on, verified_with, verified_by, reason, review_by=None):
    """A newer record replaces a verification that was entered wrongly; both stay, and the wrong one counts on no day."""
    rule = Requirement.objects.select_for_update().get(pk=verification.requirement_id)
    if not reason.strip():
        raise ValidationError({"reason": "Say why it is corrected. The record it replaces stays on file."})
    if not RuleVerification.objects.in_effect().filter(pk=verification.pk).exists():
        raise ValidationError("Somebody has corrected this verification already. Correct the newer one.")
    given = {"verified_on": verified_on, "verified_with": verified_with, "verified_by": verified_by, "review_by": review_by}
    return _verified(actor, rule, given, supersedes=verification, reason=reason.strip())


def _verified(actor, rule, given, **corrects):
    record = _verification_add(actor, rule, given, **corrects)
    last = rule.verifications.in_effect().last()
    for name in VERIFICATION:
        setattr(rule, name, getattr(last, name))
    rule.full_clean()
    rule.save()
    verb = "requirement.corrected_verification" if corrects else "requirement.verified"
    old = corrects.get("supersedes")
    changes = {name: [_text(getattr(old, name, None)), _text(given[name])] for name in VERIFICATION}
    changes = {name: pair for name, pair in changes.items() if pair[0] != pair[1]}
    audit_record(actor=actor, verb=verb, obj=rule, changes=changes, reason=record.reason)
    return record


def _verification_add(actor, rule, given, supersedes=None, reason=""):
    day_check(verified_on=given["verified_on"])
    if given["review_by"] and given["review_by"] <= given["verified_on"]:
        raise ValidationError({"review_by": "Give a day after the day it was verified."})
    record = RuleVerification(
        requirement=rule, supersedes=supersedes, reason=reason[:200], entered_by=actor, entered_at=timezone.now(), **given
    )
    record.full_clean()
    return append_row(record)


def _text(value):
    return value.isoformat() if hasattr(value, "isoformat") else value
