"""The gate before a dispatch: what stops, what is drawn, what is stored. The rules of the answer itself are tested in tests/compliance."""

import json
import re
from datetime import date
from html import unescape
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.db import DatabaseError, transaction
from django.urls import reverse

from registry.compliance.gate.answers import EDITION
from registry.compliance.gate.codec import from_json
from registry.compliance.gate.decide import decide
from registry.models import (
    AuditEntry,
    Authorization,
    AuthorizationDraw,
    Determination,
    MaterialClass,
    PollenPool,
    PollenPoolMember,
    Requirement,
)
from registry.selectors.gate.determinations import repeat_fault
from registry.selectors.gate.facts import gate_facts, shipment_question
from registry.services.gate.draws import draw_return
from registry.services.movements.shipments import shipment_dispatch
from tests import factories

pytestmark = pytest.mark.django_db
DAY = date(2026, 4, 6)


@pytest.fixture
def lead():
    return factories.person("lead")


def hybrid_lot(lead, seeds=2000, **fields):
    """Seed of a mother whose father is a donor tree."""
    donor = factories.taxon(name="Juglans ailantifolia", role="donor")
    father = factories.pedigree_tree(taxon=donor, generation_other="donor")
    mother = factories.pedigree_tree(father=father, **fields)
    return factories.seed_lot(actor=lead, seeds=seeds, mother=mother)


def rule(**fields):
    values = {
        "code": "EX-R1", "edition": "2026", "title": "Hybrids into Vermont", "source": "invented for this test", "activities": ["dispatch"],
        "classes": ["hybrid"], "destinations": ["US-VT"], "any_of": [["permit"]], "verified_on": date(2026, 1, 1),
        "verified_with": "office", "verified_by": "us",
    } | fields  # fmt: skip
    MaterialClass.objects.get_or_create(code="hybrid", defaults={"title": "Hybrid of a donor", "rule": "donor_ancestry"})
    return Requirement.objects.create(**values)


def permit(lead, limits=None, with_document=True, **fields):
    from registry.services.permits.authorizations import document_add

    values = {"actor": lead, "state": "in_force", "starts_on": date(2026, 1, 1), "ends_on": date(2026, 12, 31)} | fields
    paper = factories.authorization(limits={"destinations": ["US-VT"]} | (limits or {}), **values)
    if with_document:
        document_add(actor=lead, paper=paper, content=f"%PDF-1.7 {paper.code}".encode(), filename="permit.pdf", title="Permit")
    return paper


def draft(lead, lot, quantity=100, **fields):
    receiver = factories.partner(kind="nursery", region="US-VT")
    values = {"receiver": receiver, "receiving_person": "A. Receiver"} | fields
    return factories.shipment(actor=lead, lots=[(lot, "seed", quantity)], **values)


def test_a_missing_paper_stops_the_dispatch_and_draws_nothing(lead):
    rule()
    lot = hybrid_lot(lead)
    shipment = draft(lead, lot)
    with pytest.raises(ValidationError) as refused:
        shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    message = " ".join(refused.value.message_dict["override_reason"])
    assert "Hybrids into Vermont" in message and "permit" in message
    shipment.refresh_from_db()
    lot.refresh_from_db()
    assert (shipment.state, lot.balance, Determination.objects.filter(carried_out=True).count()) == ("draft", 2000, 0)


def test_a_covering_paper_lets_it_go_and_the_facts_are_stored(lead):
    rule()
    paper = permit(lead, code="P-1")
    permit(lead, code="P-NH", limits={"destinations": ["US-NH"]})
    shipment = draft(lead, hybrid_lot(lead))
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    kept = Determination.objects.get()
    assert (kept.verdict, kept.subject, kept.carried_out, list(kept.authorizations.all())) == ("covered", shipment.code, True, [paper])
    assert [one["code"] for one in kept.facts["requirements"]] == ["EX-R1"]
    assert AuditEntry.objects.filter(verb="determination.stored").count() == 1


def test_a_stored_answer_repeats_after_the_records_changed(lead):
    kept_rule, paper = rule(), permit(lead)
    shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead)), on=DAY)
    kept_rule.delete()
    Authorization.objects.filter(pk=paper.pk).update(state="closed")
    kept = Determination.objects.get()
    assert repeat_fault(kept) == ""
    kept.facts["papers"][0]["versions"][0]["destinations"] = ["US-NH"]
    assert "the gate now says “stop”" in repeat_fault(kept)
    kept.facts = {"kind": "facts", "format": 99}
    assert "cannot be read" in repeat_fault(kept)


