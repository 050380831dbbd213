"""What a paper says is kept in dated versions and its states as a history. Common practice, no source."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from registry.models import Authorization, AuthorizationVersion
from registry.services.papers import authorization_save, authorization_state_set, document_add
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


def test_an_amendment_without_a_reason_is_refused_and_nothing_is_stored(lead):
    paper = paper_of(lead)
    paper.covers = "seed and scions"
    with pytest.raises(ValidationError) as refused:
        authorization_save(actor=lead, paper=paper)
    assert "reason" in refused.value.message_dict
    assert Authorization.objects.get().covers == "seed" and AuthorizationVersion.objects.count() == 1


def test_a_correction_without_a_day_holds_from_where_the_wrong_version_began(lead):
    paper = paper_of(lead)
    paper.starts_on = date(2025, 12, 1)
    authorization_save(actor=lead, paper=paper, reason="misread the start")
    assert paper.versions.last().from_on == date(2025, 12, 1)


def test_an_amendment_cannot_begin_before_the_version_it_amends(lead):
    paper = paper_of(lead)
    authorization_save(actor=lead, paper=paper, limits={"forms": []}, from_on=date(2026, 6, 1), reason="all forms")
    with pytest.raises(ValidationError, match="holds from 1 Jun 2026"):
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


def test_a_document_is_kept_once(lead, settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)
    paper = paper_of(lead)
    document_add(actor=lead, paper=paper, content=b"%PDF-1.7 x", filename="permit.pdf", title="Permit as issued")
    with pytest.raises(ValidationError, match="to the last byte"):
        document_add(actor=lead, paper=paper, content=b"%PDF-1.7 x", filename="copy.pdf", title="Copy")
    assert paper.documents.get().title == "Permit as issued"
