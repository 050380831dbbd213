"""The landowners' side for the office: wordings, signatures, links, messages from landowners."""

import datetime
import re

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.urls import reverse
from django.utils import timezone

from plantings.imports.loading import sheet_load
from registry.imports.sheets.plan import SheetRefused
from registry.models import AgreementSignature, AgreementText, AuditEntry, LandNotice, PrivateLink
from registry.selectors.land.land import agreements_of, land_duties, link_for_token, link_words, token_sha256, wording_offered
from registry.services.land.agreements import agreement_sign, agreement_text_add
from registry.services.land.links import link_make, link_revoke
from registry.services.land.notices import land_notice_add, land_notice_handle
from tests import factories

pytestmark = pytest.mark.django_db

TODAY = timezone.localdate
TITLE = "Planting agreement (example, not law)"


@pytest.fixture
def office(client):
    lead = factories.person("lead")
    client.force_login(lead)
    return lead


def agreement(owner, **fields):
    return factories.authorization(**{"type": "landowner", "partner": owner, "state": "in_force"} | fields)


def text(actor, version="1", body="No nuts are sold.", title=TITLE):
    return agreement_text_add(actor=actor, title=title, version=version, body=body, is_example=True)


# -- wordings and signatures ------------------------------------------------------------------------


def test_a_changed_wording_is_a_new_version(office):
    first = text(office)
    second = text(office, "2", "No nuts are sold or given away.")
    assert list(AgreementText.objects.values_list("version", "body")) == [("1", first.body), ("2", second.body)]
    with pytest.raises(ValidationError, match="takes a new version"):
        text(office, "2", "Something else.")
    with pytest.raises(ValidationError, match="the same as in version 2"):
        text(office, "3", second.body)
    with pytest.raises(DatabaseError), transaction.atomic():
        AgreementText.objects.filter(pk=first.pk).update(body="changed")


def test_a_signature_names_who_when_how_and_which_version(office):
    paper = agreement(factories.partner())
    signed = agreement_sign(actor=office, authorization=paper, text=text(office), signed_by="R. Owner", signed_on=factories.day(2020))
    assert (signed.signed_by, signed.signed_on, signed.how, signed.text.version) == ("R. Owner", factories.day(2020), "paper", "1")
    entry = AuditEntry.objects.get(verb="authorization.signed")
    assert entry.record_id == paper.pk and entry.changes["signed_on"] == [None, "2020-10-01"]
    again = agreement_sign(actor=office, authorization=paper, text=signed.text, signed_by="r. owner ", signed_on=factories.day(2021))
    assert again == signed and AgreementSignature.objects.count() == 1


@pytest.mark.parametrize(
    ("paper", "words"),
    [({"type": "permit"}, "not an agreement with a landowner"), ({"type": "landowner"}, "names no partner")],
)
def test_only_an_agreement_with_a_partner_is_signed(office, paper, words):
    with pytest.raises(ValidationError, match=words):
        agreement_sign(actor=office, authorization=factories.authorization(**paper), text=text(office), signed_by="X", signed_on=TODAY())


def test_a_signature_of_a_day_to_come_is_refused_at_its_field(office):
    paper, wording = agreement(factories.partner()), text(office)
    tomorrow = TODAY() + datetime.timedelta(days=1)
    with pytest.raises(ValidationError) as refused:
        agreement_sign(actor=office, authorization=paper, text=wording, signed_by="X", signed_on=tomorrow)
    assert list(refused.value.message_dict) == ["signed_on"]


def test_the_newest_wording_is_offered_for_signature(office):
    paper = agreement(factories.partner())
    assert wording_offered(paper) is None
    first = text(office)
    assert wording_offered(paper) == first
    other = text(office, title="Another agreement")
    assert wording_offered(paper) is None  # two wordings and none signed: the office says which, on paper
    agreement_sign(actor=office, authorization=paper, text=first, signed_by="X", signed_on=TODAY())
    assert wording_offered(paper) is None
    second = text(office, "2", "No nuts are sold or given away.")
    assert wording_offered(paper) == second
    assert wording_offered(agreement(factories.partner())) is None and other.pk


def test_a_landowner_reads_only_their_own_agreements(office):
    owner, other = factories.person("landowner"), factories.person("landowner")
    mine = agreement(owner.partner)
    agreement(other.partner)
    factories.authorization(type="transfer", partner=owner.partner)
    assert list(agreements_of(owner)) == [mine]
    assert len(agreements_of(office)) == 2 and list(agreements_of(factories.person("volunteer"))) == []


