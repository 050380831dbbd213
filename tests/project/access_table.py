"""Who may do what, written out by hand: each route with whose role may do it and whose rows contain the row asked for.

It is not read from the code that enforces it. `walk` asks every page as one person, `wrong_answers` compares.
"""

import re

from django.urls import URLPattern, URLResolver, get_resolver, reverse

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
ROUTES |= dict.fromkeys(["model_now", "api_model"], (OWNERS, READERS))  # a model of all rows, see test_models_as_jobs.py
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
    [
        "census_grid",
        "census_next",
        "census_tree",
        "census_counts",
        "field_form",
        "formpage_key",
        "formscan_add",
        "selfsown_add",
        "round_not_visited",
    ],
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
    "api_model",
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
ROUTES["book_export"] = ROUTES["today_ahead"] = ({"lead"}, None)
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