def test_a_stored_answer_cannot_be_changed(lead):
    shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead)), on=DAY)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Determination.objects.update(verdict="covered")


def test_without_a_rule_nothing_stops_and_nothing_is_covered(lead):
    shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead)), on=DAY)
    assert Determination.objects.get().verdict == "check"


def test_a_shipment_needs_a_named_receiver(lead):
    with pytest.raises(ValidationError, match="No receiver is named"):
        shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead), receiving_person=""), on=DAY)


def test_a_landowner_receives_nothing_without_an_agreement(lead):
    owner = factories.partner(region="US-VT")
    shipment = draft(lead, hybrid_lot(lead), receiver=owner)
    with pytest.raises(ValidationError, match="Agreement with the landowner"):
        shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    permit(lead, type="landowner", partner=owner, limits={"destinations": []})
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    assert Determination.objects.get(carried_out=True).verdict == "check"


def test_only_the_lead_overrides_and_only_with_a_reason(lead):
    rule()
    coordinator = factories.person("coordinator")
    shipment = draft(lead, hybrid_lot(lead))
    with pytest.raises(ValidationError, match="Only the programme lead"):
        shipment_dispatch(actor=coordinator, shipment=shipment, on=DAY, override_reason="the permit was read out by phone")
    with pytest.raises(ValidationError, match="Give the reason in a sentence"):
        shipment_dispatch(actor=lead, shipment=shipment, on=DAY, override_reason="ok")
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY, override_reason="the permit was read out by phone, copy follows")
    kept = Determination.objects.get(carried_out=True)
    assert Determination.objects.filter(carried_out=False, override_by=None).count() == 2
    assert (kept.verdict, kept.override_by, kept.override_reason) == ("stop", lead, "the permit was read out by phone, copy follows")
    assert AuditEntry.objects.get(verb="determination.overridden").reason == kept.override_reason


