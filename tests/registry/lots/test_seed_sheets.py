"""Sheets of what is done with seed lots: parts, pickings, tests with replicates, treatments, the storage log.

Lots and counts are made for these tests.
"""

import datetime
import io

import openpyxl
import pytest

from registry.imports.lots.lot_steps import HarvestSheet, LotSplitSheet, StorageSheet, TreatmentSheet
from registry.imports.lots.lots import LedgerSheet
from registry.imports.lots.seed_tests import SeedTestSheet
from registry.models import Harvest, LedgerEntry, Lot, SeedTest, StorageRecord, Treatment
from tests import factories
from tests.registry.sheets.sheet_help import load, refused, written_and_read

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot():
    return factories.seed_lot(code="S18", year=2018, seeds=500, storage_place="cold room 1")


def balance():
    return Lot.objects.get(code="S18").balance


# -- parts -------------------------------------------------------------------------------------

SPLIT = "Part,Split on,Count (seeds or plants),Reason\n"


@pytest.fixture
def part(lot):
    return Lot.objects.create(code="S18-2", kind="seed", origin="split", parent=lot, taxon=lot.taxon)


def test_a_part_takes_its_seeds_out_of_the_lot_once(lot, part):
    text = SPLIT + "S18-2,2018-11-02,150,second room\nS18-2,2018-11-09,20,\n"
    assert load(LotSplitSheet, text).counts["new"] == 2
    part.refresh_from_db()
    assert (balance(), part.balance) == (330, 170)
    assert load(LotSplitSheet, text).counts["unchanged"] == 2
    assert written_and_read(LotSplitSheet) == 2


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("S18-2,2018-11-02,501,\n", "row 2, column 'Count (seeds or plants)': '501' Lot S18"),
        ("S18,2018-11-02,5,\n", "row 2, column 'Part': 'S18' is not a part of another lot; give it the origin split"),
        ("S18-2,2018-11-02,2.5,\n", "row 2, column 'Count (seeds or plants)': '2.5' is not a whole number"),
    ],
)
def test_a_split_that_cannot_be_is_named_with_its_row(lot, part, row, says):
    assert refused(LotSplitSheet, SPLIT + row)[0].startswith(says)
    assert balance() == 500


# -- pickings ----------------------------------------------------------------------------------

LEDGER = 'Lot,Entry number,Entry,"Quantity (seeds or plants, without sign)",Date,Mass (g)\n'
HARVEST = (
    "Lot,Picked on,Entry number in the ledger,Count (seeds),Mass (g),Picked by,Containers (count),"
    "Labels inside and outside every container (yes/no)\n"
)


@pytest.fixture
def picked():
    lot = factories.seed_lot(code="S18", year=2018)
    load(LedgerSheet, LEDGER + "S18,18-1,harvested,178,2018-09-21,2056\nS18,18-2,harvested,108,2018-09-23,1411\n")
    return lot


def test_a_picking_with_an_entry_number_joins_that_ledger_entry(picked):
    load(HarvestSheet, HARVEST + "S18,2018-09-21,18-1,178,2056,A. Picker,2,yes\nS18,2018-09-23,18-2,,,B. Picker,,\n")
    assert [(row.entry.reference, row.picker, row.containers, row.labels_inside_and_outside) for row in Harvest.objects.order_by("pk")] == [
        ("18-1", "A. Picker", 2, True), ("18-2", "B. Picker", 1, False),
    ]  # fmt: skip
    assert (LedgerEntry.objects.count(), balance()) == (2, 286)
    assert written_and_read(HarvestSheet) == 2


