"""The sections of a permit file about the paper itself: wording, answers, duties, incidents, people, documents, history."""

from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.compliance.gate.explain import tell
from registry.compliance.gate.words import ACTIVITIES
from registry.forms.shared.filters import record_type_names
from registry.prints.permit_file import FileColumn, FileSection
from registry.selectors.duties.incidents import clock_status, limit_words, zoned_words
from registry.selectors.gate.determinations import VERDICT_WORDS
from registry.selectors.permits.authorizations import PAPER_FACTS
from registry.views.audit.changes import changes_words, verb_words
from registry.views.duties.words import clock_words, status_words

HISTORY_PRINTED, HISTORY_SHOWN = 300, 25
_CODE, _DATE, _NUMBER, _MOMENT = "code", "date", "number", "moment"


def _who(person):
    return str(person) if person else "taken over"


def _local(moment):
    """On the programme's own clock, with its offset: the PDF leaves the offset out, the tables have it."""
    return timezone.localtime(moment) if moment else None


def paper_facts(paper, on):
    """(label, value) of a paper, as its file begins."""
    return (
        ("Our reference", paper.code), ("Title", paper.title), ("Type", paper.get_type_display()), ("State", paper.get_state_display()),
        *((label, value(paper, on)) for label, value in PAPER_FACTS),
    )  # fmt: skip


def versions_section(file):
    rows = tuple(
        ("as issued" if version.number == 0 else f"amendment {version.number}", version.from_on, version.starts_on, version.ends_on,
         version.cap_quantity, version.cap_unit, version.covers, version.conditions, version.reason, _who(version.entered_by),
         _local(version.entered_at))
        for version in file.versions
    )  # fmt: skip
    columns = (
        FileColumn("Version", 1.1), FileColumn("In effect from", 1, _DATE), FileColumn("From", 1, _DATE), FileColumn("Until", 1, _DATE),
        FileColumn("Cap", 0.6, _NUMBER), FileColumn("Unit", 0.6), FileColumn("Covers, as written", 2),
        FileColumn("Conditions, as written", 2.4),
        FileColumn("What was amended", 1.4), FileColumn("Entered by", 1.1), FileColumn("Entered at", kind=_MOMENT, only="file"),
    )  # fmt: skip
    return FileSection("versions", "What it says: versions", columns, rows)


def states_section(file):
    rows = tuple(
        (state.on, state.get_state_display(), state.reason, _who(state.entered_by), _local(state.entered_at)) for state in file.states
    )
    columns = (
        FileColumn("From", 1, _DATE), FileColumn("State", 1.4), FileColumn("Why", 3), FileColumn("Entered by", 1.2),
        FileColumn("Entered at", 1.4, _MOMENT),
    )  # fmt: skip
    return FileSection("states", "States", columns, rows)


def draws_section(file):
    rows = tuple(
        (draw.on, draw.get_kind_display(), draw.subject, draw.lot.code if draw.lot else "", draw.quantity, draw.reason,
         _who(draw.entered_by)) for draw in file.draws
    )  # fmt: skip
    columns = (
        FileColumn("On", 1, _DATE), FileColumn("What", 1.2), FileColumn("Shipment or planting", 1.6, _CODE), FileColumn("Lot", 1.5,
        _CODE),
        FileColumn("Quantity", 0.8, _NUMBER), FileColumn("Why", 1.8), FileColumn("Entered by", 1.2),
    )  # fmt: skip
    return FileSection("draws", "Drawn from its cap", columns, rows, empty="Nothing drawn from it.")


def determinations_section(file):
    """Every gate answer that names the paper, and whether its stored facts give the same answer again."""
    rows = tuple(
        (record.pk, ACTIVITIES.get(record.activity, record.activity), record.subject, record.asked_for,
         VERDICT_WORDS.get(record.verdict, record.verdict), record.carried_out, _who(record.override_by) if record.override_by_id else "",
         record.override_reason, "the same again" if not fault else f"not: {fault}", _who(record.entered_by), _local(record.entered_at))
        for record, fault, _rules in file.answers
    )  # fmt: skip
    columns = (
        FileColumn("No.", 0.5), FileColumn("About", 1.3), FileColumn("Shipment or planting", 1.4, _CODE), FileColumn("For the day",
        1, _DATE),
        FileColumn("Answer", 2), FileColumn("Carried out", 0.8), FileColumn("Overridden by", 1.1), FileColumn("Why", 1.8),
        FileColumn("Run again", 1.2), FileColumn("Asked by", only="file"), FileColumn("Stored at", kind=_MOMENT, only="file"),
    )  # fmt: skip
    return FileSection(
        "determinations", "Gate answers: why it was released or stopped", columns, rows, empty="No stored answer names this paper.",
        note="Run again: the gate answers again from the question, rules and papers stored with the answer.",
        route="determination_detail", keys=tuple(record.pk for record, _fault, _rules in file.answers),
    )  # fmt: skip


