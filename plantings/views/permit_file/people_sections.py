"""The sections of a permit file about people: who acted, who was trained, who read which cautions."""

from django.utils import timezone

from registry.access.languages import language_words
from registry.choices import CautionTask
from registry.prints.permit_file import FileColumn, FileSection
from registry.views.duties.words import status_words

_TASKS = dict(CautionTask.choices)


def _local(moment):
    return timezone.localtime(moment) if moment else None


def people_section(file):
    """Who holds it, who acted under it, who has left."""
    paper = file.paper
    rows = [
        (name, part, "", None, None, None, None)
        for name, part, account in (
            (paper.holder_person, "holder", paper.holder_account_id), (paper.second_contact, "second contact", paper.second_account_id)
        )
        if name and not account
    ]  # fmt: skip
    rows += [
        (str(person), part or "entered records", person.role_label, person.left_on, acts, _local(first), _local(last))
        for person, part, acts, first, last in file.people
    ]
    columns = (
        FileColumn("Person", 1.6), FileColumn("As", 1.6), FileColumn("Role", 1.4), FileColumn("Left on", 1, "date"),
        FileColumn("Entries in the history", 1, "number"), FileColumn("First", 1.4, "moment"), FileColumn("Last", 1.4, "moment"),
    )  # fmt: skip
    return FileSection(
        "people", "People", columns, tuple(rows), note="Receivers, finders and those who carried out a duty are named with what they did."
    )


def training_section(file):
    """The training these people were to have, with the evidence of what was done."""
    rows, keys = [], []
    for duty, status in file.training:
        done = next((done for done in duty.done_now if done.due_on == status.due), None)
        evidence = (done.by, done.evidence) if done and status.done_on else ("", "")
        rows.append((str(duty.responsible), duty.title, duty.code, status.due, status_words(status), status.done_on, *evidence))
        keys.append(duty.pk)
    columns = (
        FileColumn("Person", 1.5), FileColumn("Training", 1.9), FileColumn("Duty", 1.1, "code"), FileColumn("Due on", 1, "date"),
        FileColumn("Status", 1.2), FileColumn("Done on", 1, "date"), FileColumn("By", 1), FileColumn("Evidence", 2),
    )  # fmt: skip
    return FileSection(
        "training", "Training", columns, tuple(rows), note="Duties of the kind “training” of the people in this file.",
        empty="No training of these people is recorded.", route="duty_detail", keys=tuple(keys),
    )  # fmt: skip


def crews_section(file):
    """Who confirmed on a phone, before a round at a planting under this paper, that they had read its cautions."""
    rows = tuple(
        (
            str(reading.round), reading.name, _local(reading.read_at), reading.wording[:12], language_words(reading.language),
            ", ".join(reading.versions), str(reading.link or f"account of {reading.entered_by}"),
        )
        for reading in file.crews
    )  # fmt: skip
    columns = (
        FileColumn("Round", 1.6), FileColumn("Person", 1.5), FileColumn("Read at", 1.2, "moment"),
        FileColumn("Wording", 1.1, "code"), FileColumn("Language", 0.8),
        FileColumn("Cautions, with their versions", 2), FileColumn("By", 1.6),
    )  # fmt: skip
    return FileSection(
        "cautions_of_rounds", "Cautions read before a round", columns, rows,
        note="What was confirmed on a phone before the first record of a round. Equal marks of the wording are the same words.",
        empty="Nobody has confirmed on a phone that they read the cautions.", route="round_detail",
        keys=tuple(reading.round_id for reading in file.crews),
    )  # fmt: skip


def cautions_section(file):
    rows = tuple(
        (
            str(seen.person),
            _TASKS.get(seen.task, seen.task),
            seen.subject,
            ", ".join(seen.versions),
            language_words(seen.language),
            _local(seen.seen_at),
        )
        for seen in file.cautions
    )
    columns = (
        FileColumn("Person", 1.5), FileColumn("Task", 1.3), FileColumn("For", 1.2), FileColumn("Cautions, with their versions", 3),
        FileColumn("Language", 0.8), FileColumn("Read at", 1.2, "moment"),
    )  # fmt: skip
    return FileSection(
        "cautions", "Cautions read", columns, rows, note="What these people said they had read, each version once.",
        empty="None of these people has said that they read the cautions.",
    )  # fmt: skip
