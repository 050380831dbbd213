"""The printed result of a census round: recorded with the state of the records it was drawn from."""

from django.utils import timezone

from plantings.models import RoundResult
from registry.choices import IssuedKind
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.prints.issued import print_record

__all__ = ["round_result_give_out"]


@write
def round_result_give_out(*, actor, census_round, newest, **said):
    """Record a printed result. `newest` are the keys of the newest record and review it was drawn from; `said` is what `print_record`
    takes besides."""
    issued = print_record(actor=actor, kind=IssuedKind.ROUND_RESULT, **said)
    record, review = newest
    result = RoundResult(
        round=census_round, issued=issued, newest_record=record, newest_review=review, entered_by=actor, entered_at=timezone.now()
    )
    result.full_clean()
    append_row(result)
    audit_record(actor=actor, verb="censusround.result_given_out", obj=census_round)
    return result