def test_a_picking_without_an_entry_number_makes_a_ledger_entry(picked):
    row = "S18,2018-10-01,,40,510.5,A. Picker,,\n"
    load(HarvestSheet, HARVEST + row)
    entry = Harvest.objects.get().entry
    assert (entry.kind, entry.quantity, entry.mass_g, balance()) == ("harvested", 40, 510.5, 326)
    assert load(HarvestSheet, HARVEST + row).counts["unchanged"] == 1
    assert written_and_read(HarvestSheet) == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("S18,2018-09-21,18-9,,,A,,\n", "row 2, column 'Entry number in the ledger': '18-9' is not the number of a harvest of S18"),
        ("S18,2018-09-22,18-1,,,A,,\n", "row 2, column 'Picked on': '2018-09-22' differs from entry 18-1 of the ledger, which has 2018-09-21"),
        ("S18,2018-09-21,18-1,170,,A,,\n", "row 2, column 'Count (seeds)': '170' differs from entry 18-1 of the ledger, which has 178"),
        ("S18,2018-09-21,,178,,A,,\n", "row 2, column 'Entry number in the ledger': is blank, and the ledger has a harvest of that day under 18-1"),
        ("S18,2018-10-01,,,,A,,\n", "row 2, column 'Count (seeds)': is blank; without an entry number the row needs the count"),
        ("S18,2016-10-01,,5,,A,,\n", "row 2, column 'Picked on': '2016-10-01' Lot S18 ripened in 2018, this picking is of 2016"),
        ("S18,2018-09-21,18-1,178,,,,\n", "row 2, column 'Picked by': is blank, and a new row needs it"),
    ],
)  # fmt: skip
def test_a_picking_that_cannot_be_is_named_with_its_row(picked, row, says):
    assert refused(HarvestSheet, HARVEST + row)[0].startswith(says)
    assert not Harvest.objects.exists() and LedgerEntry.objects.count() == 2


def test_a_picking_does_not_change(picked):
    load(HarvestSheet, HARVEST + "S18,2018-09-21,18-1,,,A. Picker,,\n")
    problem = refused(HarvestSheet, HARVEST + "S18,2018-09-21,18-1,,,B. Picker,,\n")[0]
    assert problem.startswith(
        "row 2, column 'Picked by': 'B. Picker' differs from the record. A picking does not change once it is entered."
    )


# -- tests -------------------------------------------------------------------------------------

TEST = (
    "Lot,Test,Tested on,Tested by,Seeds in the sample (count),Sound; float test: sank (count),With insects (count),"
    'Container (g),Container and seed before drying (g),Container and seed after drying (g),"Replicates (germinated/seeds, or mass g/seeds)",'
    "Seeds used up (count)\n"
)
FLOAT = "S18,float,2018-10-02,A. Tester,300,271,,,,,,\n"
CUT = "S18,cut,2018-10-03,A. Tester,25,22,2,,,,,25\n"
MOISTURE = "S18,moisture,2018-10-03,A. Tester,,,,21.4,81.4,61.24,,\n"
MASS = "S18,mass,2018-10-04,A. Tester,,,,,,,1241.5 g/100; 1238g / 100,\n"
GERMINATION = "S18,germination,2019-02-20,A. Tester,,,,,,,23/25; 25/25,50\n"


def test_every_kind_of_test_is_loaded_and_read_back(lot):
    assert load(SeedTestSheet, TEST + FLOAT + CUT + MOISTURE + MASS + GERMINATION).counts["new"] == 5
    mass, germination = SeedTest.objects.get(kind="mass"), SeedTest.objects.get(kind="germination")
    assert list(mass.replicates.values_list("seeds", "germinated", "mass_g")) == [(100, None, 1241.5), (100, None, 1238)]
    assert list(germination.replicates.values_list("number", "seeds", "germinated")) == [(1, 25, 23), (2, 25, 25)]
    assert balance() == 500 - 25 - 50
    assert written_and_read(SeedTestSheet) == 5


def test_a_mass_in_hundredths_of_a_gram_is_read_back_unchanged(lot):
    load(SeedTestSheet, TEST + "S18,mass,2018-10-04,A,,,,,,,12418.25 g/1000,\n")
    assert written_and_read(SeedTestSheet) == 1


