"""Every route as every person: 200 or a redirect, 403 for a wrong action, 404 for a row outside the scope, sign-in otherwise.

The expected answer is worked out here from the tables of who may do what and who is related how to the
rows, written out by hand; it is not read from the code that enforces it.
"""

import ast
import re
from dataclasses import replace
from uuid import uuid4

import pytest
from django.apps import apps
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from plantings.imports.loading import sheet_load
from plantings.models import BoundaryLayer, SecondMeasurement
from plantings.services.census import CensusRow, plot_count_record
from plantings.services.field_form.keyings import page_key, second_keying_store
from plantings.services.field_form.pages import form_pages_store
from plantings.services.field_form.scans import form_scans_add
from plantings.services.field_form.self_sown import self_sown_record
from plantings.services.round_links import round_link_make
from plantings.services.second import second_draw_make, second_measurements_record
from plantings.services.supply import leftover_enter
from plantings.services.trees import counted_plot_add
from registry.access import roles
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
from tests.people import everyone, names
from tests.places import PROJECT

pytestmark = pytest.mark.django_db

STAFF = {"lead", "coordinator"}
OFFICE = STAFF | {"manager"}
READERS = OFFICE | {"auditor"}
EVERYONE = READERS | {"volunteer", "landowner", "other volunteer", "other landowner"}
# volunteers and landowners see only rows of their own plantings, land and shipments
NEAR = READERS | {"volunteer", "landowner"}

# route: (whose role may do it, whose rows contain the row asked for)
ROUTES = {}


def routes(patterns=None, prefix=""):
    for pattern in patterns if patterns is not None else get_resolver().url_patterns:
        if isinstance(pattern, URLResolver):
            yield from routes(pattern.url_patterns, prefix + str(pattern.pattern))
        elif isinstance(pattern, URLPattern):
            yield pattern.name, prefix + str(pattern.pattern), pattern


