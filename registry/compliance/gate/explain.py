"""An answer in plain words, line by line.

Source
------
Definition of this programme for all functions here: the words an answer is given in.
"""

from dataclasses import dataclass

from registry.calc.shared.screen import day_words, list_words
from registry.compliance.gate.answers import MET, MISSING, VERDICTS, Answer, Finding, Reason
from registry.compliance.gate.words import ACTIVITIES, TYPES, lots_words

_STATUS = {MET: "met", MISSING: "missing"}


@dataclass(frozen=True, slots=True)
class Told:
    """A finding in plain words, without full stops.

    `met_by` holds a paper and the lots it covers, `near` a paper, its title and why it does not cover; words are “” where
    there is nothing to say.
    """

    status: str
    notes: tuple[str, ...]
    wanted: str
    met: str
    met_by: tuple[tuple[str, str], ...]
    not_covered: str
    near: tuple[tuple[str, str, str], ...]
    near_left_off: str
    next_step: str


def explain(answer: Answer) -> list[str]:
    """The answer as lines of plain words: the question, each finding with its papers, what is drawn, what is always said.

    Examples
    --------
    >>> from datetime import date
    >>> explain(Answer("check", "dispatch", date(2026, 4, 1), (), (), "Check with the local authority."))[0]
    'Dispatch of a shipment on 1 Apr 2026: nothing on file stops it, but something must be checked first.'
    """
    activity = ACTIVITIES.get(answer.activity, answer.activity)
    lines = [f"{activity[:1].upper()}{activity[1:]} on {day_words(answer.on)}: {VERDICTS[answer.verdict]}."]
    for finding in answer.findings:
        lines += _finding_lines(finding)
    lines += [f"Drawn from a cap when done: {draw.quantity} {draw.unit} of lot {draw.lot} under {draw.paper}." for draw in answer.draws]
    return [*lines, answer.always]


def tell(finding: Finding) -> Told:
    """A finding in plain words, for the command and for the panel of a page alike.

    Examples
    --------
    >>> tell(Finding("receiver", "receiver", "No receiver is named", MISSING, "blocking", next_step="Name the person.")).next_step
    'Name the person.'
    """
    is_about_lots = finding.status == MISSING and finding.lots
    lots_of = {cover.paper: cover.lots for cover in finding.covered} if is_about_lots else {}
    not_covered = sorted(set(finding.lots).difference(*lots_of.values())) if lots_of else []
    notes = [f"The rule is {finding.unverified}"] if finding.unverified else []
    notes = ["This rule is an example, not law", *notes] if finding.is_example else notes
    return Told(
        status=_STATUS.get(finding.status, "to know"),
        notes=(*notes, *(note.rstrip(".") for note in finding.notes)),
        wanted=list_words((list_words(TYPES.get(code, code) for code in types) for types in finding.wanted), "and"),
        met="Met in part by" if finding.status == MISSING else "Met by",
        met_by=tuple((code, lots_words(lots_of[code]) if lots_of.get(code) else "") for code in finding.met_by),
        not_covered=lots_words(not_covered) if not_covered else "",
        near=tuple((near.paper, near.title, "; ".join(map(_reason_words, near.reasons))) for near in finding.near),
        near_left_off=f"{finding.near_left_off} more papers nearly cover it" if finding.near_left_off else "",
        next_step=finding.next_step,
    )


def _finding_lines(finding: Finding) -> list[str]:
    told = tell(finding)
    severity = f", {finding.severity}" if finding.status == MISSING else ""
    name = finding.title if finding.code == finding.kind else f"{finding.code} {finding.title} (edition {finding.edition})"
    about = f" Lots: {', '.join(finding.lots)}." if finding.lots else ""
    lines = [f"{name}: {told.status}{severity}.{about}", *(f"  {note}." for note in told.notes)]
    if told.wanted:
        lines.append(f"  Needed: {told.wanted}.")
    if told.met_by:
        papers = ", ".join(f"{code} ({lots})" if lots else code for code, lots in told.met_by)
        lines.append(f"  {told.met}: {papers}.")
    if told.not_covered:
        lines.append(f"  Not covered: {told.not_covered}.")
    lines += [f"  Not met by {code}{title and f' {title}'}: {why}." for code, title, why in told.near]
    if told.near_left_off:
        lines.append(f"  {told.near_left_off}.")
    return [*lines, f"  Next: {told.next_step}"]


def _reason_words(reason: Reason) -> str:
    return f"{reason.words} ({lots_words(reason.lots)})" if reason.lots else reason.words
