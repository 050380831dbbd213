"""The programme's rules: each edition is written once, verified with the authority and reviewed. No rule says that something is allowed."""

from django.core.exceptions import ValidationError

from registry.models import Determination, Requirement
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.shared.records import record_save

__all__ = ["VERIFICATION", "requirement_is_used", "requirement_save", "requirement_verify"]

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
    """Store a rule. The wording of an edition that an answer used is not changed: a rule that changes is a new edition."""
    if rule.pk:
        stored = Requirement.objects.get(pk=rule.pk)
        names = [field.name for field in rule._meta.concrete_fields if getattr(stored, field.name) != getattr(rule, field.name)]
        if set(names) - _MAY_CHANGE and requirement_is_used(stored):
            raise ValidationError(
                {
                    "edition": f"The gate has used edition {stored.edition} of {stored.code} in its answers, so its wording stays. "
                    "Give it a last day, and enter the changed rule as a new edition."
                }
            )
    return record_save(actor=actor, obj=rule, reason=reason)


@write
def requirement_verify(*, actor, rule, verified_on, verified_with, verified_by, review_by):
    """Somebody asked the authority. Until `review_by` the rule counts as verified; it never counts as a permission."""
    rule = Requirement.objects.select_for_update().get(pk=rule.pk)
    if review_by and review_by <= verified_on:
        raise ValidationError({"review_by": "Give a day after the day it was verified."})
    before = {name: getattr(rule, name) for name in VERIFICATION}
    after = {"verified_on": verified_on, "verified_with": verified_with, "verified_by": verified_by, "review_by": review_by}
    for name, value in after.items():
        setattr(rule, name, value)
    rule.full_clean()
    rule.save()
    changes = {name: [_text(before[name]), _text(after[name])] for name in VERIFICATION if before[name] != after[name]}
    audit_record(actor=actor, verb="requirement.verified", obj=rule, changes=changes)
    return rule


def _text(value):
    return value.isoformat() if hasattr(value, "isoformat") else value
