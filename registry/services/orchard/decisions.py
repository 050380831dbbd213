"""Selection decisions: kept, to be rogued or held, with evidence, two names and the floors of diversity."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.people.names import may_be_same_person
from registry.choices import Decision, TreeStatus
from registry.models import PedigreeTree, SelectionDecision
from registry.selectors.orchard.floors import floor_warnings
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check

__all__ = ["decision_enter"]


@write
def decision_enter(
    *, actor, tree, decision, decided_on, evidence, first_name, second_name, ratings=(), method="", warnings_seen=(), warnings_answer="",
    needs_second=None,
):  # fmt: skip
    """Store a decision on a tree. Carrying it out is a step of the status history. The same decision sent again is stored once.

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
    needs_second : bool, optional
        Whether the second person is to confirm it; not so of old decisions that a sheet brings in.

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
    if may_be_same_person(first_name, second_name):
        words = f"“{second_name}” may be another spelling of “{first_name}”. Two different people decide: write the full names of both."
        raise ValidationError({"second_name": words})
    if same := _same_decision(tree, decision, decided_on, evidence, first_name, second_name):
        return same
    warnings = floor_warnings(tree) if decision == Decision.ROGUED else []
    if warnings and warnings != list(warnings_seen):
        raise ValidationError({"warnings_answer": "The decision breaks a floor of diversity. Read the warnings above and give the reason."})
    if warnings and not warnings_answer.strip():
        raise ValidationError({"warnings_answer": "Give the reason to go below the floor."})
    record = SelectionDecision(
        tree=tree, decision=decision, decided_on=decided_on, evidence=evidence.strip(), method=method.strip(),
        first_name=" ".join(first_name.split()), second_name=" ".join(second_name.split()), warnings=warnings,
        warnings_answer=warnings_answer.strip() if warnings else "", needs_second=needs_second, entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    record.full_clean()
    append_row(record)
    record.ratings.set(ratings)
    audit_record(actor=actor, verb="selectiondecision.added", obj=record, reason=record.warnings_answer)
    return record


def _same_decision(tree, decision, decided_on, evidence, first_name, second_name):
    """The last decision on the tree, where it says just this; the lock of the orchard lets only one of two at once look first."""
    last = tree.decisions.first()
    names = tuple(" ".join(name.split()) for name in (first_name, second_name))
    says = (decision, decided_on, evidence.strip(), *names)
    if last and (last.decision, last.decided_on, last.evidence, last.first_name, last.second_name) == says:
        return last
    return None


def _lock_orchard(tree):
    """Two decisions at the same moment could together break a floor that neither breaks alone."""
    trees = PedigreeTree.objects.select_for_update().order_by("pk")
    trees = trees.filter(orchard__iexact=tree.orchard.strip()) if tree.orchard.strip() else trees.filter(pk=tree.pk)
    list(trees.values_list("pk"))
