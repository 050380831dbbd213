"""`duties` as somebody at a terminal uses it."""

import datetime

import pytest
from django.core.management import CommandError, call_command

from registry.services.duties.duties import duty_close
from tests import factories

pytestmark = pytest.mark.django_db


def test_it_prints_what_is_late_and_due_with_who_and_paper(capsys):
    person = factories.person("volunteer", first_name="Vera", last_name="Voss")
    paper = factories.authorization(code="PERMIT-1")
    factories.duty(code="A", title="Yearly report", first_due_on=datetime.date(2026, 10, 1), responsible=person, authorization=paper)
    factories.duty(code="B", title="Visit", first_due_on=datetime.date(2026, 10, 22), lead_days=0)
    factories.duty(code="C", title="Too far", first_due_on=datetime.date(2026, 10, 23), lead_days=0)
    shut = factories.duty(code="D", title="Closed", first_due_on=datetime.date(2026, 10, 1))
    duty_close(actor=person, duty=shut, closed_on=datetime.date(2026, 10, 2), reason="released")
    call_command("duties", "--on", "2026-10-12", "--within", "10")
    rows = [line.split("  ") for line in capsys.readouterr().out.splitlines()]
    table = [[cell.strip() for cell in row if cell.strip()] for row in rows if row != [""]]
    assert table == [
        ["due", "status", "duty", "paper", "what", "who", "told"],
        ["2026-10-01", "overdue by 11 days", "A", "PERMIT-1", "Yearly report", "Vera Voss", "responsible person, coordinators"],
        ["2026-10-22", "due", "B", "-", "Visit", "no one named"],
        ["1 overdue, 1 due within 10 days, as of 2026-10-12."],
    ]


def test_an_empty_answer_is_one_sentence(capsys):
    call_command("duties", "--on", "2026-10-12")
    assert capsys.readouterr().out == "Nothing is overdue or due within 30 days of 2026-10-12.\n"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--on", "tomorrow"], "'tomorrow' is not a day"),
        (["--within", "-1"], "--within -1 is below 0"),
        (["--on", "9999-12-31"], "The year 9999 is not accepted. Give a year from 1900 to 2200"),
        (["--on", "0001-01-01"], "The year 1 is not accepted. Give a year from 1900 to 2200"),
    ],
)
def test_a_wrong_word_is_refused_by_name(words, message):
    with pytest.raises(CommandError, match=message):
        call_command("duties", *words)
