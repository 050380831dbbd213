"""A survival report is drafted, issued once it was looked at, frozen, and replaced by a later one; what changed since is named."""

import hashlib
import io

import pypdf
import pytest
from django.db import DatabaseError, connection, transaction
from django.db.models import QuerySet
from django.urls import reverse

from plantings.models import IssuedReport
from plantings.selectors.reports.reports import changed_since, check_reports
from registry.models import Job
from registry.models.append_only import unprotect_statements
from tests import factories
from tests.jobs import work_off

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    lead = factories.person("lead")
    client.force_login(lead)
    return lead


@pytest.fixture
def census(lead):
    """A planting of ten trees with a complete census: eight alive."""
    planting = factories.planting(code="PL-1")
    trees = factories.trees(planting, count=10, actor=lead)
    census_round = factories.census_round(planting)
    factories.observe(census_round, dict.fromkeys(trees[:8], "A") | dict.fromkeys(trees[8:], "D"), actor=lead)
    return trees, census_round


def issued(client, **chosen):
    """The report that the lead issues after a look at its draft, or the job that stopped."""
    draft = client.get(reverse("issuedreport_draft"), {"year": 2026, "level": "lot"} | chosen)
    client.post(draft.context["issue_url"], {"page": "letter", "reason": "A late record."})
    work_off()
    job = Job.objects.latest("pk")
    return IssuedReport.objects.filter(pk=job.result_page.rstrip("/").rpartition("/")[2] or 0).first() if job.state == "done" else job


def test_a_report_is_numbered_and_its_page_and_pdf_say_the_same(client, census):
    report = issued(client)
    page = client.get(reverse("issuedreport_detail", args=[report.pk])).content.decode()
    pdf = client.get(reverse("issuedreport_pdf", args=[report.pk])).content
    text = " ".join(" ".join(leaf.extract_text() for leaf in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())
    assert report.number == "2026-1"
    assert hashlib.sha256(pdf).hexdigest() == report.pdf.sha256
    for words in ("number 2026-1", "No earlier report has been issued.", "n 10", "10 of 10 assessed"):
        assert words in text and words in page
    assert "still say the same" in page
    assert check_reports().faults == []


def test_what_changed_since_is_named_and_the_report_stays(client, census, lead):
    report = issued(client)
    trees, census_round = census
    factories.observe(census_round, {trees[0]: "D"}, actor=lead)
    counts, later = changed_since(lead, report)
    assert len(counts) == 1 and "alive 8 then, 7 now" in counts[0]
    assert later == [f"PL-1, census {census_round.label}: records that came later: 1."]
    page = client.get(reverse("issuedreport_detail", args=[report.pk])).content.decode()
    assert "alive 8 then, 7 now" in page and "8 of 10" not in counts[0]


def test_a_later_report_replaces_it_and_says_what_changed(client, census, lead):
    first = issued(client)
    trees, census_round = census
    factories.observe(census_round, {trees[0]: "D"}, actor=lead)
    second = issued(client, replaces=first.pk)
    assert (second.number, second.supersedes, second.reason) == ("2026-2", first, "A late record.")
    assert "What changed since report 2026-1" in second.content and "alive 8 then, 7 now" in second.content
    assert "replaced by 2026-2" in client.get(reverse("issuedreport_list")).content.decode()


def test_records_that_changed_after_the_draft_stop_the_issue(client, census, lead):
    draft = client.get(reverse("issuedreport_draft"), {"year": 2026, "level": "lot"})
    trees, census_round = census
    factories.observe(census_round, {trees[0]: "D"}, actor=lead)
    client.post(draft.context["issue_url"], {"page": "letter"})
    work_off()
    assert Job.objects.get().error == "The records changed after you looked at the draft. Look at it again, then issue it."
    assert not IssuedReport.objects.exists()


def test_an_issued_report_cannot_be_changed_in_the_database(lead):
    report = factories.issued_report(actor=lead)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        QuerySet(IssuedReport).filter(pk=report.pk).update(year=2025)


def test_a_report_changed_behind_mastbook_says_so_and_shows_nothing(client, lead):
    report = factories.issued_report(actor=lead)
    with connection.cursor() as cursor:
        for statement in unprotect_statements(IssuedReport._meta.db_table, connection.vendor):
            cursor.execute(statement)
    QuerySet(IssuedReport).filter(pk=report.pk).update(content=report.content.replace("Nothing is", "Much was"))
    page = client.get(reverse("issuedreport_detail", args=[report.pk])).content.decode()
    assert "changed in the database, so it is not shown" in page and "Much was" not in page
    assert "Cannot be told. What this report says was changed" in client.get(reverse("issuedreport_draft"), {"year": 2027}).content.decode()
