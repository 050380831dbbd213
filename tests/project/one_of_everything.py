"""One record of every kind, with people who are near it and people who are not."""

from dataclasses import replace
from uuid import uuid4

from django.utils import timezone

from plantings.imports.loading import sheet_load
from plantings.models import BoundaryLayer, SecondMeasurement
from plantings.services.census.observations import CensusRow
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.census.round_links import round_link_make
from plantings.services.census.second import second_draw_make, second_measurements_record
from plantings.services.field_form.keyings import page_key, second_keying_store
from plantings.services.field_form.pages import form_pages_store
from plantings.services.field_form.scans import form_scans_add
from plantings.services.field_form.self_sown import self_sown_record
from plantings.services.supply import leftover_enter
from plantings.services.trees import counted_plot_add
from registry.compliance.gate.facts import Question
from registry.models import MaterialClass, PollenPool, ReportingClock, Requirement
from registry.selectors.gate.determinations import gate_ask
from registry.services.duties.duties import duty_done_enter
from registry.services.duties.incidents import incident_notice_enter
from registry.services.gate.determinations import determination_store
from registry.services.gate.rules import requirement_verify
from registry.services.identity.questions import question_raise
from registry.services.jobs.jobs import job_ask
from registry.services.land.agreements import agreement_text_add
from registry.services.land.links import link_make
from registry.services.land.notices import land_notice_add
from registry.services.lots.ledger import ledger_enter, lot_bulk
from registry.services.lots.seed_tests import seed_test_enter
from registry.services.people.tokens import token_issue
from registry.services.permits.authorizations import document_add
from registry.services.prints.issued import print_record
from registry.services.safety.cautions import caution_add
from registry.services.sheets.uploads import upload_keep, upload_map
from tests import factories
from tests.people import everyone

LOTS_HEAD = b"Lot,Kind (seed/stock),Binomial,Origin,Outside origin\n"


