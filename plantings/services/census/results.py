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
    """Record a printed result. `newest` is what `newest_of` gave before it was drawn; `said` is what `print_record` takes besides."""
    issued = print_record(actor=actor, kind=IssuedKind.ROUND_RESULT, **said)
    result = RoundResult(round=census_round, issued=issued, entered_by=actor, entered_at=timezone.now(), **newest)
    result.full_clean()
    append_row(result)
    audit_record(actor=actor, verb="censusround.result_given_out", obj=census_round)
    return result