PUBLIC = {"login", "logout", "password_reset", "password_reset_done", "password_reset_confirm", "password_reset_complete", "calendar_feed"}
PUBLIC |= {
    "land_page",
    "land_tell",
    "land_print",
    "land_receipt",
    "land_agreement",
    "land_language",
}  # a private link; see tests/plantings/land/test_land_page.py
PUBLIC |= {"phone_home", "phone_worker", "phone_manifest"}  # the same for everybody; see tests/plantings/census/test_phone_routes.py
PUBLIC.add("language")  # the choice of a language, see tests/registry/people/test_language.py
PUBLIC.add("phone_by_link")  # a link; see the same tests
PUBLIC.add("decision_by_link")  # a link too; see tests/registry/orchard/test_second_person.py
ROUTES |= dict.fromkeys(
    ["today", "find", "help", "results", "map", "map_embed", "map_geojson", "map_geopackage", "map_file"], (EVERYONE, None)
)
ROUTES |= dict.fromkeys(["site_list", "planting_list", "tree_list", "round_list", "round_coverage"], (EVERYONE, None))
ROUTES |= dict.fromkeys(
    ["trace", "lot_list", "ledger_list", "taxon_list", "pollenpool_list", "pedigreetree_list", "authorization_list"], (READERS, None)
)
ROUTES |= dict.fromkeys(
    ["taxon_detail", "pollenpool_detail", "pedigreetree_detail", "lot_detail", "authorization_detail"], (READERS, READERS)
)
ROUTES |= dict.fromkeys(["taxon_add", "pollenpool_add", "pedigreetree_add", "lot_add", "shipment_add"], (OFFICE, None))
ROUTES |= dict.fromkeys(
    ["taxon_edit", "pollenpool_edit", "pedigreetree_edit", "pedigreetree_status", "lot_edit", "lot_bulk", "lot_unbulk", "ledger_add", "ledger_reverse",
     "shipment_edit", "shipment_line_add", "shipment_line_remove", "shipment_cancel"], (OFFICE, OFFICE),
)  # fmt: skip
ROUTES |= dict.fromkeys(
    [
        "partner_add",
        "authorization_add",
        "site_add",
        "planting_add",
        "round_add",
        "tree_add",
        "countedplot_add",
        "boundary_list",
        "boundary_add",
        "person_list",
        "person_add",
    ],
    (STAFF, None),
)
ROUTES |= dict.fromkeys(
    ["partner_edit", "authorization_edit", "shipment_dispatch", "leftover_add", "site_edit", "site_boundary", "planting_edit", "round_edit",
     "tree_edit", "tree_retag", "tree_replace", "person_detail", "person_edit", "person_link", "person_unlock"], (STAFF, STAFF),
)  # fmt: skip
ROUTES |= dict.fromkeys(["shipment_take_back", "receipt_take_back", "leftover_take_back"], (STAFF, STAFF))
ROUTES |= {"results_mothers": (READERS, None), "pedigreetree_roguing": (READERS, READERS)}
OWNERS = READERS | {"landowner", "other landowner"}
ROUTES |= dict.fromkeys(
    [
        "shipment_list",
        "receipt_list",
        "survival",
        "survival_lineages",
        "survival_lifetimes",
        "survival_by_site",
        "survival_measured",
        "survival_growth",
        "partner_list",
    ],
    (OWNERS, None),
)
ROUTES["survival_data"] = (READERS, None)
ROUTES |= dict.fromkeys(["api_openapi", "api_sites", "api_plantings"], (EVERYONE, None))
ROUTES |= dict.fromkeys(["api_survival", "api_lineages", "api_lifetimes", "api_growth", "api_measurements"], (OWNERS, None))
ROUTES |= dict.fromkeys(["api_data", "api_lots"], (READERS, None))
ROUTES |= {"accesstoken_list": (STAFF, None), "person_token": ({"lead"}, {"lead"}), "accesstoken_revoke": ({"lead"}, {"lead"})}
ROUTES["survival_lineage"] = (OWNERS, None)  # its rows: tests/plantings/survival/test_one_lineage.py
ROUTES |= dict.fromkeys(
    ["shipment_detail", "shipment_packing", "receipt_detail", "partner_detail", "partner_one_page"], (OWNERS, READERS | {"landowner"})
)
ROUTES["receipt_add"] = (STAFF | {"landowner", "other landowner"}, STAFF | {"landowner"})
ROUTES |= dict.fromkeys(
    [
        "site_detail",
        "planting_detail",
        "planting_map",
        "planting_film",
        "tree_detail",
        "round_detail",
        "round_records",
        "round_photos",
        "photo_file",
    ],
    (EVERYONE, NEAR),
)
ROUTES["formscan_file"] = (EVERYONE, READERS)  # the crew's own, see tests/plantings/census/test_scans.py
CREW = STAFF | {"volunteer", "other volunteer"}
ROUTES |= dict.fromkeys(
    ["census_grid", "census_next", "census_tree", "census_counts", "field_form", "formpage_key", "formscan_add", "selfsown_add"],
    (CREW, STAFF | {"volunteer"}),
)
ROUTES |= dict.fromkeys(["census_phone", "census_phone_data"], (CREW, STAFF | {"volunteer"}))
ROUTES["census_phone_ping"] = (CREW, None)
API = {
    "api_openapi",
    "api_sites",
    "api_plantings",
    "api_survival",
    "api_lineages",
    "api_lifetimes",
    "api_growth",
    "api_measurements",
    "api_data",
    "api_lots",
}
JSON_ONLY = API | {
    "census_phone_data",
    "census_phone_ping",
    "seconddraw_phone_data",
}  # a script asks: it is told 401 and is not led to the sign-in
ROUTES |= dict.fromkeys(
    ["round_link", "roundlink_revoke", "round_review", "round_result", "pagekeying_settle", "observation_photo"], (STAFF, STAFF)
)
ROUTES |= dict.fromkeys(
    ["observation_correct", "plotcount_correct", "selfsown_correct"], (CREW, STAFF)
)  # the crew's own records, see tests/plantings/census/test_own_records.py
MEASURERS = READERS | {"volunteer", "other volunteer"}
ROUTES |= dict.fromkeys(["seconddraw_detail", "seconddraw_trees", "round_second"], (MEASURERS, READERS | {"volunteer"}))
ROUTES |= dict.fromkeys(["seconddraw_enter", "seconddraw_form", "seconddraw_phone", "seconddraw_phone_data"], (CREW, STAFF | {"volunteer"}))
ROUTES["secondmeasurement_correct"] = (CREW, STAFF)  # the volunteer's own until all are in, see tests/plantings/census/test_second.py
ROUTES |= dict.fromkeys(["seconddraw_add", "seconddraw_close"], ({"lead"}, {"lead"}))
ROUTES |= dict.fromkeys(
    ["requirement_list", "materialclass_list", "authorization_holders", "determination_list", "determination_ask"], (READERS, None)
)
ROUTES |= dict.fromkeys(["requirement_detail", "materialclass_detail", "determination_detail"], (READERS, READERS))
ROUTES |= dict.fromkeys(["planting_establish", "boundary_withdraw"], (STAFF, STAFF))
ROUTES |= dict.fromkeys(["requirement_add", "materialclass_add"], (STAFF, None))
ROUTES |= dict.fromkeys(
    [
        "requirement_edit",
        "requirement_verify",
        "ruleverification_correct",
        "materialclass_edit",
        "authorization_state",
        "authorization_give_back",
        "authorization_opening",
        "document_add",
    ],
    (STAFF, STAFF),
)
ROUTES["document_file"] = (STAFF | {"auditor"}, STAFF | {"auditor"})
ROUTES["identityquestion_list"] = (READERS, None)
ROUTES |= dict.fromkeys(["identityquestion_detail", "impact"], (READERS, READERS))
ROUTES |= dict.fromkeys(["identityquestion_add", "identityevidence_add"], (OFFICE, OFFICE))  # of a lot
ROUTES["identityquestion_settle"] = (STAFF, STAFF)
ROUTES["book_export"] = ({"lead"}, None)
ROUTES["audit_list"] = (STAFF | {"auditor"}, None)
ROUTES["issuedprint_list"] = (READERS, None)
ROUTES |= dict.fromkeys(["issuedprint_detail", "lot_life"], (READERS, READERS))
ROUTES |= dict.fromkeys(["lot_labels", "lot_identity_draft", "shipment_health_draft", "planting_tags"], (OFFICE, OFFICE))
ROUTES["sheet_list"] = (OFFICE, None)
ROUTES["job_list"] = (READERS, None)
ROUTES |= {"issuedreport_list": (READERS, None), "issuedreport_draft": (READERS, None), "issuedreport_issue": ({"lead"}, None)}
ROUTES |= dict.fromkeys(["issuedreport_detail", "issuedreport_pdf"], (READERS, READERS))
ROUTES |= dict.fromkeys(["job_detail", "job_now", "job_file", "job_cancel", "job_again"], (READERS, {"lead"}))  # their own alone
ROUTES |= dict.fromkeys(
    ["orchard_list", "orchard_plan", "rating_list", "ratingscale_list", "decision_list", "share_list", "setting_list"], (READERS, None)
)
ROUTES |= dict.fromkeys(["rating_detail", "ratingscale_detail", "decision_detail"], (READERS, READERS))
ROUTES |= dict.fromkeys(["decision_confirm", "decision_link"], (OFFICE, OFFICE))
ROUTES |= dict.fromkeys(["rating_day", "ratingscale_add"], (OFFICE, None))
ROUTES |= dict.fromkeys(
    ["rating_correct", "ratingscale_edit", "pedigreetree_rate", "pedigreetree_decide", "pedigreetree_share", "lot_share"], (OFFICE, OFFICE)
)
ROUTES["setting_edit"] = ({"lead"}, None)
ROUTES |= dict.fromkeys(["ownmeasurement_list", "protocol_list"], (READERS, None))
ROUTES |= dict.fromkeys(["ownmeasurement_detail", "protocol_detail"], (READERS, READERS))
ROUTES |= dict.fromkeys(["ownmeasurement_add", "protocol_add"], ({"lead"}, None))
ROUTES |= dict.fromkeys(["ownmeasurement_edit", "ownmeasurement_words", "protocol_edit"], ({"lead"}, {"lead"}))
ROUTES |= dict.fromkeys(["lot_raised", "handbook_list"], (READERS, None))
ROUTES |= dict.fromkeys(["lot_tools", "lot_calendar", "seedtest_detail", "handbook_detail"], (READERS, READERS))
ROUTES |= dict.fromkeys(["harvest_add", "handbook_add"], (OFFICE, None))
ROUTES |= dict.fromkeys(
    ["lot_pick", "lot_test", "lot_treat", "lot_store", "lot_sow", "lot_raise", "lot_cull", "lot_split", "lot_put_back", "lot_close",
     "lot_reopen", "seedtest_correct", "handbook_edit", "handbook_verify"], (OFFICE, OFFICE),
)  # fmt: skip
ROUTES |= dict.fromkeys(["how_many", "orchard_diversity"], (READERS, None))
ROUTES |= dict.fromkeys(["pedigreetree_numbers", "lot_numbers", "lot_diversity", "pollenpool_diversity"], (READERS, READERS))
ROUTES |= dict.fromkeys(["pollenpool_gather", "pollenpool_members"], (OFFICE, OFFICE))
ROUTES |= dict.fromkeys(["sheet_send", "sheet_template", "sheet_export"], (OFFICE, None))  # of the kind "lot"
ROUTES["combined_send"] = (OFFICE, None)
ROUTES |= dict.fromkeys(["combined_preview", "combined_parts", "combined_part", "combined_problems", "combined_original"], (OFFICE, OFFICE))
ROUTES["load_list"] = (OFFICE, None)
ROUTES |= dict.fromkeys(["load_detail", "load_rest", "load_leave_out", "load_withdraw"], (OFFICE, OFFICE))
ROUTES |= dict.fromkeys(["sheet_preview", "sheet_columns", "sheet_problems", "sheet_original"], (OFFICE, OFFICE))


