"""The weekly mail: who gets what, once a week, and what happens when it cannot be sent."""

import datetime
import threading
from concurrent.futures import ThreadPoolExecutor
from smtplib import SMTPServerDisconnected

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import CommandError, call_command
from django.db import connections
from django.utils import timezone

from registry.models import Person, ReminderSent, ReportingClock, Requirement, Shipment
from registry.services.duties.reminders import reminder_parts, reminders_send, week_of
from tests import factories

DAY = datetime.date
ON = DAY(2026, 10, 12)
NOW = datetime.datetime(2026, 10, 12, 13, 0, tzinfo=datetime.UTC)


def parts(person, on=ON):
    return {part.title: [line.text for line in part.lines] for part in reminder_parts(person, on, NOW)}


@pytest.mark.parametrize(
    ("day", "week"),
    [
        # ISO 8601 week dates: the week with the year's first Thursday is week 1
        (DAY(2026, 10, 12), "2026-W42"), (DAY(2026, 10, 18), "2026-W42"), (DAY(2026, 10, 19), "2026-W43"),
        (DAY(2027, 1, 3), "2026-W53"), (DAY(2027, 1, 4), "2027-W01"), (DAY(2024, 12, 30), "2025-W01"),
    ],
)  # fmt: skip
def test_weeks_are_iso_weeks(day, week):
    assert week_of(day) == week


@pytest.mark.django_db
def test_a_person_is_mailed_their_own_duties_only():
    volunteer, second, other = factories.person("volunteer"), factories.person("manager"), factories.person("volunteer")
    paper = factories.authorization(code="P-1")
    factories.duty(title="Visit", first_due_on=DAY(2026, 10, 11), responsible=volunteer, second=second, authorization=paper)
    factories.duty(title="Count", first_due_on=DAY(2026, 11, 11), responsible=volunteer)
    factories.duty(title="Report", first_due_on=DAY(2026, 11, 12), responsible=volunteer, lead_days=5)
    assert parts(volunteer) == {"Overdue": ["Visit (P-1): overdue by 1 day"], "Due in the next 30 days": ["Count: due in 30 days"]}
    assert parts(second) == {"Overdue": ["Visit (P-1): overdue by 1 day"]}
    assert parts(other) == {}


@pytest.mark.django_db
def test_days_without_a_receipt_are_counted_like_everything_else():
    for code, days in (("NEW", 1), ("LOST", 1483)):
        sent = ON - datetime.timedelta(days=days)
        Shipment.objects.create(code=code, receiver=factories.partner(), state="dispatched", dispatched_on=sent)
    texts = [text.partition(" has no receipt ")[2] for text in parts(factories.person("coordinator"))["Shipments without a receipt"]]
    assert texts == ["after 1,483 days", "after 1 day"]


@pytest.mark.django_db
def test_the_mail_of_a_coordinator_has_every_part():
    coordinator, manager = factories.person("coordinator"), factories.person("manager")
    factories.duty(title="Visit", first_due_on=DAY(2026, 9, 28), responsible=factories.person("volunteer"))
    Shipment.objects.create(code="BOX", receiver=factories.partner(name="Mill"), state="dispatched", dispatched_on=DAY(2026, 9, 1))
    held = factories.authorization(code="P-1", title="Permit", state="in_force", ends_on=DAY(2027, 1, 10), holder_account=manager)
    factories.authorization(code="P-2", title="Licence", state="in_force", ends_on=DAY(2027, 4, 11))
    factories.authorization(code="P-3", state="in_force", ends_on=DAY(2026, 10, 11))
    Requirement.objects.create(code="R-1", edition="1", title="Rule", source="invented", review_by=DAY(2026, 11, 11))
    Requirement.objects.create(code="R-2", edition="1", title="Rule", source="invented", review_by=DAY(2026, 11, 12))
    ReportingClock.objects.create(authorization=held, title="call", tell="Office", amount=1, unit="hours")
    factories.incident(code="IN-1", papers=[held], found_at=NOW - datetime.timedelta(hours=3))
    found = parts(coordinator)
    assert list(found) == [
        "Incidents to report",
        "Overdue",
        "Shipments without a receipt",
        "Rules and papers to check again",
        "Papers that end",
    ]
    assert found["Overdue"] == ["Visit: overdue by 14 days"]
    assert found["Shipments without a receipt"] == ["Shipment BOX to Mill has no receipt after 41 days"]
    assert found["Rules and papers to check again"] == ["Rule R-1 Rule: ask the authority again"]
    assert [text.split(".")[0] for text in found["Papers that end"]] == [
        "P-3 Example permit ended; its duties continue", "P-1 Permit ends soon, within 90 days",
    ]  # fmt: skip
    assert "not told, 2 hours 0 minutes late" not in found["Incidents to report"][0]
    assert found["Incidents to report"][0].endswith("not told, 2 hours overdue")
    assert list(parts(manager)) == ["Papers that end"]
    assert parts(factories.person("lead"), DAY(2026, 10, 28))["Overdue"] == ["Visit: overdue by 30 days"]


