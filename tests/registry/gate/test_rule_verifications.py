"""Verifications of a rule: each is on file with its day, and an answer about a day knows the one that counted then."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from registry.compliance.gate.facts import Question
from registry.imports.gate.rules import RequirementSheet, RuleVerificationSheet
from registry.models import AuditEntry, Requirement, RuleVerification
from registry.selectors.audit.verify import verify_book
from registry.selectors.gate.determinations import gate_ask
from registry.services.gate.rules import requirement_save, requirement_verify, verification_correct
from tests import factories
from tests.registry.sheets.sheet_help import load, refused, written_and_read

pytestmark = pytest.mark.django_db
OFFICE, CLERK = "Example plant office", "Example plant office, A. Clerk"


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def rule(lead):
    values = {"code": "EX-R1", "edition": "2026", "title": "Example rule", "source": "invented", "activities": ["hold"], "blocking": False}
    return requirement_save(actor=lead, rule=Requirement(**values))


def asked(lead, rule, year, until=None, **fields):
    values = {"verified_on": date(year, 3, 1), "verified_with": OFFICE, "verified_by": "A. Lead", "review_by": until} | fields
    return requirement_verify(actor=lead, rule=rule, **values)


def unverified_on(*day):
    """What the gate says of the rule's verification for a day; "" where it counts as verified."""
    [finding] = [one for one in gate_ask(Question("hold", date(*day))).answer.findings if one.code == "EX-R1"]
    return finding.unverified


def test_an_earlier_day_knows_the_verification_of_then(lead, rule):
    asked(lead, rule, 2021, until=date(2023, 3, 1))
    asked(lead, rule, 2025)
    assert unverified_on(2021, 2, 28) == "not verified before 1 Mar 2025: ask the authority"
    assert unverified_on(2022, 6, 1) == ""
    assert unverified_on(2024, 6, 1) == "not verified since its review date of 1 Mar 2023: ask the authority"
    assert unverified_on(2025, 3, 1) == ""
    rule.refresh_from_db()
    assert (rule.verified_on, rule.review_by) == (date(2025, 3, 1), None)


def test_an_old_verification_entered_late_does_not_replace_the_last(lead, rule):
    asked(lead, rule, 2025, verified_with=CLERK)
    asked(lead, rule, 2021)
    rule.refresh_from_db()
    assert (rule.verified_on, rule.verified_with) == (date(2025, 3, 1), CLERK)
    assert unverified_on(2022, 1, 1) == ""
    with pytest.raises(ValidationError, match="A verification of 1 Mar 2021 is on file"):
        asked(lead, rule, 2021)
    with pytest.raises(ValidationError, match="has not come yet"):
        asked(lead, rule, 2199)


def test_a_corrected_verification_counts_on_no_day(lead, rule):
    asked(lead, rule, 2023)
    wrong = asked(lead, rule, 2024)
    right = {"verified_on": date(2025, 3, 1), "verified_with": OFFICE, "verified_by": "A. Lead"}
    with pytest.raises(ValidationError, match="Say why"):
        verification_correct(actor=lead, verification=wrong, reason=" ", **right)
    verification_correct(actor=lead, verification=wrong, reason="the letter is of 2025", **right)
    rule.refresh_from_db()
    assert rule.verified_on == date(2025, 3, 1) and RuleVerification.objects.count() == 3
    assert list(RuleVerification.objects.in_effect().values_list("verified_on__year", flat=True)) == [2023, 2025]
    with pytest.raises(ValidationError, match="corrected this verification already"):
        verification_correct(actor=lead, verification=wrong, reason="again", **right)
    entry = AuditEntry.objects.get(verb="requirement.corrected_verification")
    assert (entry.reason, entry.changes["verified_on"]) == ("the letter is of 2025", ["2024-03-01", "2025-03-01"])
    assert [check.faults for check in verify_book() if check.faults] == []


def test_a_correction_to_an_earlier_day_gives_the_rule_the_last_again(lead, rule):
    asked(lead, rule, 2023)
    wrong = asked(lead, rule, 2025)
    verification_correct(
        actor=lead, verification=wrong, verified_on=date(2022, 3, 1), verified_with=OFFICE, verified_by="A. Lead", reason="year"
    )
    rule.refresh_from_db()
    assert rule.verified_on == date(2023, 3, 1)


