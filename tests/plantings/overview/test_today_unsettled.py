"""Today: what was begun and nobody has settled, each in the list of who is to do it. Numbers are counted by hand."""

import datetime
import uuid

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from plantings.selectors.overview.today import LINES_OF_ONE_KIND, today_lines
from plantings.selectors.overview.unsettled import last_look
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.supply import leftover_enter
from plantings.services.trees import counted_plot_add
from registry.calc.shared.screen import day_words
from registry.models import Receipt, SheetUpload
from registry.services.identity.questions import evidence_enter, question_raise, question_settle
from registry.services.movements.shipments import receipt_enter, shipment_dispatch
from registry.services.movements.taking_back import receipt_take_back
from registry.services.orchard.tree_status import tree_status_set
from registry.services.sheets.uploads import upload_keep
from tests import factories
from tests.registry.gate.gate_records import draft, permit, rule

pytestmark = pytest.mark.django_db
ON = datetime.date(2026, 11, 25)


def days(number):
    return ON - datetime.timedelta(days=number)


def said(user, words, on=ON, **rest):
    return [(line.mine, line.text) for line in today_lines(user, on, **rest) if words in line.text]


@pytest.fixture
def office():
    return {role: factories.person(role, username=role) for role in ("lead", "coordinator", "manager")}


def box(actor, count=54, left=days(40), **fields):
    lot = factories.stock_lot(actor=actor, plants=100, code="P26")
    owner = factories.partner(name="Falls Road Wood")
    return factories.shipment(actor=actor, code="SH-1", receiver=owner, lots=[(lot, "bareroot", count)], dispatched_on=left, **fields)


def came(actor, shipment, sound, spoiled=0, condition="good", on=days(35), entered=None):
    receipt = receipt_enter(
        actor=actor, shipment=shipment, received_on=on, received_by="A", box_condition=condition,
        counts={shipment.lines.get(): (sound, 0, spoiled)},
    )  # fmt: skip
    at = timezone.make_aware(datetime.datetime.combine(entered or on, datetime.time(12)))
    Receipt.objects.filter(pk=receipt.pk).update(entered_at=at)
    return receipt


# -- what arrived ---------------------------------------------------------------------------------


def test_a_receipt_with_damage_or_a_shortage_is_the_coordinators(office):
    shipment = box(office["lead"])
    receipt = came(office["coordinator"], shipment, 48, 2, "wet")
    text = "Shipment SH-1 to Falls Road Wood arrived on 21 Oct 2026: the box was wet or mouldy, 2 spoiled, 4 short"
    assert said(office["coordinator"], "arrived on") == [(True, text)]
    assert said(office["lead"], "arrived on") == said(office["manager"], "arrived on") == [(False, text)]
    assert said(factories.person("landowner", partner=shipment.receiver), "arrived on") == []
    assert said(office["coordinator"], "arrived on", ON + datetime.timedelta(days=60)) == []
    receipt_take_back(actor=office["coordinator"], receipt=receipt, reason="wrong box")
    assert said(office["coordinator"], "arrived on") == []


@pytest.mark.parametrize(("ago", "is_listed"), [(0, True), (60, True), (61, False)])
def test_a_receipt_entered_late_is_counted_from_that_day(office, ago, is_listed):
    shipment = box(office["lead"], left=days(130))
    came(office["coordinator"], shipment, 48, 2, "wet", on=days(120), entered=days(ago))
    found = [text for _mine, text in said(office["coordinator"], "arrived on")]
    assert (
        found
        == [
            f"Shipment SH-1 to Falls Road Wood arrived on {day_words(days(120))} (entered on {day_words(days(ago))}): the box was wet or mouldy, "
            "2 spoiled, 4 short"
        ]
        * is_listed
    )


def test_a_second_receipt_of_the_rest_ends_the_shortage(office):
    shipment = box(office["lead"])
    came(office["coordinator"], shipment, 50)
    assert "4 short" in said(office["coordinator"], "arrived on")[0][1]
    came(office["coordinator"], shipment, 4, on=days(30))
    assert said(office["coordinator"], "arrived on") == []


