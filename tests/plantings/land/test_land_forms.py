"""What a landowner writes behind a private link, and in whose name."""

import pytest
from django.urls import reverse
from django.utils import timezone

from registry.models import AgreementSignature, AuditEntry, LandNotice, Receipt
from registry.services.land.agreements import agreement_sign, agreement_text_add
from registry.services.land.links import BY_LINK
from tests import factories
from tests.plantings.land.land_scene import receipt, text

pytestmark = pytest.mark.django_db


TODAY = timezone.localdate


def test_a_receipt_by_link_is_in_the_name_of_the_landowner(client, land):
    [line] = land.box.lines.all()
    values = receipt(land, 8, **{f"spoiled_{line.pk}": 1}) | {"note": "one crate wet"}
    response = client.post(land.url("land_receipt", land.box.pk), values)
    assert response.url == land.url()
    record = Receipt.objects.get()
    part = record.lines.get()
    assert (record.entered_by, record.received_by, record.temperature_c, record.note) == (land.person, "Hazel Owner", 4, "one crate wet")
    assert (part.sound, part.sprouted, part.spoiled) == (8, 0, 1)
    entry = AuditEntry.objects.get(verb="receipt.added")
    assert (entry.actor, entry.reason) == (land.person, BY_LINK) == (land.person, "by private link")
    shown = text(client.get(land.url()))
    assert f"Receipt of {land.box.code} saved" in shown and "Not all of it is in a receipt" in shown


def test_a_receipt_sent_twice_is_stored_once(client, land):
    for _ in range(2):
        assert client.post(land.url("land_receipt", land.box.pk), receipt(land)).status_code == 302
    assert Receipt.objects.count() == 1 and AuditEntry.objects.filter(verb="receipt.added").count() == 1
    assert "was saved before" in text(client.get(land.url()))


def test_a_second_receipt_of_the_same_day_is_refused(client, land):
    client.post(land.url("land_receipt", land.box.pk), receipt(land, 6))
    response = client.post(land.url("land_receipt", land.box.pk), receipt(land, 4, note="found in the barn"))
    assert response.status_code == 200 and "found in the barn" in text(response)
    assert Receipt.objects.count() == 1


def test_a_receipt_of_more_than_was_shipped_is_refused(client, land):
    response = client.post(land.url("land_receipt", land.box.pk), receipt(land, 11))
    assert response.status_code == 200 and "11 received in all, but 10 were shipped" in text(response) and 'value="11"' in text(response)
    assert not Receipt.objects.exists()


def test_a_draft_shipment_cannot_be_received(client, land):
    draft = factories.shipment(actor=land.lead, receiver=land.person.partner, lots=[(land.lot, "bareroot", 1)])
    assert client.get(land.url("land_receipt", draft.pk)).status_code == 404
    assert draft.code not in text(client.get(land.url()))


def test_the_agreement_is_signed_in_the_version_that_was_read(client, land):
    first = agreement_text_add(actor=land.lead, title="Agreement", version="1", body="No nuts are picked.\n\nVisits are told.")
    address = land.url("land_agreement", land.paper.pk)
    shown = text(client.get(address))
    assert "No nuts are picked." in shown and "Sheep stay outside the fence." in shown
    response = client.post(address, {"text": first.pk, "signed_by": "Hazel Owner"})
    assert response.context["form"].errors["read"] and not AgreementSignature.objects.exists()
    second = agreement_text_add(actor=land.lead, title="Agreement", version="2", body="No nuts are picked or sold.")
    values = {"text": first.pk, "signed_by": "Hazel Owner", "read": "on"}
    response = client.post(address, values)
    assert "changed while this page was open" in text(response) and f'name="text" value="{second.pk}"' in text(response)
    for _ in range(2):
        assert client.post(address, values | {"text": second.pk}).url == land.url()
    signature = AgreementSignature.objects.get()
    assert (signature.text, signature.signed_by, signature.how, signature.signed_on) == (second, "Hazel Owner", "link", TODAY())
    entry = AuditEntry.objects.get(verb="authorization.signed")
    assert (entry.actor, entry.reason) == (land.person, BY_LINK)
    shown = text(client.get(land.url()))
    assert "Hazel Owner signed “Agreement”, version 2" in shown and "Read and sign" not in shown
    assert "No nuts are picked or sold." in shown  # the wording signed answers questions too


def test_only_a_newer_version_of_a_signed_wording_is_offered(client, land):
    first = agreement_text_add(actor=land.lead, title="Agreement", version="1", body="One.")
    other = agreement_text_add(actor=land.lead, title="For schools", version="1", body="Other.")
    agreement_sign(actor=land.lead, authorization=land.paper, text=first, signed_by="Hazel", signed_on=TODAY())
    address = land.url("land_agreement", land.paper.pk)
    assert "There is nothing for you to sign" in text(client.get(address))
    response = client.post(address, {"text": other.pk, "signed_by": "Hazel Owner", "read": "on"})
    assert response.status_code == 200 and AgreementSignature.objects.count() == 1


def test_the_same_message_sent_twice_is_stored_once(client, land):
    values = {"kind": "sale", "site_code": land.site.code, "text": "Sold to the mill in May."}
    for _ in range(2):
        assert client.post(land.url("land_tell"), values).status_code == 302
    notice = LandNotice.objects.get()
    assert (notice.partner, notice.entered_by, notice.kind, notice.site_code) == (land.person.partner, land.person, "sale", land.site.code)
    assert AuditEntry.objects.get(verb="landnotice.added").reason == BY_LINK
    assert "Your messages that are still open" in text(client.get(land.url()))
    client.force_login(land.lead)
    assert reverse("landnotice_detail", args=[notice.pk]) in text(client.get(reverse("today")))
    assert "Sold to the mill in May." in text(client.get(reverse("landnotice_detail", args=[notice.pk])))
