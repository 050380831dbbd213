"""The demo: its sheets are made the same every time, they load as a user's own would, and the records they make hold together.

Numbers asked for here are those of the plan of the demo (`fixtures/demo/README.md`); all data in it are invented."""

import csv
import io
import re
from collections import Counter

import pytest
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db.models import F, Sum

from plantings.imports.demo.loading import sheet_plan
from plantings.imports.demo.sheets import demo_sheets
from plantings.imports.kinds import KINDS, SHEETS
from plantings.models import CensusRound, Planting, PlotCount, Site, SurvivalTally, Tree
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.overview.demo import demo_accounts
from plantings.views.land.parts import agreement_parts, answers
from registry.access import roles
from registry.compliance.gate.answers import CHECK, STOP
from registry.models import (
    AuditEntry,
    Authorization,
    Determination,
    Leftover,
    Lot,
    PaperDocument,
    Partner,
    PedigreeTree,
    Person,
    Shipment,
)
from registry.selectors.gate.determinations import repeat_fault
from registry.selectors.land.land import agreements_of
from registry.selectors.permits.documents import stored_path
from tests.plantings.overview.demo_output import phrases, printed

# Where each point lies: from memory of the map, checked by no other source than the names of the towns beside them.
STATES = {
    "ST-01": "US-VT", "ST-02": "US-VT", "ST-03": "US-VT", "ST-04": "US-NY", "ST-05": "US-NY", "ST-06": "US-NY",
    "ST-07": "US-PA", "ST-08": "US-PA", "ST-09": "US-WI", "ST-10": "US-WI", "ST-11": "US-MI", "ST-12": "US-MI",
}  # fmt: skip


@pytest.fixture(scope="module")
def sheets():
    return demo_sheets()


@pytest.fixture(scope="module")
def sheet_rows(sheets):
    """The rows of a sheet of the demo by its name."""
    content = {sheet.name: sheet.content.decode() for sheet in sheets}
    return lambda name: list(csv.DictReader(io.StringIO(content[name])))


# -- the sheets --------------------------------------------------------------------------------


def test_every_kind_has_a_demo_sheet_in_load_order(sheets):
    # of trees that are drawn from the records once these are loaded; and no tree got a new tag
    no_sheet = {"second_measurement", "retag"}
    assert [sheet.kind for sheet in sheets if not sheet.is_late] == [sheet.kind for sheet in SHEETS if sheet.kind not in no_sheet]
    for sheet in sheets:
        own = ["crown_vigour_v1: Crown vigour"] if sheet.kind == "census" else []
        assert next(csv.reader(io.StringIO(sheet.content.decode()))) == [*KINDS[sheet.kind].template_rows()[0], *own], sheet.name


def test_no_two_rows_say_different_things_but_for_the_two_corrections(sheet_rows):
    said = {}
    rows = [row for row in sheet_rows("45_census.csv") + sheet_rows("51_census_late.csv") if not row["Second record (yes/no)"]]
    for row in rows:
        said.setdefault((row["Planting"], row["Season"], row["Tag"]), []).append(row)
    doubled = [both for both in said.values() if len(both) > 1]
    assert len(doubled) == 2 and all(len(both) == 2 and both[0] != both[1] for both in doubled)


def test_addresses_are_examples_and_papers_say_they_are_not_law(sheet_rows):
    for name in ("21_partner.csv", "22_person.csv"):
        for row in sheet_rows(name):
            assert row["E-mail"].endswith("@example.org") and re.fullmatch(r"555-01\d\d", row["Phone"]), row
    assert all("(example, not law)" in row["Title"] for row in sheet_rows("28_authorization.csv"))


# -- the load ----------------------------------------------------------------------------------


def test_the_demo_loads_without_a_problem_or_a_warning(book):
    assert [str(problem) for plan in book.values() for problem in (*plan.problems, *plan.warnings)] == []
    other = {name: plan.summary() for name, plan in book.items() if plan.counts["new"] != plan.rows}
    # the lead's account is made first, because somebody has to load; the late sheet holds two corrections
    assert other == {"22_person.csv": "11 new, 1 unchanged", "51_census_late.csv": "126 new, 2 changed"}