def rules_section(file):
    """What each of these answers says of each rule, as the rule was then."""
    rows, keys = [], []
    for record, _fault, rules in file.answers:
        for finding, rule in rules:
            told = tell(finding)
            read = (rule.source, rule.verified_on, rule.verified_with) if rule else ("", None, "")
            rows.append(
                (str(record.pk), record.subject, record.asked_for, finding.code if finding.edition else "", finding.edition, finding.title,
                 told.status, finding.severity, ", ".join(finding.met_by), ", ".join(finding.lots), *read,
                 f"The rule is {finding.unverified}" if finding.unverified else "verified" if rule else "", told.wanted,
                 told.next_step)
            )  # fmt: skip
            keys.append(record.pk)
    columns = (
        FileColumn("No.", 0.5), FileColumn("Shipment or planting", 1.3, _CODE), FileColumn("For the day", 0.9, _DATE),
        FileColumn("Rule", 1.2, _CODE), FileColumn("Edition", 0.9), FileColumn("Title", 2.1), FileColumn("Found", 0.8),
        FileColumn("Weight", only="file"), FileColumn("Papers", 1.1, _CODE), FileColumn("Lots", 1.2, _CODE),
        FileColumn("Read in", only="file"), FileColumn("Verified on", kind=_DATE, only="file"), FileColumn("Verified with", only="file"),
        FileColumn("Verification", 1.4), FileColumn("Needed", only="file"), FileColumn("Next step", only="file"),
    )  # fmt: skip
    return FileSection(
        "rules", "Gate answers, rule by rule", columns, tuple(rows), empty="No stored answer names this paper.",
        note="Rules as they were when the gate answered, with their edition. A line without a rule is a check without a rule.",
        route="determination_detail", keys=tuple(keys),
    )  # fmt: skip


def duties_section(dates):
    """(duty, status) pairs of due dates, with the evidence of those done."""
    rows, keys = [], []
    for duty, status in dates:
        done = min((done for done in duty.done_now if done.due_on == status.due), key=lambda done: done.done_on, default=None)
        seen = (done.by, done.evidence, done.file.sha256 if done.file else "") if done and status.done_on else ("", "", "")
        closed = f"closed {day_words(duty.closed_on)}: {duty.closed_reason}" if duty.closed_on else ""
        rows.append((duty.code, duty.title, duty.get_kind_display(), status.due, status_words(status), status.done_on, *seen, closed))
        keys.append(duty.pk)
    columns = (
        FileColumn("Duty", 1.1, _CODE), FileColumn("What", 1.8), FileColumn("Kind", only="file"), FileColumn("Due on", 1, _DATE),
        FileColumn("Status", 1.2), FileColumn("Done on", 1, _DATE), FileColumn("By", 1), FileColumn("Evidence", 2.2),
        FileColumn("SHA-256 of its file", only="file"), FileColumn("Closed", 1.2),
    )  # fmt: skip
    return FileSection(
        "duties", "Duties", columns, tuple(rows),
        note="Every due date so far and the next. The end of the paper does not end its duties.",
        empty="No duties under this paper.", route="duty_detail", keys=tuple(keys),
    )  # fmt: skip


def incidents_section(incidents):
    rows = tuple(
        (one.code, one.title, zoned_words(one.found_at, one), one.found_by, one.place or one.site_code, one.what, one.done_about_it,
         one.closed_on)
        for one in incidents
    )  # fmt: skip
    columns = (
        FileColumn("Incident", 1.1, _CODE), FileColumn("In a few words", 1.5), FileColumn("Discovered", 1.5), FileColumn("By", 1),
        FileColumn("Where", 1), FileColumn("What was found", 2.2), FileColumn("What was done", 2), FileColumn("Closed on", 1, _DATE),
    )  # fmt: skip
    keys = tuple(one.pk for one in incidents)
    return FileSection("incidents", "Incidents", columns, rows, empty="No incidents under this paper.", route="incident_detail", keys=keys)