SEE_DUTIES = READERS | {"volunteer", "other volunteer"}
ROUTES |= dict.fromkeys(["duty_list", "calendar", "calendar_own"], (SEE_DUTIES, None))
ROUTES["duty_detail"] = (SEE_DUTIES, READERS | {"volunteer"})
ROUTES["duty_done"] = (OFFICE | {"volunteer", "other volunteer"}, OFFICE | {"volunteer"})
ROUTES["duty_done_correct"] = (OFFICE | {"volunteer", "other volunteer"}, OFFICE)
ROUTES["duty_add"] = (STAFF, None)
ROUTES |= dict.fromkeys(["duty_edit", "duty_close", "reportingclock_add", "reportingclock_edit"], (STAFF, STAFF))
ROUTES["duty_file"] = ROUTES["incident_file"] = (STAFF | {"auditor"}, STAFF | {"auditor"})
ROUTES["incident_list"] = (READERS, None)
ROUTES |= dict.fromkeys(["authorization_duties", "incident_detail"], (READERS, READERS))
ROUTES["incident_add"] = (OFFICE, None)
ROUTES |= dict.fromkeys(["incident_edit", "incident_notice", "incident_correct", "incident_close"], (OFFICE, OFFICE))

ROUTES |= dict.fromkeys(["agreementtext_list", "landnotice_list"], (READERS, None))
ROUTES |= dict.fromkeys(["agreementtext_detail", "landnotice_detail"], (READERS, READERS))
ROUTES |= dict.fromkeys(["agreementtext_add", "cautiontext_add"], (STAFF, None))
ROUTES |= dict.fromkeys(
    ["agreementtext_edit", "authorization_sign", "partner_link", "partner_notice", "privatelink_revoke", "landnotice_handle",
     "cautiontext_edit", "cautiontext_withdraw"], (STAFF, STAFF),
)  # fmt: skip
ROUTES |= dict.fromkeys(["cautiontext_list", "caution_read"], (EVERYONE, None))
ROUTES["cautiontext_detail"] = (EVERYONE, EVERYONE)
ROUTES |= dict.fromkeys(["authorization_file", "authorization_year"], (STAFF | {"auditor"}, STAFF | {"auditor"}))


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
    special = dict.fromkeys(["lot_pick", "lot_test", "lot_treat", "lot_store", "lot_sow", "lot_tools", "lot_calendar"], seed.pk) | {
        "duty_file": done.pk, "duty_done_correct": done.pk, "incident_file": notice.pk, "incident_correct": notice.pk, "reportingclock_add": paper.pk,
        "identityquestion_add": lot.pk, "shipment_line_add": draft.pk, "shipment_line_remove": draft.lines.get().pk, "shipment_dispatch": draft.pk, "shipment_take_back": sent.pk, "receipt_take_back": sent.receipts.get().pk, "shipment_cancel": draft.pk, "leftover_take_back": left.pk, "ruleverification_correct": verification.pk,
        "document_add": paper.pk, "shipment_edit": draft.pk, "receipt_add": open_box.pk, "ledger_add": lot.pk, "lot_bulk": factories.stock_lot(origin="bulk", outside_origin="").pk,
        "lot_unbulk": mixed.pk, "selfsown_add": census_round.pk, "formscan_add": census_round.pk, "field_form": census_round.pk, "seconddraw_add": census_round.pk,
    }  # fmt: skip
    return people, records, special


