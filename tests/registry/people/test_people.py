"""Who may make whom a lead, and that there is always one."""

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.urls import reverse

from registry.imports.people.people import PersonSheet
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.table import read_table
from registry.models import Person
from registry.services.people.people import person_link_send, person_save
from tests import factories
from tests.project.test_concurrency import at_once

pytestmark = pytest.mark.django_db

NOT_THE_LEAD = ("coordinator", "manager", "auditor", "volunteer")


def typed(person, **fields):
    """What the form of a person sends when only these boxes are changed."""
    names = ("first_name", "last_name", "username", "email", "role", "phone")
    shown = {name: getattr(person, name) for name in names} | {"first_name": "Ada", "last_name": "Quill"}
    return shown | ({"is_active": "on"} if person.is_active else {}) | fields


def saved_role(person):
    return Person.objects.get(pk=person.pk).role


def load_as(actor, text, trial):
    table = read_table(text.encode(), "people.csv")
    sheet = PersonSheet()
    plan = sheet.plan(table, {}, table.first_row)
    try:
        sheet.store(plan, actor, trial=trial)
    except SheetRefused as refused:
        return [str(problem) for problem in refused.plan.problems]
    return []


@pytest.mark.parametrize("role", NOT_THE_LEAD)
def test_only_a_lead_makes_a_lead(role):
    factories.person("lead")
    actor, person = factories.person(role), factories.person("manager")
    person.role = "lead"
    with pytest.raises(ValidationError) as refused:
        person_save(actor=actor, person=person)
    assert "Only a programme lead" in refused.value.message_dict["role"][0]
    with pytest.raises(ValidationError):
        person_save(actor=actor, person=Person(username="new", email="new@example.org", role="lead"))
    assert saved_role(person) == "manager" and not Person.objects.filter(username="new").exists()


def test_a_coordinator_cannot_make_themselves_lead():
    factories.person("lead")
    actor = factories.person("coordinator")
    actor.role = "lead"
    with pytest.raises(ValidationError):
        person_save(actor=actor, person=actor)
    assert saved_role(actor) == "coordinator"


@pytest.mark.parametrize("fields", [{"email": "mine@example.org"}, {"role": "auditor"}, {"is_active": False}, {"username": "other"}])
def test_only_a_lead_changes_the_account_of_a_lead(fields):
    lead, _other = factories.person("lead"), factories.person("lead")
    coordinator = factories.person("coordinator")
    changed = Person.objects.get(pk=lead.pk)
    for name, value in fields.items():
        setattr(changed, name, value)
    with pytest.raises(ValidationError) as refused:
        person_save(actor=coordinator, person=changed)
    assert "Only a lead" in " ".join(refused.value.messages)
    assert {name: getattr(Person.objects.get(pk=lead.pk), name) for name in fields} == {name: getattr(lead, name) for name in fields}


def test_only_a_lead_sends_a_lead_the_link_to_a_new_password():
    lead, other, coordinator = factories.person("lead"), factories.person("lead"), factories.person("coordinator")
    with pytest.raises(ValidationError):
        person_link_send(actor=coordinator, person=lead, domain="testserver", secure=False)
    assert mail.outbox == []
    person_link_send(actor=other, person=lead, domain="testserver", secure=False)
    assert [message.to for message in mail.outbox] == [[lead.email]]


@pytest.mark.parametrize(
    ("field", "value"), [("role", "auditor"), ("is_active", False), ("left_on", factories.day(2020)), ("left_on", factories.day(2190))]
)
def test_the_last_lead_stays_lead_until_there_is_another(field, value):
    lead = factories.person("lead")
    factories.person("lead", is_active=False)
    factories.person("lead", left_on=factories.day(2020))
    factories.person("coordinator")
    setattr(lead, field, value)
    with pytest.raises(ValidationError) as refused:
        person_save(actor=Person.objects.get(pk=lead.pk), person=lead)
    assert "Give that role to somebody else first" in refused.value.message_dict[field][0]
    other = factories.person("lead")
    person_save(actor=other, person=lead)
    assert getattr(Person.objects.get(pk=lead.pk), field) == value


