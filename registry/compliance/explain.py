"""An answer told in plain words, line by line."""

from registry.compliance.answers import BLOCKING, MET, MISSING, VERDICTS, Answer, Finding, Near, Reason
from registry.compliance.words import ACTIVITIES, TYPES, day_words, list_words

_STATUS = {MET: "met", MISSING: "missing"}


def explain(answer: Answer) -> list[str]:
    """The answer as lines of plain words: what was asked, each finding with its papers, what is drawn, what is always said.

    Examples
    --------
    >>> from datetime import date
    >>> explain(Answer("check", "dispatch", date(2026, 4, 1), (), (), "Check with the local authority."))[0]
    'Dispatch of a shipment on 1 Apr 2026: nothing on file stops it, but something must be asked or looked at first.'
    """
    activity = ACTIVITIES.get(answer.activity, answer.activity)
    lines = [f"{activity[:1].upper()}{activity[1:]} on {day_words(answer.on)}: {VERDICTS[answer.verdict]}."]
    for finding in answer.findings:
        lines += _finding_lines(finding)
    lines += [f"Drawn once done: {draw.quantity} {draw.unit} of lot {draw.lot} under {draw.paper}." for draw in answer.draws]
    return [*lines, answer.always]


def _finding_lines(finding: Finding) -> list[str]:
    status = _STATUS.get(finding.status, "to know")
    if finding.status == MISSING:
        status += ", blocking" if finding.severity == BLOCKING else ", advisory"
    name = finding.title if finding.code == finding.kind else f"{finding.code} {finding.title} (edition {finding.edition})"
    about = f" Lots: {', '.join(finding.lots)}." if finding.lots else ""
    lines = [f"{name}: {status}.{about}"]
    if finding.is_example:
        lines.append("  This rule is an example, not law.")
    if finding.unverified:
        lines.append(f"  The rule is {finding.unverified}.")
    lines += [f"  {note.rstrip('.')}." for note in finding.notes]
    if finding.wanted:
        sets = list_words((list_words(TYPES.get(code, code) for code in types) for types in finding.wanted), "and")
        lines.append(f"  Asked for: {sets}.")
    if finding.met_by:
        lines.append(f"  {'Met' if finding.status == MET else 'Met in part'} by: {', '.join(finding.met_by)}.")
    lines += [f"  {_near_words(near)}" for near in finding.near]
    if finding.near_left_off:
        lines.append(f"  {finding.near_left_off} more papers came near.")
    return [*lines, f"  Next: {finding.next_step}"]


def _near_words(near: Near) -> str:
    title = f" {near.title}" if near.title else ""
    return f"Not met by {near.paper}{title}: {'; '.join(map(_reason_words, near.reasons))}."


def _reason_words(reason: Reason) -> str:
    return f"{reason.words} (lots {', '.join(reason.lots)})" if reason.lots else reason.words