def test_verify_names_a_rule_that_says_more_than_is_on_file(lead, rule):
    def faults():
        return [fault for check in verify_book() for fault in check.faults]

    Requirement.objects.filter(pk=rule.pk).update(verified_on=date(2025, 3, 1), verified_with=OFFICE, verified_by="A. Lead")
    assert faults() == ["rule EX-R1, edition 2026: it says that it is verified, and no verification is on file"]
    asked(lead, rule, 2025)
    assert faults() == []
    Requirement.objects.filter(pk=rule.pk).update(review_by=date(2040, 3, 1))
    assert faults() == ["rule EX-R1, edition 2026: what it says of its verification is not the last one on file"]


def test_the_page_lists_them_and_corrects_one(client, lead, rule):
    asked(lead, rule, 2021)
    last = asked(lead, rule, 2025)
    client.force_login(factories.person("coordinator"))
    page = client.get(reverse("requirement_detail", args=[rule.pk]))
    [part] = [part for part in page.context["parts"] if part["title"] == "Verifications"]
    assert [row.cells[0][0] for row in part["rows"]] == [date(2025, 3, 1), date(2021, 3, 1)]
    address = reverse("ruleverification_correct", args=[last.pk])
    assert part["rows"][0].cells[-1][2] == address
    assert client.get(address).context["form"].initial["verified_with"] == OFFICE
    sent = {"verified_on": "2025-03-01", "verified_with": CLERK, "verified_by": "A. Lead", "review_by": "2026-03-01", "reason": "name"}
    assert client.post(address, sent).status_code == 302
    rule.refresh_from_db()
    assert (rule.verified_with, rule.review_by) == (CLERK, date(2026, 3, 1))
    [part] = [
        part for part in client.get(reverse("requirement_detail", args=[rule.pk])).context["parts"] if part["title"] == "Verifications"
    ]
    assert [(row.mark, row.cells[-2][0]) for row in part["rows"]][:2] == [
        ("", "corrects an earlier record: name"), ("soft", "corrected: it counts on no day"),
    ]  # fmt: skip


def test_the_sheet_of_rules_files_the_verification_it_gives():
    head = "Rule,Edition,Title,Source,Verified on,Verified with,Verified by\n"
    load(RequirementSheet, head + "EX-R1,2026,Example,invented,2023-03-01,Office,A\n")
    load(RequirementSheet, head + "EX-R1,2026,Example,invented,2025-03-01,Office,A\n", "asked again")
    load(RequirementSheet, head + "EX-R1,2026,Example,invented,2025-03-01,Office B,A\n", "name")
    rows = RuleVerification.objects.in_effect().values_list("verified_on__year", "verified_with", "supersedes__verified_with")
    assert list(rows) == [(2023, "Office", None), (2025, "Office B", "Office")]
    (problem,) = refused(RequirementSheet, head + "EX-R1,2026,Example,invented,2022-03-01,Office,A\n")
    assert "Verified on" in problem and "The last verification on file is of 1 Mar 2025" in problem
    assert written_and_read(RequirementSheet) == 1


def test_the_sheet_of_verifications_takes_past_ones(rule):
    head = "Rule,Edition,Asked on,Verified with,Asked by,Ask again by\n"
    rows = "EX-R1,2026,2025-03-01,Office,A,\nEX-R1,2026,2021-03-01,Office,A,2022-03-01\n"
    load(RuleVerificationSheet, head + rows)
    assert list(RuleVerification.objects.values_list("verified_on__year", flat=True)) == [2021, 2025]
    assert written_and_read(RuleVerificationSheet) == RuleVerification.objects.count() == 2
    (problem,) = refused(RuleVerificationSheet, head + "EX-R1,2026,2025-03-01,Another,A,\n")
    assert "does not change. Correct it on the page of the rule" in problem
    (problem,) = refused(RuleVerificationSheet, head + "EX-R1,2027,2025-03-01,Another,A,\n")
    assert "Edition 2027 of rule EX-R1 is not on file" in problem
