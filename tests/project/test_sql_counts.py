"""The number of queries of every list page: kept here, changed only on purpose, the same for one row and for many."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from plantings.imports.loading import sheet_load
from registry.compliance.gate.facts import Question
from registry.models import MaterialClass, PollenPool, ReportingClock, Requirement
from registry.selectors.gate.determinations import gate_ask
from registry.services.gate.determinations import determination_store
from registry.services.identity.questions import question_raise
from registry.services.jobs.jobs import job_ask
from registry.services.land.agreements import agreement_text_add
from registry.services.land.notices import land_notice_add
from registry.services.lots.ledger import ledger_enter
from registry.services.orchard.shares import share_enter
from registry.services.people.tokens import token_issue
from registry.services.prints.issued import print_record
from registry.services.safety.cautions import caution_add
from tests import factories

pytestmark = pytest.mark.django_db

# Queries of a page as a lead sees it: session, person, count and rows; Survival has its filters and lineages besides.
QUERIES = {
    "lot_list": 4, "ledger_list": 4, "taxon_list": 4, "pollenpool_list": 4, "pedigreetree_list": 4, "partner_list": 4, "shipment_list": 4,
    "receipt_list": 4, "authorization_list": 6, "person_list": 4, "accesstoken_list": 4, "audit_list": 4, "site_list": 4, "planting_list": 4, "tree_list": 4,
    "round_list": 4, "survival": 9, "survival_lineages": 8, "results": 9, "identityquestion_list": 4, "sheet_list": 3, "handbook_list": 4, "issuedprint_list": 4,
    "job_list": 4, "issuedreport_list": 4, "load_list": 4, "agreementtext_list": 4, "landnotice_list": 4, "cautiontext_list": 4, "rating_list": 6, "ratingscale_list": 4, "decision_list": 4, "share_list": 7, "orchard_list": 6,
    "protocol_list": 4, "ownmeasurement_list": 4, "duty_list": 4, "incident_list": 7, "requirement_list": 4, "materialclass_list": 4, "determination_list": 4,
}  # fmt: skip


def one_more_of_everything(actor):
    lot = factories.seed_lot(
        actor=actor, seeds=50, mother=factories.pedigree_tree(mother=factories.pedigree_tree(), father=factories.pedigree_tree())
    )
    stock = factories.stock_lot(actor=actor, plants=50)
    ledger_enter(actor=actor, lot=lot, kind="sampled", quantity=1, on=factories.day(2019))
    factories.handbook_row()
    grown = factories.pedigree_tree(orchard="Mill Brook", block=f"{factories.number()}", backcrosses=1, intercrosses=0)
    factories.rating(grown, factories.rating_scale(), 3, actor=actor)
    factories.decision(grown, "rogued", actor=actor)
    share_enter(actor=actor, tree=grown, donor_share=Decimal("0.2"), method="markers", sampled_on=factories.day(2019))
    PollenPool.objects.create(code=f"PP{factories.number()}", orchard="O", flowering_year=2019)
    owner = factories.partner()
    factories.shipment(
        actor=actor,
        receiver=owner,
        lots=[(stock, "bareroot", 5)],
        dispatched_on=factories.day(2019, 4, 1),
        received_on=factories.day(2019, 4, 2),
    )
    paper = factories.authorization()
    factories.duty(actor=actor, authorization=paper)
    ReportingClock.objects.create(authorization=paper, title="first call", tell="Office", amount=1, unit="hours")
    factories.incident(actor=actor, papers=[paper])
    planting = factories.planting(site=factories.site(partner=owner))
    trees = factories.trees(planting, stock, 3, actor=actor)
    factories.observe(factories.census_round(planting), {trees[0]: "A", trees[1]: "D"}, actor=actor)
    factories.person("volunteer")
    token_issue(actor=actor, person=factories.person("auditor"), purpose="a script", ends_on=timezone.localdate())
    factories.protocol([factories.own_measurement(actor=actor).field], actor=actor)
    land_notice_add(actor=actor, partner=owner, kind="sale", text="Sold.")
    agreement_text_add(actor=actor, title=f"Agreement {factories.number()}", version="1", body="Example.")
    caution_add(
        actor=actor, code=f"C{factories.number()}", in_use_from=factories.day(2020), task="any", hazard="Ticks", text="Look.", decider="you"
    )
    print_record(actor=actor, kind="labels", title="Labels", filename="labels.pdf", content=b"made for a test", lots=[lot])
    factories.issued_report(actor=actor)
    job_ask(actor=actor, kind="permit_zip", title=f"Permit file {factories.number()}", given={"paper": factories.number()})
    Requirement.objects.create(code=f"R{factories.number()}", edition="2026", title="Example rule", source="invented")
    MaterialClass.objects.create(code=f"C{factories.number()}", title="Example class", rule="declared")
    determination_store(actor=actor, asked=gate_ask(Question("hold", factories.day(2020))))
    sheet_load(
        actor=actor, kind="partner", content=f"Partner,Name,Kind\nPL{factories.number()},Mill,landowner\n".encode(), filename="p.csv"
    )
    question_raise(actor=actor, about=lot.mother, raised_on=factories.day(2020), reason="tag lost")


def queries(client, name):
    with CaptureQueriesContext(connection) as captured:
        assert client.get(reverse(name)).status_code == 200
    return len(captured)


def test_a_list_costs_the_same_queries_for_one_row_and_many(client):
    lead = factories.person("lead")
    client.force_login(lead)
    one_more_of_everything(lead)
    few = {name: queries(client, name) for name in QUERIES}
    for _ in range(7):
        one_more_of_everything(lead)
    many = {name: queries(client, name) for name in QUERIES}
    assert many == few
    assert many == QUERIES