def test_54_received_and_50_planted_leaves_4_to_account_for(office):
    actor = office["coordinator"]
    shipment = box(office["lead"], left=days(60))
    came(actor, shipment, 54, on=days(55))
    assert said(actor, "not accounted", days(50)) == []
    planting = factories.planting(site=factories.site(partner=shipment.receiver), supply="shipment", planted_on=days(45))
    factories.trees(planting, shipment.lines.get().lot, 50, actor=actor)
    text = "Shipment SH-1, lot P26: 4 plants not accounted for (54 received usable, 50 planted). Enter what became of them"
    assert said(actor, "not accounted") == [(True, text)]
    assert said(office["lead"], "not accounted") == [(False, text)]
    assert said(office["manager"], "not accounted") == []  # who may not enter leftovers
    leftover_enter(actor=actor, line=shipment.lines.get(), outcome="held", count=3, on=days(10))
    assert said(actor, "not accounted")[0][1].startswith("Shipment SH-1, lot P26: 1 plant not accounted for")
    leftover_enter(actor=actor, line=shipment.lines.get(), outcome="destroyed", count=4, on=days(5))
    assert said(actor, "not accounted") == []


def test_what_arrived_a_month_ago_and_was_never_planted_is_listed(office):
    shipment = box(office["lead"])
    came(office["coordinator"], shipment, 54, on=days(31))
    assert "54 plants not accounted for" in said(office["coordinator"], "not accounted")[0][1]
    assert said(office["coordinator"], "not accounted", days(1)) == []
    # only a record of what became of them settles it, not a calendar
    assert "54 plants not accounted for" in said(office["coordinator"], "not accounted", ON + datetime.timedelta(days=900))[0][1]


# -- the orchard ------------------------------------------------------------------------------------


def test_evidence_against_an_identity_without_a_question_is_listed(office):
    manager = office["manager"]
    tree, lot = factories.pedigree_tree(code="KW-1"), factories.stock_lot(code="P1")
    for about in (tree, lot):
        evidence_enter(actor=manager, about=about, kind="genotype", outcome="contradicts", on=days(9), by="A", text="another father")
    evidence_enter(actor=manager, about=factories.pedigree_tree(), kind="label", outcome="supports", on=days(9), by="A", text="fits")
    entered = day_words(timezone.localdate())
    first = f"Evidence of 16 Nov 2026, entered on {entered}, contradicts the identity of pedigree tree KW-1, and no question is open"
    assert (True, first) in said(manager, "contradicts")
    assert len(said(manager, "contradicts")) == 2
    assert said(office["coordinator"], "against") == [(False, "2 records with evidence against their identity")]
    question = question_raise(actor=office["lead"], about=tree, raised_on=days(5), reason="another father")
    assert [text for _mine, text in said(manager, "contradicts")] == [first.replace("pedigree tree KW-1", "lot P1")]
    question_settle(actor=office["lead"], question=question, outcome="confirmed", text="sample was swapped", on=days(1))
    assert len(said(manager, "contradicts")) == 1
    evidence_enter(actor=manager, about=tree, kind="genotype", outcome="contradicts", on=ON, by="A", text="again")
    assert len(said(manager, "contradicts")) == 2


def test_trees_decided_to_go_are_listed_until_they_are_gone(office):
    trees = [factories.pedigree_tree(code=f"KW-{number}") for number in range(2)]
    for tree, day in zip(trees, (days(60), days(30)), strict=True):
        factories.decision(tree, "rogued", actor=office["lead"], on=day)
    text = "2 trees decided to be rogued are still standing (the first decided on 26 Sep 2026): KW-0, KW-1"
    assert said(office["manager"], "still standing") == [(True, text)]
    assert said(office["lead"], "still standing") == [(False, text)]
    tree_status_set(actor=office["manager"], tree=trees[0], status="rogued", on=days(1), reason="decided")
    assert said(office["manager"], "still standing")[0][1] == (
        "1 tree decided to be rogued is still standing (decided on 26 Oct 2026): KW-1"
    )
    factories.decision(trees[1], "kept", actor=office["lead"], on=days(1))
    assert said(office["manager"], "still standing") == []