def test_a_declared_decimal_comma_is_read_in_a_mass(lot):
    header = "Lot;Test;Tested on;Tested by;Replicates (germinated/seeds, or mass g/seeds)\n"
    load(SeedTestSheet, header + "S18;mass;04.10.2018;A. Tester;1241,5 g/100\n", decimal=",", dates="DD.MM.YYYY")
    assert SeedTest.objects.get().replicates.get().mass_g == 1241.5


def test_a_test_row_that_differs_corrects_test_and_ledger(lot):
    load(SeedTestSheet, TEST + GERMINATION)
    load(SeedTestSheet, TEST + GERMINATION.replace("25/25,50", "20/25; 24/25,75"), reason="a page was overlooked")
    new, old = SeedTest.objects.order_by("-pk")
    assert (new.supersedes, new.reason, new.replicates.count(), old.replicates.count()) == (old, "a page was overlooked", 3, 2)
    assert balance() == 500 - 75
    assert written_and_read(SeedTestSheet) == 1


def test_a_test_that_used_up_nothing_may_say_so(lot):
    load(SeedTestSheet, TEST + FLOAT)
    assert load(SeedTestSheet, TEST + FLOAT.replace(",\n", ",0\n")).counts["unchanged"] == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (GERMINATION.replace("23/25", "25/23"), "row 2, column 'Replicates (germinated/seeds, or mass g/seeds)': '25/23; 25/25' has “25/23”: more germinated than seeds laid out"),
        (GERMINATION.replace("23/25", "23 of 25"), "row 2, column 'Replicates (germinated/seeds, or mass g/seeds)': '23 of 25; 25/25' has “23 of 25”; write germinated/seeds"),
        (GERMINATION.replace("23/25; 25/25", ""), "row 2: A germination test needs at least one replicate"),
        (MASS.replace("1238g", "80"), "row 2: Seed mass needs at least one weighing, each with its seeds and their mass"),
        (MASS.replace("1241.5 g", "1241.5"), "row 2, column 'Replicates (germinated/seeds, or mass g/seeds)': '1241.5/100; 1238g / 100' has “1241.5/100”; germinated seeds are a whole number"),
        (FLOAT.replace("271", "301"), "row 2, column 'Seeds in the sample (count)': '300' 301 seeds are counted, but the sample has 300"),
        (CUT.replace("25,22", ",22"), "row 2, column 'Seeds in the sample (count)': This kind of test needs this figure."),
        (MOISTURE.replace("61.24", "91.24"), "row 2, column 'Container and seed after drying (g)': '91.24' "),
        (MOISTURE.replace(",,\n", ",3/4,\n"), "row 2, column 'Replicates (germinated/seeds, or mass g/seeds)': '3/4' is not measured in a test of the kind 'moisture, wet basis'"),
        (CUT.replace(",25\n", ",501\n"), "row 2: Lot S18"),
        (FLOAT.replace("float", "sink"), "row 2, column 'Test': 'sink' is not in the list; write one of float, cut, moisture, purity, mass, germination"),
    ],
)  # fmt: skip
def test_a_test_that_cannot_be_is_named_with_its_row(lot, row, says):
    assert refused(SeedTestSheet, TEST + row)[0].startswith(says)
    assert not SeedTest.objects.exists() and balance() == 500


def test_a_replicate_that_became_a_date_is_refused(lot):
    book = openpyxl.Workbook()
    book.active.append(["Lot", "Test", "Tested on", "Tested by", "Replicates (germinated/seeds, or mass g/seeds)"])
    book.active.append(["S18", "germination", datetime.date(2019, 2, 20), "A. Tester", datetime.date(2019, 3, 4)])
    buffer = io.BytesIO()
    book.save(buffer)
    assert "was turned into another value by the spreadsheet; make the column text" in refused(SeedTestSheet, buffer.getvalue())[0]


def test_a_second_test_of_a_day_has_its_number(lot):
    head = TEST.replace("Tested by,", "Number within the day (blank is 1),Tested by,")
    first, second = (f"S18,float,2018-10-02,{number},A. Tester,{seeds},90,,,,,,\n" for number, seeds in (("", 100), (2, 200)))
    load(SeedTestSheet, head + second + first)
    assert list(SeedTest.objects.order_by("pk").values_list("seeds", flat=True)) == [100, 200]
    assert written_and_read(SeedTestSheet) == 2


