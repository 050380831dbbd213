"""Partners, papers, people and the audit trail on screen."""

import re

import pytest
from django.core import mail
from django.urls import reverse

from registry.models import AuditEntry, Authorization, Person
from registry.selectors.permits.authorizations import authorization_duties
from tests import factories
from tests.people import signs_in

pytestmark = pytest.mark.django_db

CONTACTS = {"contact_name": "Ines Halloran", "email": "ines@example.org", "phone": "555 0100", "address": "1 River Road"}


def signed_in(client, role, **fields):
    person = factories.person(role, **fields)
    client.force_login(person)
    return person


@pytest.mark.parametrize(("role", "shown"), [("lead", True), ("coordinator", True), ("auditor", True), ("manager", False)])
def test_contacts_are_shown_by_role(client, role, shown):
    partner = factories.partner(**CONTACTS)
    signed_in(client, role)
    page = client.get(reverse("partner_detail", args=[partner.pk])).content.decode()
    assert [value in page for value in CONTACTS.values()] == [shown] * 4
    sheet = client.get(reverse("partner_list"), {"download": "csv"})
    assert (sheet.status_code == 200 and "Ines Halloran" in sheet.content.decode()) is shown


def test_a_landowner_sees_only_their_own_contacts(client):
    own, other = factories.partner(**CONTACTS), factories.partner()
    signed_in(client, "landowner", partner=own)
    assert "Ines Halloran" in client.get(reverse("partner_detail", args=[own.pk])).content.decode()
    assert client.get(reverse("partner_detail", args=[other.pk])).status_code == 404
    assert [row.cells[0][0] for row in client.get(reverse("partner_list")).context["rows"]] == [own.code]


def test_contacts_without_a_dated_consent_are_odd(client):
    signed_in(client, "coordinator")
    without, dated = factories.partner(**CONTACTS), factories.partner(**CONTACTS, consent_on=factories.day(2020))
    assert [duty.severity for duty in client.get(reverse("partner_detail", args=[without.pk])).context["due"]] == ["odd"]
    assert client.get(reverse("partner_detail", args=[dated.pk])).context["due"] == []


@pytest.mark.parametrize(
    ("fields", "severity"),
    [
        ({"state": "in_force", "ends_on": factories.day(2020, 5, 31)}, "late"),
        ({"state": "in_force", "ends_on": factories.day(2020, 6, 1)}, "soon"),
        ({"state": "in_force", "ends_on": factories.day(2020, 11, 28)}, "soon"),
        ({"state": "in_force", "ends_on": factories.day(2020, 11, 29)}, None),
        ({"state": "in_force", "starts_on": factories.day(2020, 6, 2)}, "odd"),
        ({"state": "expired", "ends_on": factories.day(2020, 5, 31)}, "info"),
        ({"state": "suspended"}, "odd"),
        ({"state": "closed", "ends_on": factories.day(2020, 5, 31)}, None),
        ({"state": "draft", "ends_on": factories.day(2020, 5, 31)}, None),
    ],
)  # the 180 days of notice are common practice, no source
def test_a_paper_is_due_by_its_own_dates_and_state(fields, severity):
    duties = authorization_duties(factories.authorization(**fields), factories.day(2020, 6, 1))
    assert [duty.severity for duty in duties] == ([severity] if severity else [])


def test_a_paper_is_shown_as_written_without_a_verdict(client):
    signed_in(client, "auditor")
    paper = factories.authorization(covers="Nuts in shell.\n\nTo county A only.", conditions="Report <yearly>.")
    page = client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()
    assert "<p>Nuts in shell.</p>" in page
    assert "Report &lt;yearly&gt;." in page
    assert "Check with the local authority" in page
    assert "allowed" not in page


def test_a_determination_about_nothing_says_that_it_answers_no_rule(client):
    lead = factories.person("lead")
    about_nothing = factories.authorization(actor=lead, type="none_needed", state="in_force")
    about_a_place = factories.authorization(actor=lead, type="none_needed", state="in_force", limits={"destinations": ["US-VT"]})
    permit = factories.authorization(actor=lead, state="in_force")
    client.force_login(lead)
    pages = [client.get(reverse("authorization_detail", args=[one.pk])).content.decode() for one in (about_nothing, about_a_place, permit)]
    assert ["so it answers no rule" in page for page in pages] == [True, False, False]


def test_a_name_on_file_that_means_something_else_is_told_on_its_paper(client):
    lead = factories.person("lead")
    paper = factories.authorization(actor=lead, limits={"taxa": ["Juglans spp. except J. nigra"]})
    client.force_login(lead)
    assert "a name cannot leave anything out" in client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()


def test_a_paper_is_entered_and_its_change_says_why(client):
    signed_in(client, "coordinator")
    data = {
        "code": "P-1",
        "type": "permit",
        "title": "Example",
        "issuer": "Office",
        "state": "applied",
        "covers": "nuts",
        "cap_quantity": "500",
    }
    page = client.post(reverse("authorization_add"), data)
    assert "needs its unit" in page.content.decode()
    client.post(reverse("authorization_add"), data | {"cap_unit": "seeds"})
    paper = Authorization.objects.get()
    change = data | {"cap_unit": "seeds", "state": "in_force"}
    assert "reason" in client.post(reverse("authorization_edit", args=[paper.pk]), change).context["form"].errors
    client.post(reverse("authorization_edit", args=[paper.pk]), change | {"reason": "The permit came by post."})
    assert AuditEntry.objects.get(verb="authorization.changed").changes["state"] == ["applied", "in_force"]


