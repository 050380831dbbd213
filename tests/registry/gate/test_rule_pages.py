"""The papers' states and documents, the rules and their verification on screen."""

from datetime import date

import pytest
from django.urls import reverse

from registry.models import AuditEntry, Authorization, Determination, MaterialClass, Requirement
from registry.services.gate.rules import requirement_save
from tests import factories

pytestmark = pytest.mark.django_db

RULE = {
    "code": "EX-R1", "edition": "2026", "title": "Example rule (invented, not law)", "source": "invented for this test",
    "activities": ["dispatch"], "forms": ["seed"], "taxa": "Juglans", "origins": "outside US-VT", "destinations": "US-VT, US-NH",
    "any_of": "permit or none_needed\ncertificate", "blocking": "on", "is_example": "on",
}  # fmt: skip


def signed_in(client, role, **fields):
    person = factories.person(role, **fields)
    client.force_login(person)
    return person


def rule(**fields):
    values = {"code": "EX-R1", "edition": "2026", "title": "Example rule", "source": "invented", "any_of": [["permit"]]} | fields
    return requirement_save(actor=factories.person("lead"), rule=Requirement(**values))


def test_a_rule_is_entered_as_it_was_typed(client):
    signed_in(client, "coordinator")
    client.post(reverse("requirement_add"), RULE)
    kept = Requirement.objects.get()
    assert kept.any_of == [["permit", "none_needed"], ["certificate"]]
    assert (kept.forms, kept.taxa, kept.origins, kept.destinations) == (["seed"], ["Juglans"], ["outside US-VT"], ["US-VT", "US-NH"])
    page = client.get(reverse("requirement_detail", args=[kept.pk])).content.decode()
    assert "not verified: ask the authority" in page.lower() and "An example, not law." in page and "allowed" not in page
    assert "what the programme read in a law or a regulation" in page and "what the paper says" not in page


@pytest.mark.parametrize(
    ("box", "typed", "words"),
    [
        # ISO 3166-2: US-XX does not exist, CA-NF was withdrawn (now CA-NL), a bare subdivision is not a code
        ("destinations", "US-VT, US-XX", "“US-XX” is not a subdivision of US"),
        ("destinations", "CA-NF", "“CA-NF” is not a subdivision of CA"),
        ("origins", "Vermont", "“Vermont” is not a place pattern"),
        ("origins", "outside ZZ", "no country has the code ZZ"),
        ("any_of", "permit or passport", "“passport” is not a type of paper"),
        ("source", "", "This field is required."),
    ],
)
def test_a_wrong_rule_is_refused_at_its_box(client, box, typed, words):
    signed_in(client, "coordinator")
    page = client.post(reverse("requirement_add"), RULE | {box: typed}).content.decode()
    assert words in page and not Requirement.objects.exists()
    assert "Example rule (invented, not law)" in page and typed in page


def test_a_rule_counts_as_verified_until_its_review_is_due(client):
    kept = rule()
    signed_in(client, "coordinator")
    answers = {"verified_on": "2026-01-10", "verified_with": "Example plant office, A. Clerk", "verified_by": "C. Ordinator"}
    page = client.post(reverse("requirement_verify", args=[kept.pk]), answers | {"review_by": "2026-01-10"}).content.decode()
    assert "Give a day after the day it was verified." in page
    client.post(reverse("requirement_verify", args=[kept.pk]), answers | {"review_by": "2099-01-10"})
    assert (
        "verified 10 Jan 2026 by C. Ordinator with Example plant office, A. Clerk"
        in client.get(reverse("requirement_list")).content.decode()
    )
    assert AuditEntry.objects.filter(verb="requirement.verified").count() == 1
    Requirement.objects.update(review_by=date(2026, 2, 1))
    assert "not verified since its review date of 1 Feb 2026: ask the authority" in client.get(reverse("requirement_list")).content.decode()


def test_a_rule_edition_used_by_an_answer_cannot_change(client):
    kept = rule()
    facts = {"requirements": [{"code": "EX-R1", "edition": "2026"}]}
    values = {"activity": "dispatch", "asked_for": date(2026, 4, 1), "verdict": "covered", "entered_at": "2026-04-01T00:00Z"}
    factories.put_in(Determination(question={}, facts=facts, answer={}, **values))
    signed_in(client, "coordinator")
    changed = {"title": "Changed", "source": "invented", "code": "EX-R1", "edition": "2026", "any_of": "permit", "reason": "typo"}
    page = client.post(reverse("requirement_edit", args=[kept.pk]), changed).content.decode()
    assert "enter the changed rule as a new edition" in page and Requirement.objects.get().title == "Example rule"
    client.post(
        reverse("requirement_edit", args=[kept.pk]), changed | {"title": "Example rule", "blocking": "on", "until_on": "2026-12-31"}
    )
    assert Requirement.objects.get().until_on == date(2026, 12, 31)


def test_a_class_by_species_needs_one(client):
    signed_in(client, "coordinator")
    data = {"code": "host", "title": "Host of the canker", "rule": "taxon"}
    assert "needs at least one" in client.post(reverse("materialclass_add"), data).content.decode()
    client.post(reverse("materialclass_add"), data | {"taxa": "Juglans; Carya"})
    assert MaterialClass.objects.get().taxa == ["Juglans", "Carya"]