def address(name, pattern, records, special):
    kwargs = {}
    for _converter, key in re.findall(r"<(?:(\w+):)?(\w+)>", pattern):
        if key == "pk":
            kwargs[key] = special.get(name) or records[name.split("_")[0]]
        elif key == "kind":
            kwargs[key] = "lot"
        elif key == "wanted":
            kwargs[key] = "csv"
        else:
            kwargs[key] = records[key]
    return reverse(name, kwargs=kwargs)


def test_every_route_is_in_the_table_with_its_action():
    names = {name for name, _pattern, _view in routes()}
    assert names - PUBLIC == set(ROUTES)
    for name, _pattern, view in routes():
        if name not in PUBLIC:
            assert view.callback.view_class.action in roles.ACTIONS, name


def test_every_page_needs_a_sign_in(client, shared_world):
    _people, records, special = shared_world
    for name, pattern, _view in routes():
        if name in PUBLIC:
            continue
        response = client.get(address(name, pattern, records, special))
        if name in JSON_ONLY:
            written = "application/problem+json" if name in API else "application/json"
            assert (response.status_code, response.headers["Content-Type"]) == (401, written), name
            continue
        assert response.status_code == 302 and response.url.startswith("/sign-in/"), name


def people_without_an_expected_answer():
    """Roles no group of this table names: nobody has said yet what they may do."""
    return set(roles.ROLES) - EVERYONE


