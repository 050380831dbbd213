"""What a paper says is stored in dated versions and its states as a history. Common practice, no source."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from registry.compliance.gate.facts import Paper, StateChange, Version
from registry.compliance.gate.papers import state_on as gate_state
from registry.compliance.gate.papers import version_on as gate_version
from registry.models import AuditEntry, Authorization, AuthorizationStateRecord, AuthorizationVersion
from registry.selectors.duties.due_lines import paper_lines
from registry.selectors.permits.as_of import paper_on, papers_on, state_on, version_on
from registry.services.permits.authorizations import authorization_save, authorization_state_set, document_add
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


def paper_of(lead, **fields):
    values = {
        "code": "EX-1", "type": "permit", "title": "Example permit", "issuer": "Example office", "covers": "seed", "state": "draft",
        "starts_on": date(2026, 1, 1), "ends_on": date(2026, 12, 31),
    } | fields  # fmt: skip
    return authorization_save(actor=lead, paper=Authorization(**values), limits={"forms": ["seed"]})


def test_a_new_paper_has_version_0_and_its_first_state(lead):
    paper = paper_of(lead)
    version, state = paper.versions.get(), paper.state_history.get()
    assert (version.number, version.from_on, version.forms, version.ends_on) == (0, None, ["seed"], date(2026, 12, 31))
    assert (state.state, state.on) == ("draft", date(2026, 1, 1))


def test_an_amendment_is_a_dated_version_and_the_old_one_stays(lead):
    paper = paper_of(lead)
    paper.ends_on = date(2027, 12, 31)
    authorization_save(actor=lead, paper=paper, from_on=date(2026, 11, 1), reason="renewed for a year")
    old, new = paper.versions.all()
    assert (old.ends_on, new.ends_on, new.from_on, new.forms) == (date(2026, 12, 31), date(2027, 12, 31), date(2026, 11, 1), ["seed"])


def test_an_amendment_without_a_reason_is_refused(lead):
    paper = paper_of(lead)
    paper.covers = "seed and scions"
    with pytest.raises(ValidationError) as refused:
        authorization_save(actor=lead, paper=paper)
    assert "reason" in refused.value.message_dict
    assert Authorization.objects.get().covers == "seed" and AuthorizationVersion.objects.count() == 1


def test_a_correction_without_a_day_holds_from_the_same_day(lead):
    paper = paper_of(lead)
    paper.starts_on = date(2025, 12, 1)
    authorization_save(actor=lead, paper=paper, reason="misread the start")
    assert paper.versions.last().from_on == date(2025, 12, 1)


def test_an_amendment_cannot_begin_before_the_version_it_amends(lead):
    paper = paper_of(lead)
    authorization_save(actor=lead, paper=paper, limits={"forms": []}, from_on=date(2026, 6, 1), reason="all forms")
    with pytest.raises(ValidationError, match="in effect from 1 Jun 2026"):
        authorization_save(actor=lead, paper=paper, limits={"forms": ["scion"]}, from_on=date(2026, 5, 31), reason="scions")


def test_saving_what_it_already_says_makes_no_version(lead):
    paper = paper_of(lead)
    paper.note = "kept in the blue folder"
    authorization_save(actor=lead, paper=paper)
    assert paper.versions.count() == 1 and paper.state_history.count() == 1


def test_a_cap_below_what_is_drawn_is_refused(lead):
    paper = paper_of(lead, cap_quantity=500, cap_unit="seeds")
    Authorization.objects.update(drawn=380)
    paper.cap_quantity = 379
    with pytest.raises(ValidationError, match="380 seeds are drawn"):
        authorization_save(actor=lead, paper=paper, reason="smaller cap")
    paper.cap_quantity = 380
    authorization_save(actor=lead, paper=paper, reason="smaller cap")
    assert Authorization.objects.get().drawn == 380


def test_states_are_written_forward_and_repeated_on_the_paper(lead):
    paper = paper_of(lead)
    authorization_state_set(actor=lead, paper=paper, state="in_force", on=date(2026, 1, 15))
    authorization_state_set(actor=lead, paper=paper, state="suspended", on=date(2026, 6, 1), reason="letter of 1 June")
    assert Authorization.objects.get().state == "suspended"
    assert [(r.state, r.on.day) for r in paper.state_history.all()] == [("draft", 1), ("in_force", 15), ("suspended", 1)]
    with pytest.raises(ValidationError, match="suspended from 1 Jun 2026"):
        authorization_state_set(actor=lead, paper=paper, state="in_force", on=date(2026, 5, 31))
    with pytest.raises(ValidationError, match="already"):
        authorization_state_set(actor=lead, paper=paper, state="suspended", on=date(2026, 7, 1))


def test_days_of_past_events_cannot_be_in_the_future(lead):
    paper = paper_of(lead)
    with pytest.raises(ValidationError) as refused:
        document_add(actor=lead, paper=paper, content=b"%PDF-1.7 x", filename="permit.pdf", title="Permit", dated=date(2099, 1, 1))
    assert "dated" in refused.value.message_dict and not paper.documents.exists()
    paper.verified_on = date(2099, 1, 1)
    with pytest.raises(ValidationError) as refused:
        authorization_save(actor=lead, paper=paper)
    assert "verified_on" in refused.value.message_dict


def test_a_document_is_stored_once(lead, settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)
    paper = paper_of(lead)
    document_add(actor=lead, paper=paper, content=b"%PDF-1.7 x", filename="permit.pdf", title="Permit as issued")
    with pytest.raises(ValidationError, match="the files are identical"):
        document_add(actor=lead, paper=paper, content=b"%PDF-1.7 x", filename="copy.pdf", title="Copy")
    assert paper.documents.get().title == "Permit as issued"


def test_an_announced_state_leaves_todays_state_open_to_change(lead):
    today = timezone.localdate()
    paper = paper_of(lead, state="in_force")
    authorization_state_set(actor=lead, paper=paper, state="suspended", on=date(2099, 6, 1), reason="letter")
    assert paper_on(Authorization.objects.get(), today).state == "in_force"
    assert paper_on(Authorization.objects.get(), date(2099, 6, 1)).state == "suspended"
    with pytest.raises(ValidationError, match="It is in force already"):
        authorization_state_set(actor=lead, paper=paper, state="in_force", on=today)
    authorization_state_set(actor=lead, paper=paper, state="closed", on=today, reason="given back")
    assert [paper_on(Authorization.objects.get(), day).state for day in (today, date(2099, 6, 1))] == ["closed", "suspended"]
    authorization_state_set(actor=lead, paper=paper, state="closed", on=date(2099, 6, 1), reason="stays closed")
    assert paper_on(Authorization.objects.get(), date(2099, 6, 1)).state == "closed" == Authorization.objects.get().state


def test_saving_another_field_leaves_an_announced_state_announced(lead):
    paper = paper_of(lead, state="in_force")
    authorization_state_set(actor=lead, paper=paper, state="suspended", on=date(2099, 6, 1), reason="letter")
    fresh = Authorization.objects.get()
    fresh.note = "kept in the blue folder"
    authorization_save(actor=lead, paper=fresh, reason="note")
    authorization_save(actor=lead, paper=Authorization.objects.get(), reason="note", state="in_force")
    assert paper.state_history.count() == 2
    authorization_save(actor=lead, paper=Authorization.objects.get(), reason="at once", state="suspended")
    assert [record.state for record in paper.state_history.all()] == ["in_force", "suspended", "suspended"]
    assert AuditEntry.objects.filter(verb="authorization.state").count() == 2  # announced, and then at once
    assert paper_on(Authorization.objects.get(), timezone.localdate()).state == "suspended"


def test_an_announced_amendment_leaves_today_as_it_is(lead):
    paper = paper_of(lead, state="in_force", cap_quantity=500, cap_unit="plants", ends_on=date(2098, 12, 31))
    paper.cap_quantity, paper.cap_unit, paper.ends_on = None, "", date(2100, 12, 31)
    authorization_save(actor=lead, paper=paper, from_on=date(2099, 1, 1), reason="the cap falls away")
    now, then = (paper_on(Authorization.objects.get(), day) for day in (timezone.localdate(), date(2099, 1, 1)))
    assert (now.cap_quantity, now.ends_on) == (500, date(2098, 12, 31))
    assert (then.cap_quantity, then.ends_on) == (None, date(2100, 12, 31))


def test_an_announced_state_takes_effect_by_itself(client, lead, monkeypatch):
    """Every place that shows papers as of now, the day before and the day itself."""
    day = timezone.localdate() + timedelta(days=40)
    paper = paper_of(lead, state="in_force", ends_on=day + timedelta(days=60), cap_quantity=500, cap_unit="plants")
    authorization_state_set(actor=lead, paper=paper, state="closed", on=day, reason="letter")
    client.force_login(lead)

    def seen():
        page = client.get(reverse("authorization_detail", args=[paper.pk]))
        listed = [
            [row.cells[0][0] for row in client.get(reverse("authorization_list"), {"state": state}).context["rows"]]
            for state in ("in_force", "closed")
        ]
        lines = [line.text for line in paper_lines(lead, timezone.localdate())]
        held = client.get(reverse("authorization_holders")).context["parts"]
        file = client.get(reverse("authorization_file", args=[paper.pk]))
        return page.context["state"], listed, len(lines), len(held), file.context["state"]

    Authorization.objects.update(holder_person="H. Holder")
    assert seen() == ("in force", [["EX-1"], []], 1, 1, "in force")
    page = client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()
    assert f"Announced: closed from {day:%-d %b %Y}" in page
    monkeypatch.setattr(timezone, "localdate", lambda value=None, zone=None: day)
    assert seen()[:4] == ("closed", [[], ["EX-1"]], 0, 0)


def test_an_announced_renewal_moves_the_end_unless_there_is_a_gap(lead):
    today = timezone.localdate()
    ends = today + timedelta(days=20)
    paper = paper_of(lead, state="in_force", ends_on=ends)
    assert [line.due for line in paper_lines(lead, today)] == [ends]
    paper.ends_on = ends + timedelta(days=900)
    authorization_save(actor=lead, paper=paper, from_on=ends + timedelta(days=1), reason="renewed")
    assert list(paper_lines(lead, today)) == []
    other = paper_of(lead, code="EX-2", state="in_force", ends_on=ends)
    other.ends_on = ends + timedelta(days=900)
    authorization_save(actor=lead, paper=other, from_on=ends + timedelta(days=2), reason="renewed after a gap")
    assert [line.due for line in paper_lines(lead, today)] == [ends]


def test_papers_as_of_a_day_need_two_queries_for_any_number(lead, django_assert_num_queries):
    for number in range(4):
        paper_of(lead, code=f"EX-{number}")
        papers = list(Authorization.objects.all())
        with django_assert_num_queries(2):
            papers_on(papers, timezone.localdate())


days = st.dates(date(2026, 1, 1), date(2026, 3, 1))


@given(st.lists(st.tuples(days, st.sampled_from(["in_force", "suspended", "closed"])), max_size=6), days)
def test_the_page_and_the_gate_find_the_same_state_on_every_day(changes, on):
    records = [AuthorizationStateRecord(pk=pk, on=day, state=state) for pk, (day, state) in enumerate(changes)]
    by_gate = gate_state(Paper("P", "permit", states=tuple(StateChange(day, state) for day, state in changes)), on)
    found = state_on(records, on)
    assert (found.state if found else "") == by_gate


@given(st.lists(st.one_of(st.none(), days), max_size=6), days)
def test_the_page_and_the_gate_find_the_same_version_on_every_day(begins, on):
    records = [AuthorizationVersion(number=number, from_on=day) for number, day in enumerate(begins)]
    by_gate = gate_version(Paper("P", "permit", versions=tuple(Version(number, from_on=day) for number, day in enumerate(begins))), on)
    found = version_on(records, on)
    assert (found.number if found else None) == (by_gate.number if by_gate else None)