def test_wordings_and_signatures_on_screen(client, office):
    values = {"title": TITLE, "version": "1", "body": "No nuts are sold.", "is_example": "on"}
    page = client.post(reverse("agreementtext_add"), values)
    wording = AgreementText.objects.get()
    assert page.url == reverse("agreementtext_detail", args=[wording.pk])
    page = client.post(reverse("agreementtext_add"), values)
    assert page.status_code == 200 and "takes a new version" in page.content.decode() and "No nuts are sold." in page.content.decode()
    client.post(reverse("agreementtext_edit", args=[wording.pk]), {"version": "2", "body": "Nothing is sold."})
    assert AgreementText.objects.filter(title=TITLE).count() == 2
    paper = agreement(factories.partner(contact_name="R. Owner"))
    address = reverse("authorization_sign", args=[paper.pk])
    assert client.get(address).context["form"]["signed_by"].value() == "R. Owner"
    page = client.post(address, {"text": wording.pk, "signed_by": "R. Owner", "signed_on": "2020-01-15"}, follow=True)
    shown = page.content.decode()
    assert f"{TITLE}, version 1 (an example, not law)" in shown and "R. Owner" in shown
    assert "R. Owner" in client.get(reverse("agreementtext_detail", args=[wording.pk])).content.decode()


# -- links --------------------------------------------------------------------------------------------


def test_a_link_is_shown_once_and_stored_as_a_hash(client, office):
    person = factories.person("landowner")
    page = client.post(reverse("partner_link", args=[person.partner_id]), {"person": person.pk, "ends_on": ""})
    [token] = re.findall(r"/my-land/([\w-]{43})/", page.content.decode())
    link = PrivateLink.objects.get()
    assert link.token_sha256 == token_sha256(token) and link.person == person
    assert page.headers["Cache-Control"] == "no-store"
    assert token not in client.get(reverse("partner_detail", args=[person.partner_id])).content.decode()
    kept = [*PrivateLink.objects.values_list(), *AuditEntry.objects.values_list()]
    assert token not in str(kept)


def test_a_link_is_made_only_for_an_active_landowner_contact(office):
    for person in (factories.person("volunteer"), factories.person("landowner", is_active=False)):
        with pytest.raises(ValidationError) as refused:
            link_make(actor=office, person=person)
        assert list(refused.value.message_dict) == ["person"]
    with pytest.raises(ValidationError) as refused:
        link_make(actor=office, person=factories.person("landowner"), ends_on=factories.day(2020))
    assert list(refused.value.message_dict) == ["ends_on"]


def test_the_form_offers_contacts_of_this_partner_only(client, office):
    person, other = factories.person("landowner"), factories.person("landowner")
    factories.person("landowner", partner=person.partner, is_active=False)
    form = client.get(reverse("partner_link", args=[person.partner_id])).context["form"]
    assert list(form.fields["person"].queryset) == [person]
    assert client.post(reverse("partner_link", args=[person.partner_id]), {"person": other.pk}).context["form"].errors["person"]
    nobody = client.get(reverse("partner_link", args=[factories.partner().pk])).content.decode()
    assert "Add the account first" in nobody


def test_a_link_works_until_it_ends_or_its_person_leaves(office):
    person = factories.person("landowner")
    link, token = link_make(actor=office, person=person, ends_on=TODAY())
    day = datetime.timedelta(days=1)
    assert link_for_token(token, TODAY()) == link and link_for_token(token, TODAY() + day) is None
    assert link_for_token("x" * 43, TODAY()) is None and link_for_token(link.token_sha256, TODAY()) is None
    assert link_words(link, TODAY()).startswith("works until") and link_words(link, TODAY() + day).startswith("ended on")
    person.is_active = False
    person.save()
    assert link_for_token(token, TODAY()) is None
    person.is_active, person.role = True, "volunteer"
    person.save()
    assert link_for_token(token, TODAY()) is None
    person.role = "landowner"
    person.save()
    link = link_revoke(actor=office, link=link, reason="sent to the wrong address")
    assert link_for_token(token, TODAY()) is None and link_words(link, TODAY()).startswith("revoked on")
    link_revoke(actor=office, link=link)
    assert AuditEntry.objects.filter(verb="privatelink.revoked").count() == 1