def clocks_section(clocks):
    rows = tuple(
        (state.incident.code, state.clock.title, state.clock.tell, clock_words(state.clock), limit_words(state),
         zoned_words(state.notice.told_at, state.incident) if state.notice else "", clock_status(state))
        for state in clocks
    )  # fmt: skip
    columns = (
        FileColumn("Incident", 1, _CODE), FileColumn("What to tell", 1.4), FileColumn("Whom", 1.3), FileColumn("Within", 1.2),
        FileColumn("By", 1.8), FileColumn("Told", 1.8), FileColumn("Status", 1.2),
    )  # fmt: skip
    return FileSection("clocks", "Incident clocks", columns, rows, empty="No clock of this paper has started.")


def notices_section(file):
    rows = tuple(
        (notice.incident.code, zoned_words(notice.told_at, notice.incident), notice.told_whom, notice.how, notice.told_by, notice.text,
         _corrected(notice))
        for notice in file.notices
    )  # fmt: skip
    columns = (
        FileColumn("Incident", 1, _CODE), FileColumn("Told at", 1.6), FileColumn("Whom", 1.3), FileColumn("How", 0.8),
        FileColumn("By", 1), FileColumn("What was said", 2.2), FileColumn("Corrected", 1.2),
    )  # fmt: skip
    return FileSection("notices", "Incident notices", columns, rows, empty="No notices.")


def _corrected(notice):
    newer = getattr(notice, "superseded_by", None)
    return f"by a later record: {newer.reason}" if newer else ""


def signatures_section(file):
    rows = tuple((str(one.text), one.signed_by, one.signed_on, one.get_how_display(), _who(one.entered_by)) for one in file.signatures)
    columns = (
        FileColumn("Wording", 2.4), FileColumn("Signed by", 1.4), FileColumn("On", 1, _DATE), FileColumn("How", 1),
        FileColumn("Entered by", 1.2),
    )  # fmt: skip
    return FileSection("signatures", "Signatures", columns, rows, empty="No signatures under this paper.")


def documents_section(file):
    rows = tuple(
        (used.title, used.of, used.dated, used.file.filename, used.file.size_bytes, used.file.sha256, _who(used.entered_by),
         _local(used.entered_at))
        for used in file.files
    )  # fmt: skip
    columns = (
        FileColumn("Document", 1.5), FileColumn("Of", 0.9, _CODE), FileColumn("Dated", 1, _DATE), FileColumn("File", 1.3),
        FileColumn("Bytes", 0.8, _NUMBER), FileColumn("SHA-256", 3, _CODE), FileColumn("Added by", 1), FileColumn("Added at",
        kind=_MOMENT, only="file"),
    )  # fmt: skip
    return FileSection(
        "documents", "Documents", columns, rows, note="The files are in the ZIP. Each is checked against its SHA-256 when the ZIP is made.",
        empty="No documents with this paper.",
    )  # fmt: skip


def history_row(entry):
    about = f"{record_type_names().get(entry.record_type, entry.record_type)} {entry.record_label}"
    said = (str(entry.actor), about, verb_words(entry), changes_words(entry), entry.reason)
    return (entry.pk, _local(entry.at), *said, entry.sha256)


HISTORY_COLUMNS = (
    FileColumn("No.", only="file"), FileColumn("At", 1.2, _MOMENT), FileColumn("Who", 1), FileColumn("Record", 1.7),
    FileColumn("What", 1), FileColumn("Changes", 3), FileColumn("Why", 1.4), FileColumn("SHA-256 in the audit chain", only="file"),
)  # fmt: skip


def history_section(file, entries):
    """The latest of the audit trail. The rest is in the ZIP."""
    rows = tuple(history_row(entry) for entry in entries)
    of = (
        f"the latest {len(rows):,} of {file.history_count:,}; the ZIP has all of them in history.csv"
        if len(rows) < file.history_count
        else "all entries"
    )
    note = f"The audit trail of the paper, its shipments, receipts, leftovers, plantings, answers, duties, incidents and prints: {of}."
    return FileSection("history", "Audit history", HISTORY_COLUMNS, rows, note=note, page_rows=HISTORY_SHOWN)
