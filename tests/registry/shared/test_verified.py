"""Verified or not: the words of a page, the filter of its list and the gate say the same of rules, papers and handbook rows."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.verified import AGAINST_PAGE, ASK_AUTHORITY, ASK_ISSUER, unverified_words, verified_words
from registry.models import Authorization, Requirement, SpeciesHandbook
from registry.selectors.gate.facts import rules_on_file
from registry.selectors.lots import handbook
from registry.selectors.shared.verified import is_verified
from tests import factories

pytestmark = pytest.mark.django_db
SAID = {"verified_on": date(2020, 1, 1), "verified_by": "C. Ordinator"}


def rule(code, **fields):
    return Requirement.objects.create(code=code, edition="2026", title=code, source="invented", **fields)


def test_a_rule_is_judged_alike_by_page_filter_and_gate(client):
    today = timezone.localdate()
    verified = SAID | {"verified_with": "office"}
    rule("NEVER")
    rule("OPEN", **verified)
    rule("LAST-DAY", **verified, review_by=today)
    rule("PAST", **verified, review_by=today - timedelta(days=1))
    words = {one.code: not unverified_words(one, today, ASK_AUTHORITY) for one in Requirement.objects.all()}
    assert words == {"NEVER": False, "OPEN": True, "LAST-DAY": True, "PAST": False}
    assert {one.code: not unverified_words(one, today, ASK_AUTHORITY) for one in rules_on_file()} == words
    asked = set(Requirement.objects.filter(is_verified(Requirement, today)).values_list("code", flat=True))
    assert asked == {code for code, yes in words.items() if yes}
    client.force_login(factories.person("lead"))
    for picked, found in (("yes", {"OPEN", "LAST-DAY"}), ("no", {"NEVER", "PAST"})):
        rows = client.get(reverse("requirement_list"), {"verified": picked}).context["rows"]
        assert {row.cells[0][0] for row in rows} == found


def test_papers_and_handbook_rows_are_judged_by_the_same_words():
    on = date(2026, 4, 1)
    assert verified_words(SpeciesHandbook(**SAID), on, AGAINST_PAGE) == "verified 1 Jan 2020 by C. Ordinator"
    assert verified_words(SpeciesHandbook(), on, AGAINST_PAGE) == "not verified against the printed page"
    assert verified_words(Authorization(**SAID), on, ASK_ISSUER) == "verified 1 Jan 2020 by C. Ordinator"
    assert verified_words(Authorization(verified_on=on), on, ASK_ISSUER) == "not verified: ask the issuer"


def test_the_pages_of_the_handbook_judge_a_row_by_the_same_words(client):
    row = SpeciesHandbook.objects.create(binomial="Juglans cinerea", source="invented, page 1")
    client.force_login(factories.person("lead"))
    for changes, shown in (({}, "not verified"), (SAID, "yes")):
        for name, value in changes.items():
            setattr(row, name, value)
        row.save()
        page = client.get(reverse("handbook_list"))
        assert page.context["rows"][0].cells[-1][0] == shown
        detail = client.get(reverse("handbook_detail", args=[row.pk])).content.decode()
        assert ("Mark as verified" in detail) == ("This row is not verified against the printed page" in detail) == (not changes)
    assert handbook.unverified_words(row) == ""
    # a day without a name is not a verification, whoever asks
    row.verified_by = ""
    assert handbook.unverified_words(row) == "not verified against the printed page"