def test_a_cap_is_drawn_down_and_cannot_be_exceeded(lead):
    rule()
    paper = permit(lead, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    shipment_dispatch(actor=lead, shipment=draft(lead, lot, 380), on=DAY)
    paper.refresh_from_db()
    assert (paper.drawn, AuthorizationDraw.objects.get().quantity) == (380, 380)
    with pytest.raises(ValidationError, match="Hybrids into Vermont"):
        shipment_dispatch(actor=lead, shipment=draft(lead, lot, 121), on=DAY)
    shipment_dispatch(actor=lead, shipment=draft(lead, lot, 120), on=DAY)
    paper.refresh_from_db()
    assert paper.drawn == 500


def test_giving_back_to_a_cap_needs_a_reason_and_a_draw(lead):
    rule()
    paper = permit(lead, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    shipment = draft(lead, lot, 300)
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    values = {"actor": lead, "paper": paper, "lot": lot, "on": DAY, "subject": shipment.code}
    with pytest.raises(ValidationError, match="Say why"):
        draw_return(**values, quantity=100, reason=" ")
    with pytest.raises(ValidationError, match="300 of lot"):
        draw_return(**values, quantity=301, reason="box came back unopened")
    draw_return(**values, quantity=100, reason="box came back, condition 4 counts it as not used")
    paper.refresh_from_db()
    assert paper.drawn == 200


def test_the_material_class_follows_from_descent(lead):
    rule()
    native = factories.seed_lot(actor=lead, seeds=50, mother=factories.pedigree_tree())
    lines = {line.lot: line for line in shipment_question(draft(lead, native, 10), DAY).lines}
    assert lines[native.code].classes == ()
    grandchild = factories.pedigree_tree(mother=hybrid_lot(lead).mother)
    lot = factories.seed_lot(actor=lead, seeds=50, mother=grandchild)
    assert shipment_question(draft(lead, lot, 10), DAY).lines[0].classes == ("hybrid",)


def test_an_engineered_pool_member_makes_the_class_possible(lead):
    MaterialClass.objects.create(code="engineered", title="Regulated engineered", rule="engineered")
    pool = PollenPool.objects.create(code="PP1", orchard="O", flowering_year=2019, outside_share=0)
    for tree in (factories.pedigree_tree(regulated_engineered=True), factories.pedigree_tree()):
        PollenPoolMember.objects.create(pool=pool, tree=tree)
    lot = factories.seed_lot(actor=lead, seeds=50, mother=factories.pedigree_tree(), pollen_pool=pool)
    line = shipment_question(draft(lead, lot, 10), DAY).lines[0]
    assert (line.classes, line.may_classes) == ((), ("engineered",))


def test_a_lot_in_question_does_not_go(lead):
    from registry.services.identity.questions import question_raise

    lot = hybrid_lot(lead)
    question_raise(actor=lead, about=lot.mother, raised_on=date(2026, 3, 1), reason="pollen was mixed up")
    with pytest.raises(ValidationError, match="Settle the identity"):
        shipment_dispatch(actor=lead, shipment=draft(lead, lot), on=DAY)


def test_the_facts_of_an_answer_equal_the_records(lead):
    """Read as text in bulk for speed, so held here against the records themselves."""
    kept = rule(
        blocking=False, is_example=True, from_on=date(2026, 1, 2), any_of=[["permit", "consent"], ["licence"]], text="Says “so”, in part"
    )
    rule(code="EX-R2", activities=["hold"])
    paper = permit(
        lead,
        limits={"destinations": ["US-VT"], "forms": ["seed"], "cap_quantity": 400, "cap_unit": "seeds", "cap_activities": ["dispatch"]},
    )
    question = shipment_question(draft(lead, hybrid_lot(lead)), DAY)
    facts = gate_facts(question)
    (read,) = facts.requirements
    assert (read.code, read.blocking, read.is_example) == ("EX-R1", False, True) and type(read.blocking) is bool
    assert read.any_of == (("permit", "consent"), ("licence",))
    for name in ("edition", "title", "source", "text", "from_on", "until_on", "verified_on", "review_by", "verified_with", "verified_by"):
        assert getattr(read, name) == getattr(kept, name), name
    for name in ("activities", "classes", "forms", "taxa", "origins", "destinations", "transits"):
        assert getattr(read, name) == tuple(getattr(kept, name)), name
    (read,) = facts.papers
    (said,), version = read.versions, paper.versions.get()
    assert (read.code, read.documents_present, [(one.on, one.state) for one in read.states][-1][1]) == (paper.code, True, "in_force")
    for name in ("number", "from_on", "starts_on", "ends_on", "cap_quantity", "cap_unit"):
        assert getattr(said, name) == getattr(version, name), name
    for name in (
        "under",
        "classes",
        "taxa",
        "lots",
        "forms",
        "activities",
        "origins",
        "destinations",
        "transits",
        "sites",
        "people",
        "cap_activities",
    ):
        assert getattr(said, name) == tuple(getattr(version, name)), name


def test_more_papers_and_rules_cost_no_more_queries(lead, django_assert_num_queries):
    from registry.selectors.gate.determinations import shipment_answer

    shipment = draft(lead, hybrid_lot(lead))
    rule()
    permit(lead)
    with CaptureQueries() as few:
        shipment_answer(shipment, DAY)
    for number in range(20):
        rule(code=f"R{number}")
        permit(lead)
    with django_assert_num_queries(len(few)):
        shipment_answer(shipment, DAY)


def CaptureQueries():
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    return CaptureQueriesContext(connection)


def test_the_command_says_what_stops_and_stores_nothing(lead, capsys):
    rule(is_example=True)
    shipment = draft(lead, hybrid_lot(lead))
    with pytest.raises(SystemExit) as stopped:
        call_command("gate", shipment.code.lower(), "--on", "2026-04-06")
    said = capsys.readouterr().out
    assert stopped.value.code == 3 and "stopped until what is missing is on file" in said
    assert "EX-R1 Hybrids into Vermont (edition 2026): missing, blocking." in said and "an example, not law" in said
    assert "Check with the local authority." in said and not Determination.objects.exists()


def test_the_command_refuses_a_wrong_day_or_code(lead):
    shipment = draft(lead, hybrid_lot(lead))
    with pytest.raises(CommandError, match="'2026-13-01' is not a day. Write it as 2026-10-12."):
        call_command("gate", shipment.code, on="2026-13-01")
    with pytest.raises(CommandError, match="There is no shipment “NOPE”"):
        call_command("gate", "NOPE")


def test_only_the_lead_gets_the_box_to_override(client, lead):
    rule()
    shipment = draft(lead, hybrid_lot(lead))
    address = reverse("shipment_dispatch", args=[shipment.pk])
    client.force_login(factories.person("coordinator"))
    page = client.get(address).content.decode()
    assert "Hybrids into Vermont" in page and "Stops" in page and 'name="override_reason"' not in page
    answer = client.post(address, {"on": "2026-04-06"})
    assert answer.status_code == 200 and "Only the programme lead can override" in answer.content.decode()
    client.force_login(lead)
    assert 'name="override_reason"' in client.get(address).content.decode()
    client.post(address, {"on": "2026-04-06", "override_reason": "the permit was read out by phone"})
    shipment.refresh_from_db()
    assert shipment.state == "dispatched"
    page = client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode()
    assert "Overridden by" in page and "the permit was read out by phone" in page
    kept = client.get(reverse("determination_detail", args=[Determination.objects.get(carried_out=True).pk])).content.decode()
    assert "It gives the same answer again." in kept


def test_an_answer_about_an_activity_is_stored_on_request(client, lead):
    rule(code="EX-INOC", activities=["inoculate"], classes=[], title="Live pathogen")
    client.force_login(lead)
    data = {"activity": "inoculate", "on": "2026-06-02", "region": "us-vt", "people": "R. Ater"}
    page = client.post(reverse("determination_ask"), data).content.decode()
    assert "Live pathogen" in page and "Store this answer" in page and not Determination.objects.exists()
    shown = re.search(r'name="shown" value="(\w+)"', page).group(1)
    address = client.post(reverse("determination_ask"), data | {"store": "yes", "shown": shown})["Location"]
    assert Determination.objects.get().carried_out is False and "Live pathogen" in client.get(address).content.decode()
    assert "not a subdivision of US" in client.post(reverse("determination_ask"), data | {"region": "US-QQ"}).content.decode()


def test_an_inoculation_without_a_lot_asks_about_the_pathogen(client, lead):
    MaterialClass.objects.create(code="pathogen", title="Live pathogen", rule="pathogen")
    rule(code="EX-PATH", activities=["inoculate", "hold"], classes=["pathogen"], destinations=["US"], title="Live plant pathogens")
    client.force_login(lead)
    data = {"activity": "inoculate", "on": "2026-06-02", "region": "US-VT", "people": "R. Ater"}
    page = client.post(reverse("determination_ask"), data).content.decode()
    assert "Live plant pathogens" in page and "Stopped until what is missing is on file" in page
    assert "a flame that is hard to see in daylight" in page and "This work is only for people of 18 years or more." in page
    held = data | {"activity": "hold"}
    assert "Live plant pathogens" not in client.post(reverse("determination_ask"), held).content.decode()
    assert "Live plant pathogens" in client.post(reverse("determination_ask"), held | {"pathogen": "on"}).content.decode()


def test_a_returned_box_is_given_back_to_the_cap_on_screen(client, lead):
    rule()
    paper = permit(lead, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    shipment = draft(lead, lot, 300)
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    client.force_login(lead)
    address = reverse("authorization_give_back", args=[paper.pk])
    data = {"lot": lot.code, "quantity": "301", "on": "2026-05-01", "subject": shipment.code, "reason": "condition 4 counts it as not used"}
    page = client.post(address, data).content.decode()
    assert f"300 of lot {lot.code} are drawn for {shipment.code}" in page and "condition 4 counts it as not used" in page
    client.post(address, data | {"quantity": "40"})
    paper.refresh_from_db()
    assert paper.drawn == 260
    assert "condition 4 counts it as not used" in client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()


def test_a_transit_rule_applies_to_the_states_passed(client, lead):
    rule(code="EX-WAY", classes=[], destinations=[], transits=["US-NY"], title="Carried through")
    shipment = draft(lead, hybrid_lot(lead))
    client.force_login(lead)
    data = {"code": shipment.code, "receiver": shipment.receiver_id, "receiving_person": "A. Receiver", "transit_regions": "us-ny; US-MA"}
    assert client.post(reverse("shipment_edit", args=[shipment.pk]), data | {"transit_regions": "US-QQ"}).status_code == 200
    client.post(reverse("shipment_edit", args=[shipment.pk]), data)
    shipment.refresh_from_db()
    assert shipment.transit_regions == ["US-NY", "US-MA"]
    assert "Carried through" in client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode()


def stored_by_edition(number):
    """An answer as the gate of that edition stored it, in the words of its time."""
    return Determination(**json.loads((Path(__file__).parent / f"answer_of_edition_{number}.json").read_text(encoding="utf-8")))


def test_an_answer_of_an_earlier_edition_repeats():
    kept = stored_by_edition(1)
    (old,) = (one for one in kept.answer["findings"] if one["code"] == "R-WI")
    again = decide(from_json(kept.question), from_json(kept.facts))
    (now,) = (one for one in again.findings if one.code == "R-WI")
    assert old["next_step"] != now.next_step and old["near"][0]["paper"] != now.near[0].paper
    assert [repeat_fault(stored_by_edition(number)) for number in range(1, EDITION)] == [""] * (EDITION - 1)


@pytest.mark.parametrize("number", range(1, EDITION))
def test_answers_of_every_earlier_edition_are_repeated(number):
    assert repeat_fault(stored_by_edition(number)) == ""


def test_an_answer_of_this_edition_repeats_word_for_word():
    """Where this fails, the gate speaks or decides otherwise: raise `answers.EDITION` and store such an answer of the new edition here."""
    kept = stored_by_edition(EDITION)
    assert kept.answer["edition"] == EDITION and repeat_fault(kept) == ""


@pytest.mark.parametrize(
    ("finding", "changes"),
    [
        ("R-WI", {"status": "met"}),
        ("R-WI", {"severity": "advisory"}),
        ("R-WI", {"unverified": ""}),
        ("R-WI", {"lots": ["S21"]}),
        ("R-WI", {"met_by": []}),
        ("R-WI", {"near_left_off": 2}),
        ("R-LIC", {"met_by": ["P-SEED"]}),
        ("R-NOTE", {"near": []}),
        ("landowner", {"near": [{"paper": "A-1", "type": "landowner", "title": "", "reasons": [{"code": "document", "words": ""}]}]}),
        ("landowner", {"near": [{"paper": "A-2", "type": "landowner", "title": "", "reasons": [{"code": "not_in_force", "words": ""}]}]}),
    ],
)
def test_a_changed_decision_of_an_earlier_edition_shows(finding, changes):
    kept = stored_by_edition(1)
    next(one for one in kept.answer["findings"] if one["code"] == finding).update(changes)
    assert "but for other reasons" in repeat_fault(kept)


def test_a_changed_draw_or_verdict_of_an_earlier_edition_shows():
    kept = stored_by_edition(1)
    kept.answer["draws"][0]["quantity"] = 299
    assert "but for other reasons" in repeat_fault(kept)
    kept = stored_by_edition(1)
    kept.answer["verdict"] = "check"
    assert "the gate now says “stop”, and “check” is stored" in repeat_fault(kept)


def test_a_changed_word_shows_in_an_answer_of_this_edition():
    kept = stored_by_edition(EDITION)
    kept.answer["findings"][0]["next_step"] = "Go on."
    assert "but for other reasons" in repeat_fault(kept)


def seeds_and_seedlings(lead):
    """A draft shipment of a seed lot and of a lot of seedlings."""
    seeds = hybrid_lot(lead)
    seedlings = factories.stock_lot(actor=lead, plants=50)
    receiver = factories.partner(kind="nursery", region="US-VT")
    lines = [(seeds, "seed", 100), (seedlings, "bareroot", 20)]
    return factories.shipment(actor=lead, lots=lines, receiver=receiver, receiving_person="A. Receiver"), seeds, seedlings


def words_of(page):
    """What a page says, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", "", re.sub(r"(?s)<(script|style).*?</\1>", "", page))).split())


def test_page_and_command_say_which_lots_a_paper_covers(client, lead, capsys):
    rule(classes=[], is_example=True, verified_on=None, verified_with="", verified_by="")
    permit(lead, code="P-SEED", title="Seed into Vermont", limits={"forms": ["seed"]})
    permit(lead, code="P-OLD", title="Ended", ends_on=date(2026, 2, 1))
    shipment, seeds, seedlings = seeds_and_seedlings(lead)
    client.force_login(lead)
    page = words_of(client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode())
    with pytest.raises(SystemExit):
        call_command("gate", shipment.code)
    said = capsys.readouterr().out.splitlines()
    told = [line.strip() for line in said if line.startswith("  ")]
    assert f"Met in part by: P-SEED (lot {seeds.code})." in told and f"Not covered: lot {seedlings.code}." in told
    assert any(line.startswith("Not met by P-SEED") and f"(lot {seedlings.code})" in line for line in told)
    assert any(line.startswith("Next: ") and "P-OLD: ask the authority to renew it" in line for line in told)
    assert len(told) >= 8 and [line for line in told if line not in page] == []


def test_an_advisory_rule_can_be_met_in_part(client, lead):
    rule(classes=[], blocking=False)
    permit(lead, code="P-SEED", limits={"lots": ["NOT-THIS"]})
    permit(lead, code="P-LOT", limits={"forms": ["seed"]})
    shipment, seeds, _seedlings = seeds_and_seedlings(lead)
    client.force_login(lead)
    page = words_of(client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode())
    assert f"Met in part by: P-LOT (lot {seeds.code})." in page