def test_the_last_lead_changes_everything_else_of_their_account():
    lead = factories.person("lead")
    lead.phone = "555 0100"
    person_save(actor=lead, person=lead)
    assert Person.objects.get(pk=lead.pk).phone == "555 0100"


def test_the_first_account_of_all_may_be_a_lead():
    lead = Person(username="first", email="first@example.org", role="lead")
    person_save(actor=lead, person=lead)
    assert saved_role(lead) == "lead"


@pytest.mark.parametrize("trial", [True, False])
def test_only_a_lead_makes_leads_by_a_sheet_of_people(trial):
    lead, coordinator = factories.person("lead"), factories.person("coordinator")
    rows = f"Sign-in name,First name,Last name,E-mail,Role\nnew,N,New,new@example.org,lead\n{lead.username},,,mine@example.org,lead\n"
    first, second = load_as(coordinator, rows, trial)
    assert "row 2" in first.lower() and "Only a programme lead" in first
    assert "row 3" in second.lower() and "Only a lead" in second
    assert load_as(lead, "Sign-in name,First name,Last name,E-mail,Role\nnew,N,New,new@example.org,lead\n", trial) == []


def test_a_coordinator_reads_why_a_lead_cannot_be_changed(client):
    lead, coordinator = factories.person("lead"), factories.person("coordinator")
    client.force_login(coordinator)
    page = client.get(reverse("person_detail", args=[lead.pk]))
    labels = [label for label, _url in page.context["actions"]]
    assert labels == ["Their changes"]
    assert ("Who changes this account", "programme leads only", None) in page.context["facts"]
    for route in ("person_edit", "person_link"):
        assert client.get(reverse(route, args=[lead.pk])).status_code == 403
        assert client.post(reverse(route, args=[lead.pk]), typed(lead, email=coordinator.email)).status_code == 403
    assert mail.outbox == [] and Person.objects.get(pk=lead.pk).email == lead.email
    field = client.get(reverse("person_add")).context["form"].fields["role"]
    assert "lead" not in dict(field.choices) and "Only a programme lead" in field.help_text
    page = client.post(reverse("person_add"), typed(Person(username="new", email="new@example.org"), role="lead"))
    assert "role" in page.context["form"].errors and not Person.objects.filter(username="new").exists()


def test_a_lead_makes_another_and_changes_their_account(client):
    lead, manager = factories.person("lead"), factories.person("manager")
    client.force_login(lead)
    client.post(reverse("person_edit", args=[manager.pk]), typed(manager, role="lead"))
    assert saved_role(manager) == "lead"
    page = client.get(reverse("person_detail", args=[manager.pk]))
    assert "Change the person" in [label for label, _url in page.context["actions"]]
    client.post(reverse("person_edit", args=[manager.pk]), typed(manager, role="auditor"))
    assert saved_role(manager) == "auditor"


def test_the_only_lead_reads_at_the_box_why_they_cannot_leave(client):
    lead = factories.person("lead")
    client.force_login(lead)
    page = client.post(reverse("person_edit", args=[lead.pk]), typed(lead, left_on="2020-05-01"))
    assert "Give that role to somebody else first" in " ".join(page.context["form"].errors["left_on"])
    assert Person.objects.get(pk=lead.pk).left_on is None


@pytest.mark.django_db(transaction=True)
def test_two_leads_demoting_each_other_at_once_leave_one():
    leads = [factories.person("lead"), factories.person("lead")]

    def put_down(pair):
        actor, person = pair
        person = Person.objects.get(pk=person.pk)
        person.role = "auditor"
        try:
            person_save(actor=actor, person=person)
        except ValidationError:
            return "refused"
        return "saved"

    assert sorted(at_once(put_down, [tuple(leads), tuple(reversed(leads))])) == ["refused", "saved"]
    assert Person.objects.filter(role="lead").count() == 1
