"""A survival report is issued: numbered, frozen with what it rests on, and from then on only replaced by a later one."""

import hashlib

from django.core.exceptions import ValidationError
from django.utils import timezone

from plantings.models import IssuedReport
from plantings.selectors.reports.reports import next_number
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.permits.documents import file_keep

__all__ = ["report_issue"]


@write
def report_issue(*, actor, number, year, level, moment, content, rests_sha256, head, pdf, supersedes=None, reason=""):
    """Issue a survival report.

    Parameters
    ----------
    actor : Person
    number : str
        As it is printed; refused when another report got it meanwhile.
    year : int
    level, moment : str
        Codes of what is shown.
    content : str
        Canonical JSON of everything that is frozen.
    rests_sha256 : str
    head : (number of entries, SHA-256) of the audit trail when it was drawn
    pdf : bytes
    supersedes : IssuedReport, optional
        The report that it replaces, for a `reason`.

    Returns
    -------
    IssuedReport
    """
    if number != next_number(year):
        raise ValidationError("Somebody else issued a report of this year meanwhile. Look at it, then draw this one again.")
    if supersedes is not None and hasattr(supersedes, "superseded_by"):
        raise ValidationError(f"Report {supersedes.number} was replaced already, by {supersedes.superseded_by.number}.")
    file = file_keep(actor=actor, content=pdf, filename=f"survival-report-{number}.pdf")
    report = IssuedReport(
        number=number, year=year, level=level, moment=moment, content=content,
        content_sha256=hashlib.sha256(content.encode()).hexdigest(), rests_sha256=rests_sha256, audit_entries=head[0], audit_sha256=head[1],
        pdf=file, supersedes=supersedes, reason=reason, entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    report.full_clean()
    append_row(report)
    audit_record(actor=actor, verb="issuedreport.issued", obj=report, changes={"number": [None, number]}, reason=reason)
    return report