def test_loading_every_sheet_again_changes_nothing(book, sheets):
    changed = {}
    for sheet in sheets:
        _sheet, plan = sheet_plan(sheet)
        assert plan.problems == [], sheet.name
        if plan.counts["unchanged"] != plan.rows:
            changed[sheet.name] = [(item.key[1:], sorted(item.changes)) for item in plan.items if item.outcome != "unchanged"]
    # The first census sheet still holds the two rows as they were keyed before they were corrected.
    assert changed == {
        "45_census.csv": [
            (("2022 autumn", "0005"), ["height_cm"]),
            (("2022 autumn", "0025"), ["cause", "note", "status"]),
        ]
    }


def test_the_demo_holds_what_the_readme_promises(book):
    trees = PedigreeTree.objects
    seed_orchard_checks = trees.filter(orchard="Stony Lot", block="C")
    assert seed_orchard_checks.count() == 3
    others = trees.exclude(pk__in=seed_orchard_checks)
    assert others.filter(mother=None).count() == 15 and others.exclude(mother=None).count() == 60
    assert trees.filter(generation_other="donor").exclude(source_of_resistance="").count() == 2
    assert Lot.objects.count() == 34
    assert Counter(Lot.objects.values_list("origin", flat=True)) == {"harvest": 18, "sown": 13, "split": 1, "bulk": 1, "outside": 1}
    assert (Shipment.objects.count(), Shipment.objects.unreceived().count()) == (17, 1)
    assert (Site.objects.count(), Site.objects.filter(status="closed").count()) == (12, 1)
    assert (Planting.objects.count(), Tree.objects.count(), Tree.objects.filter(replaces__isnull=False).count()) == (13, 3000, 6)
    assert (CensusRound.objects.count(), PlotCount.objects.count()) == (55, 32)
    seasons = CensusRound.objects.values_list("planting__planted_on", "growing_seasons")
    assert {season for day, season in seasons if day.year == 2020} == {1, 2, 3, 4, 5}
    assert Partner.objects.filter(map_privacy="hidden", sites__isnull=False).count() == 1
    assert set(Leftover.objects.values_list("outcome", flat=True)) == {"returned", "destroyed", "held"}
    assert Authorization.objects.filter(state="expired").exists()


def test_agreements_begin_before_anything_is_sent_or_planted(book):
    for planting in Planting.objects.all():
        agreement = planting.authorizations.get(type="landowner")
        sent = Shipment.objects.filter(lines__supplies__entry__planting=planting).earliest("dispatched_on").dispatched_on
        assert agreement.starts_on < sent < planting.planted_on, planting
        assert min(agreement.signatures.values_list("signed_on", flat=True)) == agreement.starts_on


def test_all_but_one_paper_of_an_office_have_their_document(book):
    papers = Authorization.objects.exclude(type__in=("landowner", "consent"))
    assert list(papers.filter(documents=None).values_list("code", flat=True)) == ["EX-NONE-VT"]
    assert papers.exclude(documents=None).count() == 8
    file = PaperDocument.objects.get(authorization__code="EX-PERMIT-MI").file
    with default_storage.open(stored_path(file.sha256)) as content:
        assert content.read().decode().endswith("Invented for the demo. Not law.")


def test_every_signed_agreement_has_its_signed_copy(book):
    agreements = Authorization.objects.filter(type="landowner")
    assert agreements.count() == 10 and not agreements.filter(documents=None).exists()
    file = PaperDocument.objects.get(authorization__code="EX-AGR-01", title__contains="2024").file
    with default_storage.open(stored_path(file.sha256)) as content:
        said = content.read().decode()
    assert "the new owner signs this agreement" in said and "Signed by Ruth Marbeck on 9 Mar 2024." in said