def walk(client, person, records, special):
    """{route: (its address, the response)} of every page of the site that is not public, as one person gets them."""
    client.force_login(person)
    paths = {name: address(name, pattern, records, special) for name, pattern, _view in routes() if name not in PUBLIC}
    return {name: (path, client.get(path)) for name, path in paths.items()}


def wrong_answers(walked, who):
    """[(route, status, what the table expects)] where the site answers somebody otherwise than the table says."""
    wrong = []
    for name, (_path, response) in walked.items():
        may, rows = ROUTES[name]
        expected = {403} if who not in may else {404} if rows is not None and who not in rows else {200, 302}
        if response.status_code not in expected:
            wrong.append((name, response.status_code, expected))
    return wrong


def test_every_role_has_an_expected_answer():
    assert people_without_an_expected_answer() == set()


@pytest.mark.one_database  # what our table says of a role is the same on both
def test_a_new_role_is_walked_and_missed_in_the_table(client, monkeypatch, shared_world):
    monkeypatch.setattr(roles, "ROLES", roles.ROLES | {"guest": "Guest"})
    monkeypatch.setattr(roles, "ACTIONS", roles.ACTIONS | {"audit.view": roles.ACTIONS["audit.view"] | {"guest"}})
    assert "guest" in names()
    assert people_without_an_expected_answer() == {"guest"}
    _people, records, special = shared_world
    walked = walk(client, factories.person("guest"), records, special)
    assert [name for name, _status, _expected in wrong_answers(walked, "guest")] == ["audit_list"]


