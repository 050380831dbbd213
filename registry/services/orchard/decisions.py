"""Selection decisions: kept, to be rogued or held, with evidence, two names and the floors of diversity."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.choices import Decision, TreeStatus
from registry.models import PedigreeTree, SelectionDecision
from registry.selectors.orchard.floors import floor_warnings
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check

__all__ = ["decision_enter"]


@write
def decision_enter(
    *, actor, tree, decision, decided_on, evidence, first_name, second_name, ratings=(), method="", warnings_seen=(), warnings_answer=""
):
    """Store a decision on a tree. Carrying it out is a step of the status history.

    Parameters
    ----------
    actor : Person
    tree : PedigreeTree
    decision : str
        A decision of `Decision`.
    decided_on : datetime.date
    evidence, method : str
    first_name, second_name : str
        The two people who decide.
    ratings : iterable of Rating
        Of this tree: the evidence of the decision.
    warnings_seen : sequence of str
        The broken floors that the person saw. A floor they did not see is not agreed to.
    warnings_answer : str
        The reason to go below the floor.

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field; under "warnings_answer" when a floor breaks and was not shown or not answered.
    """
    day_check(decided_on=decided_on)
    _lock_orchard(tree)
    ratings = list(ratings)
    # a tree that fell later could still be decided on: old records are entered after the fact
    was_gone = tree.status != TreeStatus.STANDING and (tree.status_on is None or tree.status_on < decided_on)
    if was_gone and decision == Decision.ROGUED:
        raise ValidationError({"decision": f"{tree.code} is recorded as {tree.get_status_display()}. Only a standing tree can be rogued."})
    if any(rating.tree_id != tree.pk for rating in ratings):
        raise ValidationError({"ratings": f"Choose ratings of {tree.code} itself."})
    if " ".join(first_name.split()).casefold() == " ".join(second_name.split()).casefold():
        raise ValidationError({"second_name": "Two different people decide. Give the name of the second."})
    warnings = floor_warnings(tree) if decision == Decision.ROGUED else []
    if warnings and warnings != list(warnings_seen):
        raise ValidationError({"warnings_answer": "The decision breaks a floor of diversity. Read the warnings above and give the reason."})
    if warnings and not warnings_answer.strip():
        raise ValidationError({"warnings_answer": "Give the reason to go below the floor."})
    record = SelectionDecision(
        tree=tree, decision=decision, decided_on=decided_on, evidence=evidence.strip(), method=method.strip(),
        first_name=" ".join(first_name.split()), second_name=" ".join(second_name.split()), warnings=warnings,
        warnings_answer=warnings_answer.strip() if warnings else "", entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    record.full_clean()
    append_row(record)
    record.ratings.set(ratings)
    audit_record(actor=actor, verb="selectiondecision.added", obj=record, reason=record.warnings_answer)
    return record


def _lock_orchard(tree):
    """Two decisions at the same moment could together break a floor that neither breaks alone."""
    trees = PedigreeTree.objects.select_for_update().order_by("pk")
    trees = trees.filter(orchard__iexact=tree.orchard.strip()) if tree.orchard.strip() else trees.filter(pk=tree.pk)
    list(trees.values_list("pk"))
