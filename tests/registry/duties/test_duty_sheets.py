"""Sheets of papers, rules, duties and of what was done: loaded, refused with row and column, written and read back."""

import csv
import io
from datetime import date

import pytest

from registry.imports.duties.duties import DutyDoneSheet, DutySheet
from registry.imports.gate.rules import MaterialClassSheet, RequirementSheet
from registry.imports.lots.handbook import HandbookSheet
from registry.imports.movements.partners import PartnerSheet
from registry.imports.permits.authorizations import AuthorizationSheet
from registry.imports.safety.cautions import CautionSheet
from registry.models import Authorization, Duty, DutyDone, MaterialClass, Requirement
from tests import factories
from tests.places import PROJECT
from tests.registry.sheets.sheet_help import load, refused, written_and_read

pytestmark = pytest.mark.django_db
FIXTURES = PROJECT / "fixtures"

DUTY = "Duty,Kind,Title,Recurrence,First due on,Season: month,Season: day\nD1,report,Yearly report,yearly_on,2024-01-31,1,31\n"
RULE = "Rule,Edition,Title,Activities,To places,Papers needed,Source\n"


def test_duties_are_loaded_and_written_back():
    load(DutySheet, DUTY)
    assert (Duty.objects.get().first_due_on, Duty.objects.get().recurrence) == (date(2024, 1, 31), "yearly_on")
    assert written_and_read(DutySheet) == 1


def test_a_first_day_in_1924_is_refused_with_its_row():
    (problem,) = refused(DutySheet, DUTY.replace("2024-01-31", "1924-01-31"))
    assert "row 2" in problem.lower() and "Give a day from 1 Jan 1950" in problem


def test_a_changed_row_of_done_duties_is_refused():
    load(DutySheet, DUTY)
    done = "Duty,Due on,Done on,By,Evidence\nD1,2024-01-31,2024-01-29,A. Lead,sent\n"
    load(DutyDoneSheet, done)
    assert written_and_read(DutyDoneSheet) == DutyDone.objects.count() == 1
    (problem,) = refused(DutyDoneSheet, done.replace("01-29", "01-30"))
    assert "row 2" in problem.lower() and "Correct it on the page of the duty" in problem


def test_a_day_that_is_not_a_due_date_is_refused_with_its_row():
    load(DutySheet, DUTY)
    (problem,) = refused(DutyDoneSheet, "Duty,Due on,Done on,By,Evidence\nD1,2024-02-01,2024-02-01,A. Lead,sent\n")
    assert "row 2" in problem.lower() and "Due on" in problem
    assert not DutyDone.objects.exists()


def test_rules_are_loaded_with_their_lists_and_written_back():
    load(
        RequirementSheet,
        f'{RULE}R1,2026,Example rule,dispatch; establish,"outside CA-ON; US-VT",permit or none_needed; certificate,invented\n',
    )
    rule = Requirement.objects.get()
    assert (rule.activities, rule.destinations) == (["dispatch", "establish"], ["outside CA-ON", "US-VT"])
    assert rule.any_of == [["permit", "none_needed"], ["certificate"]]
    assert written_and_read(RequirementSheet) == 1


@pytest.mark.parametrize(
    ("kind", "name", "count"),
    [
        (MaterialClassSheet, "starter/material_classes.csv", 9),
        (RequirementSheet, "starter/requirements.csv", 41),
        (CautionSheet, "starter/cautions.csv", 21),
        (HandbookSheet, "handbook/species.csv", 14),
    ],
)
def test_the_starter_sheets_load_without_loss(kind, name, count):
    if kind is RequirementSheet:  # rules name classes, which are loaded before them
        load(MaterialClassSheet, (FIXTURES / "starter/material_classes.csv").read_bytes())
    content = (FIXTURES / name).read_bytes()
    headers = next(csv.reader(io.StringIO(content.decode())))
    assert set(headers) <= {field.column_name for field in kind.sheet_fields().values()}  # none that was renamed since
    assert load(kind, content).rows == count and written_and_read(kind) == count


def test_a_rule_of_the_starter_set_says_what_its_file_says():
    load(MaterialClassSheet, (FIXTURES / "starter/material_classes.csv").read_bytes())
    load(RequirementSheet, (FIXTURES / "starter/requirements.csv").read_bytes())
    rule = Requirement.objects.get(code="US-OR-CHESTNUT")
    assert (rule.taxa, rule.origins, rule.destinations) == (["Castanea", "Castanopsis"], ["US", "outside US-OR"], ["US-OR"])
    assert (rule.any_of, rule.blocking) == ([["permit"]], True)
    assert rule.verified_on is None and rule.text.startswith("As read in the edition named; check with the authority.")


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        ("dispatch,US-XX,permit,invented", "To places", "“US-XX” is not a subdivision of US"),  # ISO 3166-2 has no such code
        ("sell,US-VT,permit,invented", "Activities", "“sell” is not in the list"),
        ("dispatch,US-VT,passport,invented", "Papers needed", "“passport” is not a type of paper"),
        ("dispatch,US-VT,permit,", "Source", "is blank"),
    ],
)
def test_a_rule_that_cannot_be_is_refused_with_row_and_column(cells, column, words):
    (problem,) = refused(RequirementSheet, f"{RULE}R1,2026,Example rule,{cells}\n")
    assert "row 2" in problem.lower() and column in problem and words in problem
    assert not Requirement.objects.exists()


def test_classes_are_loaded_and_written_back():
    load(MaterialClassSheet, "Class,Title,Recognised by,Species or genera\nhost,Host of the canker,taxon,Juglans; Carya\n")
    assert MaterialClass.objects.get().taxa == ["Juglans", "Carya"]
    assert written_and_read(MaterialClassSheet) == 1


def test_a_change_in_what_a_loaded_paper_covers_is_a_version():
    head = 'Our reference,Type,Title,Issuer,"What it covers, as written",Covers to places,Covers forms,State\n'
    load(AuthorizationSheet, f"{head}P1,permit,Example,Office,seed,US-VT; US-NH,seed,in_force\n")
    paper = Authorization.objects.get()
    assert paper.versions.get().destinations == ["US-VT", "US-NH"] and paper.state_history.get().state == "in_force"
    assert written_and_read(AuthorizationSheet) == 1
    load(AuthorizationSheet, f"{head}P1,permit,Example,Office,seed,US-VT,seed,in_force\n", reason="amendment 1")
    assert [version.destinations for version in paper.versions.all()] == [["US-VT", "US-NH"], ["US-VT"]]


def test_the_region_of_a_partner_must_exist():
    (problem,) = refused(PartnerSheet, "Partner,Name,Kind,Country or subdivision (ISO 3166)\nPT1,Farm,landowner,US-QQ\n")
    assert "“US-QQ” is not a subdivision of US" in problem
    load(PartnerSheet, "Partner,Name,Kind,Country or subdivision (ISO 3166)\nPT1,Farm,landowner,us-vt\n")
    assert factories.partner().region == "" and written_and_read(PartnerSheet) == 2