def test_without_a_manager_the_orchard_is_the_leads():
    lead = factories.person("lead")
    factories.decision(factories.pedigree_tree(code="KW-1"), "rogued", actor=lead, on=days(3))
    factories.person("manager", left_on=days(1))
    assert [mine for mine, _text in said(lead, "still standing")] == [True]


# -- papers and sheets --------------------------------------------------------------------------------


def test_a_paper_that_ended_and_is_needed_is_listed(office):
    ended = factories.authorization(code="CERT-1", title="Certificate", state="in_force", ends_on=days(3))
    factories.authorization(code="CERT-2", title="Certificate", state="in_force", ends_on=days(3))
    shipment = factories.shipment(actor=office["lead"], code="SH-9")
    shipment.authorizations.add(ended)
    planting = factories.planting(code="PL-9", state="planned")
    planting.authorizations.add(ended)
    text = "CERT-1 Certificate ended on 22 Nov 2026, and shipment SH-9, planting PL-9 need it. Check with the local authority"
    assert said(office["coordinator"], "need it") == [(True, text)]
    planting.state, shipment.state = "established", "cancelled"
    planting.save(), shipment.save()
    assert said(office["coordinator"], "need it") == []


@pytest.mark.parametrize("limits", [{}, {"cap_quantity": 500, "cap_unit": "seeds"}, {"cap_quantity": 50, "cap_unit": "seeds"}])
def test_a_paper_that_the_gate_missed_because_it_ended_is_listed(office, limits):
    today = timezone.localdate()  # the gate answers about what leaves now
    yesterday = today - datetime.timedelta(days=1)
    lead = office["lead"]
    rule(classes=[])
    permit(lead, limits, code="PERM-1", title="Permit", starts_on=days(900), ends_on=yesterday)
    permit(lead, {"destinations": ["US-WI"]}, code="PERM-2", title="Permit", starts_on=days(900), ends_on=yesterday)
    shipment = draft(lead, factories.seed_lot(actor=lead, seeds=200), code="SH-9", planned_on=today)
    assert said(office["coordinator"], "needs it", today) == []  # nobody has asked
    with pytest.raises(ValidationError):
        shipment_dispatch(actor=office["coordinator"], shipment=shipment, on=today)
    text = f"PERM-1 Permit ended on {day_words(yesterday)}, and shipment SH-9 needs it. Check with the local authority"
    assert said(office["coordinator"], "needs it", today) == [(True, text)]
    assert said(office["coordinator"], "needs it", yesterday) == []  # its last day


def test_a_file_of_a_load_that_stopped_is_its_loaders(office):
    manager = office["manager"]
    upload = upload_keep(actor=manager, kind="census", content=b"a;b\n1;2\n", filename="falls.csv")
    day = timezone.localdate() + datetime.timedelta(days=1)
    assert said(manager, "falls.csv", timezone.localdate()) == []  # somebody may be at it
    [(mine, text)] = said(manager, "falls.csv", day)
    assert mine and "and not saved" in text
    assert [mine for mine, _text in said(office["lead"], "falls.csv", day)] == [False]
    assert said(factories.person("auditor"), "falls.csv", day) == []
    again = upload_keep(actor=manager, kind="census", content=b"a;b\n1;2\n", filename="falls2.csv")
    SheetUpload.objects.filter(pk=again.pk).update(loaded_at=timezone.now())
    assert upload.loaded_at is None and said(manager, "falls", day) == []


# -- since the last look --------------------------------------------------------------------------


def test_what_others_entered_since_the_last_visit_is_counted(office):
    lead = office["lead"]
    planting = factories.planting()
    trees = factories.trees(planting, count=4, actor=lead)
    plot = counted_plot_add(actor=lead, planting=planting, code="A", lot=factories.seed_lot(), planted_count=20)
    round_ = factories.census_round(planting)
    look = last_look(datetime.datetime(2026, 11, 24, 8, 30, tzinfo=datetime.UTC))
    factories.observe(round_, {trees[0]: "A"}, actor=lead)
    assert said(lead, "New since", since=look) == []
    factories.observe(round_, dict.fromkeys(trees[1:], "A"), actor=factories.person("volunteer"))
    plot_count_record(actor=office["coordinator"], census_round=round_, plot=plot, alive=5, observed_on=round_.opens_on)
    came(office["coordinator"], box(lead), 54)
    assert said(lead, "New since", since=look) == [(True, "New since 24 Nov 2026, 03:30: 3 records of trees, 1 plot counted, 1 receipt")]
    assert said(factories.person("volunteer"), "New since", since=look) == []