def test_a_link_is_revoked_on_the_page_of_the_partner(client, office):
    person = factories.person("landowner")
    link, _token = link_make(actor=office, person=person)
    address = reverse("privatelink_revoke", args=[link.pk])
    assert address in client.get(reverse("partner_detail", args=[person.partner_id])).content.decode()
    page = client.post(address, {"reason": "lost"}, follow=True)
    assert "revoked on" in page.content.decode() and address not in page.content.decode()


# -- messages from landowners ----------------------------------------------------------------------------


def test_a_message_is_open_until_somebody_enters_what_was_done(client, office):
    owner = factories.partner()
    client.post(reverse("partner_notice", args=[owner.pk]), {"kind": "sale", "site_code": "", "text": "Sold to a cousin in May."})
    notice = LandNotice.objects.get()
    [duty] = land_duties(office, TODAY())
    assert duty.url == reverse("landnotice_detail", args=[notice.pk]) and "being sold" in duty.text and duty.severity == "soon"
    assert [d.severity for d in land_duties(office, TODAY() + datetime.timedelta(days=15))] == ["late"]
    values = {"on": str(TODAY()), "by": "A. Coordinator", "text": "Called the cousin; agreement sent."}
    page = client.post(reverse("landnotice_handle", args=[notice.pk]), values, follow=True)
    assert "agreement sent" in page.content.decode() and list(land_duties(office, TODAY())) == []
    page = client.post(reverse("landnotice_handle", args=[notice.pk]), values)
    assert "acted on it on" in page.content.decode()


def test_the_same_open_message_is_stored_once(office):
    owner = factories.partner()
    first = land_notice_add(actor=office, partner=owner, kind="works", text="Thinning in March.")
    assert land_notice_add(actor=office, partner=owner, kind="works", text="Thinning in March.") == first
    yesterday = TODAY() - datetime.timedelta(days=1)
    with pytest.raises(ValidationError, match="Enter that day or a later one"):
        land_notice_handle(actor=office, notice=first, on=yesterday, by="X", text="done")
    land_notice_handle(actor=office, notice=first, on=TODAY(), by="X", text="done")
    assert land_notice_add(actor=office, partner=owner, kind="works", text="Thinning in March.") != first


def test_a_signed_draft_is_listed_for_those_who_may_set_its_state(office):
    paper = agreement(factories.partner(), state="draft")
    agreement_sign(actor=office, authorization=paper, text=text(office), signed_by="X", signed_on=TODAY())
    assert [duty.url for duty in land_duties(office, TODAY())] == [reverse("authorization_detail", args=[paper.pk])]
    assert list(land_duties(factories.person("manager"), TODAY())) == list(land_duties(factories.person("volunteer"), TODAY())) == []


# -- sheets -----------------------------------------------------------------------------------------------


def test_loading_wordings_and_signatures_twice_changes_nothing(office):
    paper = agreement(factories.partner(), code="EX-AGR-1")
    wording = f'Title,Version,Wording,"Example, not law (yes/no)"\n"{TITLE}",1,No nuts are sold.,yes\n'.encode()
    head = "Paper,Title of the wording,Version of the wording,Signed by,Signed on,How"
    row = f'EX-AGR-1,"{TITLE}",1,R. Owner,2020-01-15,paper'
    signature = f"{head}\n{row}\n".encode()
    for kind, content in (("agreement_text", wording), ("agreement_signature", signature)):
        assert sheet_load(actor=office, kind=kind, content=content, filename="a.csv").counts["new"] == 1
        assert sheet_load(actor=office, kind=kind, content=content, filename="a.csv").counts["unchanged"] == 1
    signed = paper.signatures.get()
    assert (signed.text.title, signed.signed_by, signed.how) == (TITLE, "R. Owner", "paper")
    with pytest.raises(SheetRefused) as refused:
        sheet_load(actor=office, kind="agreement_signature", content=signature.replace(b",1,R.", b",9,R."), filename="a.csv")
    [problem] = refused.value.plan.problems
    assert problem.row == 2 and problem.message.startswith("Version 9 of ")
    with pytest.raises(SheetRefused) as refused:
        sheet_load(actor=office, kind="agreement_text", content=wording.replace(b"sold", b"given"), filename="a.csv")
    assert "new version" in refused.value.plan.problems[0].message