@pytest.mark.django_db
@pytest.mark.parametrize(("ends_on", "words"), [
    (DAY(2027, 4, 10), "ends soon"), (DAY(2027, 1, 11), "ends soon"), (DAY(2027, 1, 10), "within 90 days"),
    (DAY(2026, 11, 12), "within 90 days"), (DAY(2026, 11, 11), "within 30 days"), (ON, "within 30 days"), (DAY(2026, 10, 11), "ended"),
])  # fmt: skip
def test_boundary_days_of_the_notices_before_a_paper_ends(ends_on, words):
    factories.authorization(state="in_force", ends_on=ends_on)
    [line] = parts(factories.person("coordinator"))["Papers that end"]
    assert words in line and (words != "ends soon" or "within" not in line)


@pytest.mark.django_db
def test_a_paper_that_ends_in_181_days_is_not_mailed_yet():
    factories.authorization(state="in_force", ends_on=DAY(2027, 4, 12))
    assert parts(factories.person("coordinator")) == {}


@pytest.fixture
def late(db):
    person = factories.person("volunteer", username="vera", first_name="Vera", last_name="Voß")
    factories.duty(title="Blüten", first_due_on=DAY(2026, 10, 1), responsible=person)
    return person


def states(outcomes):
    return {outcome.person.username: outcome.state for outcome in outcomes if outcome.state != "nothing to say"}


def test_the_mail_lists_what_to_do_with_links(late, settings):
    settings.SITE_URL = "https://book.example.org"
    assert states(reminders_send(on=ON, now=NOW)) == {"vera": "sent"}
    [sent] = mail.outbox
    assert (sent.to, sent.subject) == (["vera@example.org"], "Mastbook: 1 overdue, 1 thing to do")
    duty = late.duties.get()
    assert "Vera Voß, this is due or open on 12 Oct 2026:" in sent.body
    assert (
        "- Blüten: overdue by 11 days [1 Oct 2026] – Vera Voß, escalated to the coordinators\n"
        f"  Next: Do it, then enter it with its evidence.\n  https://book.example.org/duties/{duty.pk}/" in sent.body
    )
    assert "Check with the local authority" in sent.body


def test_each_week_sends_one_mail_however_often_it_runs(late):
    assert states(reminders_send(on=ON, now=NOW)) == {"vera": "sent"}
    assert states(reminders_send(on=DAY(2026, 10, 18), now=NOW)) == {"vera": "sent before"}
    assert len(mail.outbox) == 1
    assert states(reminders_send(on=DAY(2026, 10, 19), now=NOW)) == {"vera": "sent"}
    assert list(ReminderSent.objects.order_by("week").values_list("week", "lines")) == [("2026-W42", 1), ("2026-W43", 1)]


def test_no_mail_goes_out_without_lines_address_or_active_account(late):
    for change in ({"email": ""}, {"is_active": False}, {"left_on": ON}):
        Person.objects.filter(pk=late.pk).update(**({"email": "v@example.org", "is_active": True, "left_on": None} | change))
        assert states(reminders_send(on=ON, now=NOW)) == {}
    assert mail.outbox == [] and not ReminderSent.objects.exists()


class Broken(EmailBackend):
    """A mail server that refuses whoever is called vera."""

    error = SMTPServerDisconnected("Connection unexpectedly closed")

    def send_messages(self, messages):
        if any("vera@example.org" in message.to for message in messages):
            raise self.error
        return super().send_messages(messages)


def test_a_mail_that_cannot_be_sent_is_named_and_tried_again(late, settings, capsys):
    other = factories.person("volunteer", username="otto")
    factories.duty(first_due_on=DAY(2026, 10, 1), responsible=other)
    working = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = f"{__name__}.Broken"
    with pytest.raises(SystemExit) as stopped:
        call_command("send_reminders", "--on", "2026-10-12")
    output = capsys.readouterr()
    assert stopped.value.code == 1
    assert "2026-W42: 1 sent, 0 sent before, " in output.out and output.out.rstrip().endswith("1 failed.")
    assert "The mail to Vera Voß (vera@example.org) was not sent: Connection unexpectedly closed" in output.err
    assert ReminderSent.objects.get(person=late).sent_at is None
    settings.EMAIL_BACKEND = working
    call_command("send_reminders", "--on", "2026-10-12")
    assert "2026-W42: 1 sent, 1 sent before, " in capsys.readouterr().out
    assert sorted(message.to[0] for message in mail.outbox) == ["otto@example.org", "vera@example.org"]