def world():
    """One of everything: the landowner owns the land, the volunteer is on the crew, nobody else is near."""
    people = everyone()
    lead = people["lead"]
    owner = people["landowner"].partner
    lot = factories.stock_lot(actor=lead, plants=40)
    sent = factories.shipment(
        actor=lead,
        receiver=owner,
        lots=[(lot, "bareroot", 10)],
        dispatched_on=factories.day(2019, 4, 1),
        received_on=factories.day(2019, 4, 2),
    )
    open_box = factories.shipment(actor=lead, receiver=owner, lots=[(lot, "bareroot", 5)], dispatched_on=factories.day(2019, 4, 3))
    draft = factories.shipment(actor=lead, receiver=owner, lots=[(lot, "bareroot", 5)])
    site = factories.site(partner=owner)
    planting = factories.planting(site=site, crew=[people["volunteer"]])
    trees = factories.trees(planting, lot, 3, actor=lead)
    census_round = factories.census_round(planting)
    factories.observe(census_round, {trees[0]: "A"}, actor=lead)
    draw = second_draw_make(actor=lead, census_round=census_round, count=1, measurer=people["volunteer"])
    row = CensusRow(census_round.pk, trees[0].pk, status="A", observed_on=census_round.opens_on, observer=draw.measured_by)
    second_measurements_record(actor=people["volunteer"], draw=draw, rows=[row])
    plot = counted_plot_add(actor=lead, planting=planting, code="D1", lot=lot, planted_count=10)
    entry = ledger_enter(actor=lead, lot=lot, kind="discarded", quantity=1, on=factories.day(2019, 5))
    count = plot_count_record(actor=lead, census_round=census_round, plot=plot, alive=5, observed_on=census_round.opens_on)
    seed = factories.seed_lot(actor=lead, seeds=400)
    bulk = factories.stock_lot(kind="seed", origin="bulk", outside_origin="")
    mixed = lot_bulk(actor=lead, bulk=bulk, component=seed, count=5, on=factories.day(2019))
    test = seed_test_enter(
        actor=lead, lot=seed, kind="germination", tested_on=factories.day(2019), tested_by="A. Tester", replicates=[(100, 60, None)]
    )
    paper = factories.authorization(actor=lead)
    document = document_add(actor=lead, paper=paper, content=b"%PDF-1.7", filename="p.pdf", title="Permit")
    left = leftover_enter(actor=lead, line=sent.lines.get(), outcome="held", count=1, on=factories.day(2019, 4, 3))
    rule = Requirement.objects.create(code="R1", edition="2026", title="Example rule", source="invented")
    asked = {"verified_on": factories.day(2020), "verified_with": "Office", "verified_by": "A"}
    verification = requirement_verify(actor=lead, rule=rule, **asked)
    material_class = MaterialClass.objects.create(code="hybrid", title="Hybrid", rule="donor_ancestry")
    scale = factories.rating_scale()
    rating = factories.rating(factories.pedigree_tree(), scale, 3, actor=lead)
    decision = factories.decision(factories.pedigree_tree(), actor=lead)
    issued = print_record(actor=lead, kind="labels", title="Labels", filename="labels.pdf", content=b"made for a test", lots=[lot])
    answer = determination_store(actor=lead, asked=gate_ask(Question("hold", factories.day(2020))))
    upload = upload_keep(actor=lead, kind="lot", content=b"Lot,Mother\nx,nobody\n", filename="lots.csv")
    combined = upload_keep(actor=lead, kind="combined", content=b"Lot,Mother\nx,nobody\n", filename="all.csv")
    upload_map(actor=lead, upload=combined, spec={"parts": {"lot": {"columns": {"code": "Lot"}}}})
    loaded = sheet_load(
        actor=lead,
        kind="lot",
        content=LOTS_HEAD + f"LL-1,seed,{lot.taxon},outside,gift\nLL-2,seed,nobody,outside,gift\n".encode(),
        filename="lots.csv",
        set_aside=True,
    ).load
    duty = factories.duty(actor=lead, first_due_on=factories.day(2019), responsible=people["volunteer"])
    proof = {"content": b"%PDF-1.7 proof", "filename": "proof.pdf"}
    done = duty_done_enter(
        actor=lead, duty=duty, due_on=factories.day(2019), done_on=factories.day(2019), by="A", evidence="letter", **proof
    )
    clock = ReportingClock.objects.create(authorization=paper, title="first call", tell="Office", amount=1, unit="hours")
    incident = factories.incident(actor=lead, papers=[paper])
    [notice] = incident_notice_enter(
        actor=lead, incident=incident, told_at=incident.found_at, told_whom="Office", how="phone", told_by="A", **proof
    )
    wording = agreement_text_add(actor=lead, title="Agreement", version="1", body="Example.")
    caution = caution_add(
        actor=lead, code="TICKS", in_use_from=factories.day(2020), task="any", hazard="Ticks", text="Look.", decider="the person"
    )
    word = land_notice_add(actor=lead, partner=owner, kind="sale", text="Sold.")
    link, _token = link_make(actor=lead, person=people["landowner"])
    token, _secret = token_issue(actor=lead, person=people["auditor"], purpose="a script", ends_on=timezone.localdate())
    for_crew, _token = round_link_make(actor=lead, census_round=census_round, for_whom="the school", ends_on=timezone.localdate())
    measured = factories.own_measurement(actor=lead)
    [page] = form_pages_store(actor=lead, census_round=census_round, pages=[[tree.pk for tree in trees]])
    first = CensusRow(census_round.pk, trees[1].pk, status="A", observed_on=census_round.opens_on)
    page_key(actor=lead, page=page, rows=[first])
    wild = self_sown_record(actor=lead, census_round=census_round, place="along the fence", observed_on=census_round.opens_on)
    [scan] = form_scans_add(actor=lead, census_round=census_round, files=[(b"%PDF-1.7 page", "page.pdf")], page=page)
    keying = second_keying_store(
        actor=people["coordinator"], page=page, rows=[replace(first, status="D", uuid=uuid4())], observed_on=census_round.opens_on
    )
    records = {
        "formpage": page.pk, "formscan": scan.pk, "selfsown": wild.pk, "pagekeying": keying.pk,
        "ownmeasurement": measured.pk, "protocol": factories.protocol([measured.field], actor=lead).pk,
        "agreementtext": wording.pk, "cautiontext": caution.pk, "landnotice": word.pk, "privatelink": link.pk, "accesstoken": token.pk, "roundlink": for_crew.pk,
        "duty": duty.pk, "incident": incident.pk, "reportingclock": clock.pk,
        "lot": lot.pk, "ledger": entry.pk, "taxon": lot.taxon_id, "pollenpool": PollenPool.objects.create(code="PP", orchard="O", flowering_year=2019).pk,
        "pedigreetree": factories.pedigree_tree().pk, "partner": owner.pk, "shipment": sent.pk, "receipt": sent.receipts.get().pk,
        "issuedprint": issued.pk, "authorization": paper.pk, "requirement": rule.pk, "materialclass": material_class.pk, "document": document.pk, "determination": answer.pk, "person": people["volunteer"].pk, "site": site.pk, "planting": planting.pk,
        "tree": trees[0].pk, "round": census_round.pk, "census": census_round.pk, "observation": trees[0].observations.get().pk, "plotcount": count.pk,
        "seconddraw": draw.pk, "secondmeasurement": SecondMeasurement.objects.get().pk, "photo": factories.photo(trees[0].observations.get()).pk,
        "identityquestion": question_raise(actor=lead, about=lot, raised_on=factories.day(2020), reason="label lost").pk, "impact": lot.pk,
        "issuedreport": factories.issued_report(actor=lead).pk,
        "job": job_ask(actor=lead, kind="permit_zip", title="Permit file", given={}).pk,
        "identityevidence": lot.pk, "leftover": sent.lines.get().pk, "key": upload.key, "combined": combined.key, "load": loaded.pk, "seedtest": test.pk, "handbook": factories.handbook_row().pk,
        "boundary": BoundaryLayer.objects.create(name="Districts", source="invented", code_column="iso", file="districts.geojson").pk,
        "rating": rating.pk, "ratingscale": scale.pk, "decision": decision.pk, "setting": "status_number", "year": 2019,
    }  # fmt: skip
    job_ask(actor=lead, kind="model", title="Model", given={"question": "of-all", "scope": "*", "choices": {}, "page": "/"})
    records["question"] = "of-all"
    special = dict.fromkeys(["lot_pick", "lot_test", "lot_treat", "lot_store", "lot_sow", "lot_tools", "lot_calendar"], seed.pk) | {
        "duty_file": done.pk, "duty_done_correct": done.pk, "incident_file": notice.pk, "incident_correct": notice.pk, "reportingclock_add": paper.pk,
        "identityquestion_add": lot.pk, "shipment_line_add": draft.pk, "shipment_line_remove": draft.lines.get().pk, "shipment_dispatch": draft.pk, "shipment_take_back": sent.pk, "receipt_take_back": sent.receipts.get().pk, "shipment_cancel": draft.pk, "leftover_take_back": left.pk, "ruleverification_correct": verification.pk,
        "document_add": paper.pk, "shipment_edit": draft.pk, "receipt_add": open_box.pk, "ledger_add": lot.pk, "lot_bulk": factories.stock_lot(origin="bulk", outside_origin="").pk,
        "lot_unbulk": mixed.pk, "selfsown_add": census_round.pk, "formscan_add": census_round.pk, "field_form": census_round.pk, "seconddraw_add": census_round.pk,
    }  # fmt: skip
    return people, records, special