def test_the_page_compares_with_the_last_visit_of_an_earlier_day(client, office):
    lead = office["lead"]
    client.force_login(lead)

    def page():
        return client.get("/").content.decode()

    came(office["coordinator"], box(lead), 54)
    assert "New since" not in page()
    session = client.session
    session["today"] = session["today"] | {"day": "2026-01-01"}
    session.save()
    assert "New since" not in page()  # nothing came in
    session = client.session
    session["today"] = session["today"] | {"day": "2026-01-01", "look": [0, "2026-01-01T08:00:00+00:00"]}
    session.save()
    assert "1 receipt" in page()
    assert "1 receipt" in page()  # a second look on the same day


# -- gathered -------------------------------------------------------------------------------------


def rounds(open_now, closed):
    for number in range(open_now + closed):
        planting = factories.planting(planted_on=datetime.date(2025, 4, 1))
        factories.trees(planting, count=1)
        closes = ON + datetime.timedelta(days=9) if number < open_now else days(number)
        factories.census_round(planting, 2, opens_on=days(40), closes_on=closes)


def test_long_lists_are_gathered_and_say_how_many_are_overdue(office):
    rounds(9, 3)
    assert said(office["lead"], "round") == [(False, "12 rounds open, 3 overdue")]
    assert len(said(office["coordinator"], "Census")) == LINES_OF_ONE_KIND
    assert said(office["coordinator"], "rounds open") == [(True, "Not shown: 7 rounds open")]  # the overdue ones are shown


def test_what_is_for_others_is_one_line_of_a_kind_for_those_who_act(office):
    rounds(2, 0)
    assert len(said(office["coordinator"], "Census")) == 2
    assert said(office["lead"], "round") == said(office["manager"], "round") == [(False, "2 rounds open")]
    assert len(said(factories.person("auditor"), "Census")) == 2  # who reads has no list of their own to be told from


def test_a_round_is_overdue_only_after_its_last_day(office):
    rounds(1, 0)
    closes = ON + datetime.timedelta(days=9)
    for on, severity in ((closes, "soon"), (closes + datetime.timedelta(days=1), "late")):
        assert [line.severity for line in today_lines(office["lead"], on) if "Census" in line.text] == [severity]


def unsettled(office):
    """One more line of each kind."""
    lead, number = office["lead"], factories.number()
    lot = factories.stock_lot(actor=lead, plants=100)
    shipment = factories.shipment(actor=lead, lots=[(lot, "bareroot", 9)], dispatched_on=days(50))
    came(lead, shipment, 6, 1, "wet")
    evidence_enter(actor=lead, about=lot, kind="label", outcome="contradicts", on=days(9), by="A", text="x")
    factories.decision(factories.pedigree_tree(), "rogued", actor=lead, on=days(3))
    draft = factories.shipment(actor=lead)
    draft.authorizations.add(factories.authorization(state="in_force", ends_on=days(3)))
    upload_keep(actor=lead, kind="census", content=f"{number}".encode(), filename=f"{uuid.uuid4()}.csv")
    SheetUpload.objects.update(uploaded_at=timezone.make_aware(datetime.datetime(2026, 11, 20)))


def test_one_line_of_each_kind_costs_the_queries_of_ten(office):
    counts = []
    for more in (0, 1, 9):
        for _ in range(more):
            unsettled(office)
        with CaptureQueriesContext(connection) as captured:
            today_lines(office["lead"], ON, since=last_look(timezone.now()))
        counts.append(len(captured))
    assert counts[1] == counts[2]
    assert counts[1] - counts[0] <= 4  # papers that ended name their shipments and plantings