def test_a_run_stopped_while_sending_leaves_the_mail_to_the_next(late, settings, monkeypatch):
    settings.EMAIL_BACKEND = f"{__name__}.Broken"
    monkeypatch.setattr(Broken, "error", KeyboardInterrupt())
    with pytest.raises(KeyboardInterrupt):
        reminders_send(on=ON, now=NOW)
    assert ReminderSent.objects.get(person=late).sent_at is None


@pytest.mark.django_db
def test_a_text_that_is_not_a_day_is_refused():
    with pytest.raises(CommandError, match="'12.10.2026' is not a day"):
        call_command("send_reminders", "--on", "12.10.2026")


@pytest.mark.django_db
def test_the_number_of_queries_does_not_grow_with_the_duties(django_assert_num_queries):
    coordinator = factories.person("coordinator")
    for _ in range(6):
        factories.duty(
            first_due_on=DAY(2026, 9, 1), responsible=coordinator, authorization=factories.authorization(ends_on=ON, state="in_force")
        )
    # duties and what is done of them; incidents; shipments; rules and papers to ask about again; papers that end; windows of rounds that close
    with django_assert_num_queries(9):
        reminder_parts(coordinator, ON, NOW)


@pytest.mark.django_db(transaction=True)
def test_ten_runs_at_once_send_each_mail_once():
    for _ in range(3):
        factories.duty(first_due_on=DAY(2026, 10, 1), responsible=factories.person("volunteer"))
    gate = threading.Barrier(10)

    def run(_number):
        try:
            gate.wait(timeout=60)
            return [outcome.state for outcome in reminders_send(on=ON, now=timezone.now())]
        finally:
            connections.close_all()

    with ThreadPoolExecutor(10) as pool:
        runs = list(pool.map(run, range(10)))
    assert sorted(state for states in runs for state in states if state != "nothing to say") == ["sent"] * 3 + ["sent before"] * 27
    assert len(mail.outbox) == 3


@pytest.mark.django_db
def test_every_line_of_the_mail_has_its_next_step(settings):
    coordinator, manager = factories.person("coordinator"), factories.person("manager", first_name="Mia", last_name="Berg")
    paper = factories.authorization(code="P-1", title="Permit", issuer="Example office", state="in_force", ends_on=DAY(2027, 1, 10))
    factories.authorization(code="P-3", issuer="Third office", state="in_force", ends_on=DAY(2026, 10, 11))
    factories.duty(
        title="Visit", first_due_on=DAY(2026, 10, 1), responsible=coordinator, evidence_wanted="a photograph", authorization=paper
    )
    factories.duty(title="Count", first_due_on=DAY(2026, 9, 1), responsible=manager)
    box = factories.partner(name="Mill")
    Shipment.objects.create(code="BOX", receiver=box, receiving_person="Jo Kay", state="dispatched", dispatched_on=DAY(2026, 9, 1))
    Requirement.objects.create(
        code="R-1", edition="1", title="Rule", source="x", review_by=DAY(2026, 11, 11), verified_on=DAY(2025, 1, 1),
        verified_with="State office, K. Hale", verified_by="us",
    )  # fmt: skip
    ReportingClock.objects.create(authorization=paper, title="call", tell="Office", amount=1, unit="hours")
    factories.incident(code="IN-1", papers=[paper], found_at=NOW - datetime.timedelta(hours=3))
    steps = {line.text.split(":")[0].split(" (")[0]: line.step for part in reminder_parts(coordinator, ON, NOW) for line in part.lines}
    assert steps == {
        "Incident IN-1": "Tell Office now, then enter who was told.",
        "Visit": "Do it, then enter it with its evidence: a photograph.",
        "Count": "Ask Mia Berg what holds it up, or name somebody else.",
        "Shipment BOX to Mill has no receipt after 41 days": "Ask Jo Kay whether it arrived, and have the receipt entered.",
        "Rule R-1 Rule": "Ask State office, K. Hale whether it still holds, and enter the answer.",
        "P-3 Example permit ended; its duties continue. Check with the local authority":
            "Ask Third office about a renewal, or close it. Nothing new is shipped or planted under it.",
        "P-1 Permit ends soon, within 90 days. Check with the local authority":
            "Ask Example office about a renewal in time, or plan what is done before that day.",
    }  # fmt: skip
    outcomes = reminders_send(on=ON, now=NOW)
    assert states(outcomes)[coordinator.username] == "sent"
    [body] = [message.body for message in mail.outbox if message.to == [coordinator.email]]
    assert body.count("  Next: ") == len(steps) and "  Next: Tell Office now, then enter who was told.\n" in body