# -- treatments --------------------------------------------------------------------------------

TREATMENT = "Lot,Treatment,Started on,Ended on,Temperature (°C),Minutes,Done by,Note\n"


def test_a_later_row_completes_a_treatment_and_both_records_stay(lot):
    load(TreatmentSheet, TREATMENT + "S18,cold,2018-10-20,,3,,A. Manager,peat\nS18,hot_water,2018-10-02,2018-10-02,49,20,A. Manager,\n")
    assert load(TreatmentSheet, TREATMENT + "S18,cold,2018-10-20,2019-04-28,,,,\n", reason="it ended").counts["changed"] == 1
    cold = Treatment.objects.filter(kind="cold").order_by("pk")
    assert [(row.ended_on, row.temperature_c, row.operator, row.note) for row in cold] == [
        (None, 3, "A. Manager", "peat"), (datetime.date(2019, 4, 28), 3, "A. Manager", "peat"),
    ]  # fmt: skip
    assert written_and_read(TreatmentSheet) == 2


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("S18,hot_water,2018-10-02,,120,20,A,\n", "row 2, column 'Temperature (°C)': '120' "),
        ("S18,cold,2018-10-20,2018-10-02,3,,A,\n", "row 2: The end is before the start."),
        ("S18,cold,2018-10-20,,3,,,\n", "row 2, column 'Done by': is blank, and a new row needs it"),
        ("S18,fire,2018-10-20,,3,,A,\n", "row 2, column 'Treatment': 'fire' is not in the list"),
    ],
)
def test_a_treatment_that_cannot_be_is_named_with_its_row(lot, row, says):
    assert refused(TreatmentSheet, TREATMENT + row)[0].startswith(says)
    assert not Treatment.objects.exists()


# -- storage -----------------------------------------------------------------------------------

STORAGE = "Lot,Checked on,Place,Moisture by feel (dry/damp/wet),Sprouted (%),Mouldy (%),Discarded (count),Checked by\n"


def test_looks_into_the_store_draw_down_what_was_thrown_away(lot):
    text = STORAGE + "S18,2019-02-10,cold room 2,damp,3.5,1,4,A. Manager\nS18,2018-12-05,cold room 1,dry,0,0,0,A. Manager\n"
    load(StorageSheet, text)
    stored = Lot.objects.get(code="S18")
    assert (stored.balance, stored.storage_place) == (496, "cold room 2")
    assert load(StorageSheet, text).counts["unchanged"] == 2
    assert written_and_read(StorageSheet) == 2


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("S18,2019-02-10,cold room,moist,,,,A\n", "row 2, column 'Moisture by feel (dry/damp/wet)': 'moist' is not in the list; write one of dry, damp, wet"),
        ("S18,2019-02-10,cold room,,350,,,A\n", "row 2, column 'Sprouted (%)': '350' is outside 0 to 100"),
        ("S18,2019-02-10,cold room,,,,501,A\n", "row 2: Lot S18"),
        ("S18,2019-02-10,,,,,,A\n", "row 2, column 'Place': is blank, and a new row needs it"),
    ],
)  # fmt: skip
def test_a_look_that_cannot_be_is_named_with_its_row(lot, row, says):
    assert refused(StorageSheet, STORAGE + row)[0].startswith(says)
    assert not StorageRecord.objects.exists() and balance() == 500


def test_a_stored_storage_check_does_not_change(lot):
    load(StorageSheet, STORAGE + "S18,2019-02-10,cold room 1,damp,3.5,1,,A. Manager\n")
    problem = refused(StorageSheet, STORAGE + "S18,2019-02-10,cold room 1,damp,4.5,1,,A. Manager\n")[0]
    assert problem.startswith(
        "row 2, column 'Sprouted (%)': '4.5' differs from the record. A storage check does not change once it is entered."
    )