def test_an_amendment_leaves_the_rest_of_the_paper_unchanged(client):
    MaterialClass.objects.create(code="hybrid", title="Hybrid of a donor", rule="donor_ancestry")
    signed_in(client, "coordinator")
    data = {
        "code": "P-1", "type": "permit", "title": "Example", "issuer": "Office", "state": "in_force", "covers": "seed of hybrids",
        "classes": ["hybrid"], "forms": ["seed"], "activities": ["dispatch"], "destinations": "US-VT", "starts_on": "2026-01-01",
    }  # fmt: skip
    client.post(reverse("authorization_add"), data)
    paper = Authorization.objects.get()
    assert paper.versions.get().classes == ["hybrid"]
    form = client.get(reverse("authorization_edit", args=[paper.pk])).context["form"]
    assert form["forms"].value() == ["seed"] and form["destinations"].value() == "US-VT"
    amended = data | {"destinations": "US-VT, US-NH", "from_on": "2026-06-01", "reason": "amendment 1 of 1 June"}
    client.post(reverse("authorization_edit", args=[paper.pk]), amended)
    first, second = paper.versions.all()
    assert (first.destinations, second.destinations, second.classes) == (["US-VT"], ["US-VT", "US-NH"], ["hybrid"])
    page = client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()
    assert "amendment 1 of 1 June" in page and "Hybrid of a donor" in page and "dispatch of a shipment" in page


def test_a_cap_is_counted_in_seeds_or_plants(client):
    signed_in(client, "coordinator")
    data = {
        "code": "P-1",
        "type": "permit",
        "title": "E",
        "issuer": "O",
        "state": "draft",
        "covers": "c",
        "cap_quantity": "5",
        "cap_unit": "boxes",
    }
    assert "counted in seeds or in plants" in client.post(reverse("authorization_add"), data).content.decode()


def test_a_document_is_stored_and_downloaded_by_role(client, settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)
    from django.core.files.uploadedfile import SimpleUploadedFile

    paper = factories.authorization()
    signed_in(client, "coordinator")
    send = {"file": SimpleUploadedFile("permit.pdf", b"%PDF-1.7 x"), "title": "Permit as issued", "dated": "2026-01-05"}
    client.post(reverse("document_add", args=[paper.pk]), send)
    address = reverse("document_file", args=[paper.documents.get().pk])
    answer = client.get(address)
    assert answer.content == b"%PDF-1.7 x" and answer["Content-Type"] == "application/pdf" and "attachment" in answer["Content-Disposition"]
    signed_in(client, "manager")
    assert client.get(address).status_code == 403
    assert "Permit as issued" in client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()
    signed_in(client, "volunteer")
    assert client.get(address).status_code == 403


def test_holders_are_listed_with_those_who_left_first(client):
    gone, here = (
        factories.person("manager", first_name="Ada", last_name="Gone"),
        factories.person("lead", first_name="Ben", last_name="Here"),
    )
    gone.left_on = date(2020, 5, 1)
    gone.save()
    factories.authorization(code="P-A", holder_account=here, transferable=True)
    factories.authorization(code="P-B", holder_account=gone)
    factories.authorization(code="P-C", holder_account=gone, state="closed")
    signed_in(client, "auditor")
    parts = client.get(reverse("authorization_holders")).context["parts"]
    assert [part["title"] for part in parts] == ["Ada Gone", "Ben Here"]
    assert parts[0]["note"].startswith("Left on 1 May 2020") and parts[0]["count"] == 1
    assert parts[0]["rows"][0].cells[4][0].startswith("ask the issuer") and parts[1]["rows"][0].cells[4][0] == "name a second contact now"


def test_papers_bound_to_an_address_are_listed(client):
    factories.authorization(code="P-A", holder_address="12 Mill Lane,\nRichmond")
    factories.authorization(code="P-B", holder_address="12 Mill Lane, Richmond")
    factories.authorization(code="P-C", holder_address="12 Mill Lane, Richmond", state="closed")
    signed_in(client, "auditor")
    (part,) = client.get(reverse("authorization_holders")).context["parts"]
    assert part["title"] == "12 Mill Lane, Richmond" and [row.cells[0][0] for row in part["rows"]] == ["P-A", "P-B"]
    assert "ask the issuer before anything moves" in part["rows"][0].cells[4][0]


def test_a_rule_names_sites_and_partners_as_they_are_on_file(client):
    signed_in(client, "coordinator")
    factories.partner(code="PT-01")
    factories.site(code="ST-01")
    client.post(reverse("requirement_add"), RULE | {"destinations": "US-VT, outside site:st-01, outside partner: pt-01, site:ST-99"})
    kept = Requirement.objects.get()
    assert kept.destinations == ["US-VT", "outside site:ST-01", "outside partner:PT-01", "site:ST-99"]
    page = client.get(reverse("requirement_detail", args=[kept.pk])).content.decode()
    assert "No site ST-99 is on file. Check the code: so far this fits no place here." in page and "ST-01 is on file" not in page


def test_a_paper_says_which_site_it_names_is_not_on_file(client):
    lead = signed_in(client, "lead")
    factories.site(code="ST-01")
    paper = factories.authorization(actor=lead, limits={"destinations": ["partner:PT-77"], "sites": ["ST-01", "ST-98"]})
    page = client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()
    assert "No partner PT-77 is on file." in page and "No site ST-98 is on file." in page and "No site ST-01" not in page