def test_the_gate_stopped_one_of_two_planned_shipments(book):
    answers = {answer.subject: answer for answer in Determination.objects.filter(carried_out=False)}
    assert {code: answer.verdict for code, answer in answers.items()} == {"SH-2027-01": STOP, "SH-2027-02": CHECK}
    assert all(answer.asked_for == answer.shipment.planned_on for answer in answers.values())
    assert [repeat_fault(answer) for answer in Determination.objects.all()] == ["", "", ""]


def test_one_shipment_went_through_the_gate_and_counts_against_its_permit(book):
    answer = Determination.objects.get(carried_out=True)
    assert (answer.subject, answer.verdict, answer.shipment.dispatched_on, answer.override_by) == (
        "SH-2026-01",
        CHECK,
        answer.asked_for,
        None,
    )
    permit = Authorization.objects.get(code="EX-PERMIT-MI")
    assert set(answer.authorizations.values_list("code", flat=True)) == {"EX-AGR-09", "EX-PERMIT-MI"}
    assert permit.draws.get(subject="SH-2026-01").quantity == 24


def test_the_landowner_of_the_demo_signed_what_happens_at_a_sale(book):
    papers = agreement_parts(agreements_of(Person.objects.get(username="ruth.marbeck")), lambda *_args: "")
    [(sentence, source)] = {str(topic): found for topic, found in answers(papers)}["Sell or hand on the land"]
    assert sentence.startswith("When the land is sold or inherited") and "version 2024, signed by Ruth Marbeck on 9 Mar 2024" in source


def test_every_site_lies_in_the_state_it_was_meant_for(book):
    assert dict(Site.objects.values_list("code", "jurisdiction")) == STATES
    near = Site.objects.filter(jurisdiction_basis__contains="Within 2 km").values_list("code", flat=True)
    assert sorted(near) == ["ST-02", "ST-06", "ST-10"]


def test_stored_figures_equal_a_recount(book):
    checked, differences = recount_differences()
    assert differences == []
    assert checked["plantings"] == 13 and checked["trees"] == 3000 and checked["tallies"] == SurvivalTally.objects.count() > 400


def test_every_plant_that_arrived_is_accounted_for(book):
    for shipment in Shipment.objects.filter(receipts__isnull=False).distinct():
        for line in shipment.lines.all():
            received = line.receipt_lines.aggregate(n=Sum(F("sound") + F("sprouted")))["n"]
            planted = line.supplies.aggregate(n=Sum("count"))["n"] or 0
            left = line.leftovers.aggregate(n=Sum("count"))["n"] or 0
            assert received == planted + left, line


# -- the accounts ------------------------------------------------------------------------------


def test_new_passwords_replace_the_old_ones_of_each_role(book):
    first, second = phrases(printed("--passwords")), phrases(printed("--passwords"))
    assert [person.role for person in demo_accounts()] == list(roles.ROLES)
    assert set(second) == {person.username for person in demo_accounts()} and not set(first.values()) & set(second.values())
    for username, phrase in second.items():
        person = Person.objects.get(username=username)
        assert person.check_password(phrase) and not person.check_password(first[username])


def test_a_password_is_not_stored(book):
    made = phrases(printed("--passwords"))
    kept = " ".join(str(row) for row in (*Person.objects.values_list(), *AuditEntry.objects.order_by("-id")[:50].values_list()))
    assert len(made) == 6 and [phrase for phrase in made.values() if phrase in kept] == []


def test_the_demo_is_not_loaded_beside_other_records(book):
    before = AuditEntry.objects.count()
    with pytest.raises(CommandError, match=r"already has records .* Nothing was changed"):
        call_command("demo")
    assert AuditEntry.objects.count() == before


def test_volunteers_and_landowners_of_the_demo_see_their_own(book):
    volunteer, landowner = Person.objects.get(username="joss.pennywhit"), Person.objects.get(username="ruth.marbeck")
    seen = set(Planting.objects.for_user(volunteer).values_list("code", flat=True))
    assert seen == {"ST-01-2020", "ST-02-2020", "ST-03-2021", "ST-06-2022"}
    assert [site.code for site in Site.objects.for_user(landowner)] == ["ST-01"]