@pytest.mark.one_database  # whose rows somebody sees, test_every_page asks both databases
@pytest.mark.parametrize("who", [name for name in names() if name not in OFFICE])
def test_a_post_is_refused_as_a_get_is(client, who, shared_world):
    people, records, special = shared_world
    client.force_login(people[who])
    wrong = []
    for name, pattern, _view in routes():
        may, rows = ROUTES.get(name, (EVERYONE, None))
        if name in PUBLIC or (who in may and (rows is None or who in rows)):
            continue
        status = client.post(address(name, pattern, records, special), {}).status_code
        # a page that only shows refuses every post (405); nothing else may get through
        if status not in ({403} if who not in may else {404, 405}):
            wrong.append((name, status))
    assert wrong == []


def test_every_row_rule_names_known_roles():
    scopes = {model.__name__: set(model.SCOPE) for model in apps.get_models() if hasattr(model, "SCOPE")}
    assert {name: found - set(roles.ROLES) for name, found in scopes.items() if not found <= set(roles.ROLES)} == {}


@pytest.mark.one_database
def test_no_other_module_lists_roles():
    """A list of roles beside the table is one a new role is forgotten in."""
    constants = {name for name, value in vars(roles).items() if isinstance(value, str) and value in roles.ROLES}

    def is_role(node):
        return isinstance(node, ast.Attribute) and node.attr in constants and ast.unparse(node.value) == "roles"

    found = []
    for app in ("registry", "plantings"):
        for path in (PROJECT / app).rglob("*.py"):
            if path.match("access/roles.py"):
                continue
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.List | ast.Tuple | ast.Set):
                    texts = [one.value for one in node.elts if isinstance(one, ast.Constant)]
                    if sum(map(is_role, node.elts)) > 1 or len(set(texts) & (set(roles.ROLES) - {"landowner", "volunteer"})) > 1:
                        found.append(f"{path.relative_to(PROJECT)}, line {node.lineno}")
    assert found == []


def test_an_account_that_was_closed_is_signed_out(client):
    person = factories.person("lead")
    client.force_login(person)
    person.is_active = False
    person.save()
    assert client.get("/").status_code == 302


@pytest.mark.parametrize("who", ["volunteer", "landowner", "manager", "unknown role"])
def test_the_code_box_finds_nothing_out_of_sight(client, who, shared_world):
    """A tag, a lot and a shipment of somebody else's land."""
    people, _records, _special = shared_world
    far = factories.planting()
    tree = factories.trees(far, count=1, tag="FAR-OFF")[0]  # with a hyphen, which the random token of a form has not
    client.force_login(people[who])
    response = client.get("/find/", {"q": tree.tag})
    if who == "unknown role":
        assert response.status_code == 403
    elif who == "manager":
        assert response.url == f"/trees/{tree.pk}/"
    else:
        page = response.content.decode()
        for repeated in ('value="FAR', "“FAR", "?q=FAR"):
            page = page.replace(repeated, "")
        assert response.status_code == 200 and "FAR-OFF" not in page