def person_data(**fields):
    return {
        "first_name": "Tom",
        "last_name": "Okafor",
        "username": "tom",
        "email": "tom@example.org",
        "role": "manager",
        "is_active": "on",
    } | fields


def test_a_new_person_sets_their_own_password_by_a_mailed_link(client):
    coordinator = signed_in(client, "coordinator")
    address = client.post(reverse("person_add"), person_data())["Location"]
    person = Person.objects.get(username="tom")
    assert address == reverse("person_detail", args=[person.pk])
    assert ("Send a link to set the password", reverse("person_link", args=[person.pk])) in client.get(address).context["actions"]
    client.post(reverse("person_link", args=[person.pk]))
    (message,) = mail.outbox
    assert message.to == ["tom@example.org"]
    assert AuditEntry.objects.get(verb="person.link_sent").actor == coordinator
    client.logout()
    link = re.search(r"http://testserver(/password/\S+/)", message.body)[1]
    form = client.get(link, follow=True).redirect_chain[-1][0]
    client.post(form, {"new_password1": factories.PASSWORD, "new_password2": factories.PASSWORD})
    assert signs_in(client, "tom", factories.PASSWORD)


def test_the_link_goes_to_one_account_where_two_share_an_address(client):
    signed_in(client, "coordinator")
    person, _other = factories.person("manager", username="one"), factories.person("manager", username="two")
    Person.objects.update(email="same@example.org")
    client.post(reverse("person_link", args=[person.pk]))
    assert [("one" in message.body, "two" in message.body) for message in mail.outbox] == [(True, False)]


@pytest.mark.parametrize("fields", [{"is_active": False}, {"email": ""}])
def test_no_link_goes_to_a_closed_or_unreachable_account(client, fields):
    signed_in(client, "coordinator")
    person = factories.person("manager")
    Person.objects.filter(pk=person.pk).update(**fields)
    page = client.post(reverse("person_link", args=[person.pk]))
    assert "before you send a link" in page.content.decode()
    assert mail.outbox == []


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"role": "landowner"}, "partner"),
        ({"role": "archivist"}, "role"),
        ({"email": ""}, "email"),
        ({"username": "tom okafor"}, "username"),
    ],
)
def test_a_person_that_cannot_be_says_where(client, typed, field):
    signed_in(client, "coordinator")
    page = client.post(reverse("person_add"), person_data(**typed))
    assert field in page.context["form"].errors
    assert not Person.objects.filter(first_name="Tom").exists()


def test_only_a_landowner_contact_has_a_partner(client):
    signed_in(client, "coordinator")
    partner = factories.partner()
    assert "partner" in client.post(reverse("person_add"), person_data(partner=partner.pk)).context["form"].errors
    client.post(reverse("person_add"), person_data(role="landowner", partner=partner.pk))
    assert Person.objects.get(username="tom").partner == partner


def test_a_person_cannot_close_their_own_account(client):
    coordinator = signed_in(client, "coordinator")
    data = person_data(username=coordinator.username, role="volunteer")
    del data["is_active"]
    client.post(reverse("person_edit", args=[coordinator.pk]), data)
    coordinator.refresh_from_db()
    assert (coordinator.role, coordinator.is_active, coordinator.first_name) == ("coordinator", True, "Tom")


def test_a_closed_account_cannot_sign_in_and_its_entries_stay(client):
    signed_in(client, "coordinator")
    person = factories.person("manager", username="tom")
    lot = factories.seed_lot(actor=person, seeds=5)
    data = person_data()
    del data["is_active"]
    client.post(reverse("person_edit", args=[person.pk]), data)
    assert not signs_in(client, "tom", factories.PASSWORD)
    assert lot.ledger.get().entered_by == person


def test_changes_can_be_filtered_by_record_and_person(client):
    lead = signed_in(client, "lead", first_name="Ada", last_name="Quill")
    client.post(reverse("partner_add"), {"code": "PA", "name": "Falls Farm", "kind": "landowner", "map_privacy": "general"})
    other = signed_in(client, "lead")
    client.post(reverse("person_add"), person_data())
    rows = client.get(reverse("audit_list"), {"person": "quill", "record_type": "partner"}).context["rows"]
    assert [[cell[0] for cell in row.cells[2:6]] for row in rows] == [["Ada Quill", "added it", "PA Falls Farm", "partner"]]
    assert client.get(rows[0].cells[4][2]).status_code == 200
    rows = client.get(reverse("audit_list"), {"record_type": "person"}).context["rows"]
    assert rows[0].cells[2][0] == str(other)
    assert lead != other


def test_a_change_reads_from_before_to_after(client):
    signed_in(client, "lead")
    data = {"code": "PA", "name": "Falls Farm", "kind": "landowner", "map_privacy": "general"}
    address = client.post(reverse("partner_add"), data)["Location"]
    client.post(address + "change/", data | {"name": "Falls Wood"})
    newest = client.get(reverse("audit_list")).context["rows"][0]
    assert newest.cells[6][0] == "name: Falls Farm → Falls Wood"


def test_a_linked_record_is_named_in_the_changes(client):
    signed_in(client, "lead")
    one, two = factories.partner(code="ONE", name="Falls Farm"), factories.partner(code="TWO", name="Hill Farm")
    shipment = factories.shipment(receiver=one)
    client.post(reverse("shipment_edit", args=[shipment.pk]), {"code": shipment.code, "receiver": two.pk, "planned_on": "2020-04-06"})
    history = client.get(reverse("shipment_detail", args=[shipment.pk])).context["history"]
    assert history[0]["changes"] == [("receiver", "ONE Falls Farm", "TWO Hill Farm"), ("planned on", "nothing", "6 Apr 2020")]
