"""What single kinds of sheet can say: second records, corrections of a status, boxes, leftovers, exact shares."""

from decimal import Decimal

import pytest
import tablib
from django.utils import timezone

from plantings.imports.census import CensusSheet
from plantings.imports.counts import PlotCountSheet
from plantings.imports.leftovers import LeftoverSheet
from plantings.imports.sites.sites import PlantingSheet, SiteSheet
from plantings.models import CountedPlot, Observation
from registry.imports.lots.lots import LedgerSheet
from registry.imports.movements.shipments import ReceiptSheet
from registry.imports.pedigree.trees import PollenPoolSheet
from registry.imports.sheets.formats import export_bytes
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.table import read_table
from registry.models import Leftover, MaterialClass, PollenPool, Receipt
from registry.services.shared.past_day import not_yet_words
from tests import factories

pytestmark = pytest.mark.django_db


def load(sheet_class, text, reason=""):
    sheet = sheet_class()
    plan = sheet.plan(read_table(text.encode(), "a.csv"))
    sheet.store(plan, factories.person(), reason)
    return plan


def refused(sheet_class, text):
    with pytest.raises(SheetRefused) as error:
        load(sheet_class, text)
    return [str(problem) for problem in error.value.plan.problems]


# -- lists of codes ----------------------------------------------------------------------------


def test_who_plants_and_classes_of_outside_pollen_are_stored_as_listed():
    """A list in the record itself was taken for links to other records, and the sheet failed."""
    planting = factories.planting()
    load(PlantingSheet, f"Planting,Who plants\n{planting.code},The school; A. Helper\n", reason="they do")
    planting.refresh_from_db()
    assert planting.done_by == ["The school", "A. Helper"]
    MaterialClass.objects.create(code="hybrid", title="Hybrid", rule="donor_ancestry")
    load(PollenPoolSheet, "Pool,Orchard,Flowering year,Material classes outside pollen may carry\nP-1,Mill Brook,2019,hybrid\n")
    assert PollenPool.objects.get(code="P-1").outside_classes == ["hybrid"]


# -- census ------------------------------------------------------------------------------------

CENSUS = "Planting,Season,Tag,Status,Observed on,Height (cm),Observer,Second record (yes/no)\n"
FIRST, SECOND = "P,2019 autumn,T01001,A,2019-09-03,61,R. Counter,\n", "P,2019 autumn,T01001,D,2019-09-09,,S. Looker,yes\n"


@pytest.fixture
def census_planting():
    planting = factories.planting(code="P")
    factories.trees(planting, count=2)
    factories.census_round(planting)
    return planting


def test_a_second_record_does_not_correct_the_first(census_planting):
    load(CensusSheet, CENSUS + FIRST)
    plan = load(CensusSheet, CENSUS + SECOND)
    assert plan.counts["new"] == 1
    assert sorted(Observation.objects.current().values_list("status", "observer")) == [("A", "R. Counter"), ("D", "S. Looker")]


def test_a_sheet_reads_the_trees_and_records_it_names_and_no_others(census_planting):
    load(CensusSheet, CENSUS + FIRST + "P,2019 autumn,T01002,A,2019-09-03,50,R. Counter,\n")
    sheet = CensusSheet()
    plan = sheet.plan(read_table((CENSUS + FIRST).encode(), "a.csv"))
    assert plan.counts["unchanged"] == 1
    assert {tag for _planting, tag in sheet.trees} == {"T01001"}


def test_loading_both_records_again_changes_nothing(census_planting):
    load(CensusSheet, CENSUS + FIRST + SECOND)
    for text in (FIRST, SECOND, SECOND + FIRST):
        assert load(CensusSheet, CENSUS + text).counts["unchanged"] == text.count("\n")
    exported = export_bytes(CensusSheet, Observation.objects.current(), "csv").decode("utf-8-sig")
    assert [row["Second record (yes/no)"] for row in tablib.Dataset().load(exported, format="csv").dict] == ["", "yes"]
    assert load(CensusSheet, exported).counts["unchanged"] == 2


def test_a_second_record_can_be_corrected_by_its_own_observer(census_planting):
    load(CensusSheet, CENSUS + FIRST + SECOND)
    load(CensusSheet, CENSUS + SECOND.replace(",D,", ",NF,"), reason="looked up in the notes")
    assert sorted(Observation.objects.current().values_list("status", flat=True)) == ["A", "NF"]


def test_a_second_record_needs_its_observer(census_planting):
    assert refused(CensusSheet, CENSUS + SECOND.replace("S. Looker", "")) == [
        "row 2, column 'Observer': is blank, and a second record needs its own observer"
    ]


@pytest.mark.parametrize(
    ("status", "kept"), [("D", (61, 2, "unknown")), ("NF", (None, None, "")), ("AR", (61, 2, ""))]
)  # the programme's own rule: what cannot be read on a tree in the new status is not carried into it
def test_a_corrected_status_drops_what_belongs_to_the_old_one(census_planting, status, kept):
    header = "Planting,Season,Tag,Status,Observed on,Height (cm),Canker class (0-4)\n"
    load(CensusSheet, header + "P,2019 autumn,T01001,A,2019-09-03,61,2\n")
    plan = load(CensusSheet, f"Planting,Season,Tag,Status\nP,2019 autumn,T01001,{status}\n", reason="wrong line of the paper sheet")
    assert plan.counts["changed"] == 1
    row = Observation.objects.current().get()
    assert (row.status, row.height_cm, row.canker_class, row.cause) == (status, *kept)
    assert Observation.objects.get(superseded_by=row).height_cm == 61


def test_a_correction_from_dead_to_alive_loses_the_cause(census_planting):
    header = "Planting,Season,Tag,Status,Observed on,Cause of death or reason of removal\n"
    load(CensusSheet, header + "P,2019 autumn,T01001,D,2019-09-03,canker\n")
    load(CensusSheet, header + "P,2019 autumn,T01001,A,2019-09-03,\n", reason="shoot overlooked")
    assert Observation.objects.current().get().cause == ""


# -- boxes and leftovers -----------------------------------------------------------------------

RECEIPT = "Shipment,Received on,Received by,Box condition,Lot,Form,Sound (count),Sprouted (count),Spoiled (count),Note\n"


@pytest.fixture
def box():
    lots = [factories.stock_lot(code=code, plants=20) for code in ("L1", "L2")]
    triples = [(lot, "bareroot", 10) for lot in lots]
    return factories.shipment(code="SH", lots=triples, dispatched_on=factories.day(2019, 4, 1))


def test_what_any_row_says_of_the_box_is_stored(box):
    load(
        ReceiptSheet,
        RECEIPT + "SH,2019-04-02,A. Receiver,good,L1,bareroot,10,0,0,\nSH,2019-04-02,A. Receiver,good,L2,bareroot,9,0,0,one is short\n",
    )
    receipt = Receipt.objects.get()
    assert (receipt.note, receipt.lines.count()) == ("one is short", 2)


def test_rows_of_one_box_that_contradict_each_other_are_named(box):
    rows = "SH,2019-04-02,A. Receiver,good,L1,bareroot,10,0,0,\nSH,2019-04-02,A. Receiver,wet,L2,bareroot,9,0,0,\n"
    assert refused(ReceiptSheet, RECEIPT + rows) == [
        "row 3, column 'Box condition': 'wet' contradicts row 2, which says 'good' of the same box; remove the wrong one"
    ]


LEFTOVER = "Shipment,Lot,Form,Outcome,Date,Count (seeds or plants)\n"


def test_a_leftover_sheet_returns_plants_to_their_lot_once(box):
    load(ReceiptSheet, RECEIPT + "SH,2019-04-02,A. Receiver,good,L1,bareroot,10,0,0,\n")
    rows = "SH,L1,bareroot,returned,2019-04-09,3\nSH,L1,bareroot,destroyed,2019-04-09,2\n"
    assert load(LeftoverSheet, LEFTOVER + rows).counts["new"] == 2
    lot = box.lines.get(lot__code="L1").lot
    assert lot.balance == 20 - 10 + 3
    assert load(LeftoverSheet, LEFTOVER + rows).counts["unchanged"] == 2
    assert Leftover.objects.count() == 2


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("SH,L1,bareroot,destroyed,2019-04-09,11", "only 10 were received"),
        ("SH,L1,container,destroyed,2019-04-09,1", "is not in shipment SH"),
        ("SH,L1,bareroot,eaten,2019-04-09,1", "write one of returned, destroyed, held"),
    ],
)
def test_a_leftover_that_cannot_be_is_refused(box, row, says):
    load(ReceiptSheet, RECEIPT + "SH,2019-04-02,A. Receiver,good,L1,bareroot,10,0,0,\n")
    assert says in refused(LeftoverSheet, LEFTOVER + row)[0]


def test_a_reported_leftover_does_not_change(box):
    load(ReceiptSheet, RECEIPT + "SH,2019-04-02,A. Receiver,good,L1,bareroot,10,0,0,\n")
    load(LeftoverSheet, LEFTOVER + "SH,L1,bareroot,held,2019-04-09,3\n")
    assert "does not change. Take it back" in refused(LeftoverSheet, LEFTOVER + "SH,L1,bareroot,held,2019-04-09,4\n")[0]


# -- shares ------------------------------------------------------------------------------------


def test_loading_a_declared_share_twice_changes_nothing():
    text = "Pool,Orchard,Flowering year,Declared outside share (0-1)\nPOOL,Mill Brook,2019,0.1\n"
    assert load(PollenPoolSheet, text).counts["new"] == 1
    assert PollenPool.objects.get().outside_share == Decimal("0.1")
    assert load(PollenPoolSheet, text).counts["unchanged"] == 1


# -- days, counts and places that cannot be ----------------------------------------------------


def test_a_census_day_in_the_future_is_refused(census_planting):
    row = FIRST.replace("2019-09-03", "2062-09-03")
    assert refused(CensusSheet, CENSUS + row) == [f"row 2, column 'Observed on': '2062-09-03' {not_yet_words(timezone.localdate())}"]
    assert not Observation.objects.exists()


def test_a_plot_count_in_the_future_is_refused(census_planting):
    entry = census_planting.entries.get()
    CountedPlot.objects.create(planting=census_planting, entry=entry, code="D1", planted_count=80)
    header = "Planting,Season,Plot,Alive (count),Observed on\n"
    assert refused(PlotCountSheet, header + "P,2019 autumn,D1,71,2062-09-03\n") == [
        f"row 2, column 'Observed on': '2062-09-03' {not_yet_words(timezone.localdate())}"
    ]


def test_blank_sprouted_and_spoiled_are_never_read_as_zero(box):
    assert refused(ReceiptSheet, RECEIPT + "SH,2019-04-02,A. Receiver,good,L1,bareroot,10,,,\n") == [
        "row 2, column 'Sprouted (count)': is blank, and a new row needs it",
        "row 2, column 'Spoiled (count)': is blank, and a new row needs it",
    ]


LEDGER = 'Lot,Entry number,Entry,"Quantity (seeds or plants, without sign)",Date\n'


def test_a_ledger_row_of_zero_or_before_1900_is_refused(db):
    lot = factories.seed_lot(seeds=10)
    assert refused(LedgerSheet, LEDGER + f"{lot.code},1,discarded,0,2019-01-01\n{lot.code},2,discarded,1,0219-01-02\n") == [
        "row 3, column 'Date': '0219-01-02' is before 1900; correct the year, or leave the cell blank and write the old date in a note",
        "row 2, column 'Quantity (seeds or plants, without sign)': '0' is 0; enter how many, or leave the row out",
    ]


SITE = 'Site,Name,Partner,"Longitude (degrees, WGS 84)","Latitude (degrees, WGS 84)"\n'


@pytest.mark.parametrize(
    ("point", "region", "says"),
    [
        # 44.48 N, 73.21 W is Burlington, Vermont (U.S. Geological Survey, Geographic Names Information System, from memory)
        ("-73.21,44.48", "US-VT", ""),
        ("-73.21,44.48", "", ""),
        (
            "44.48,-73.21",
            "US-VT",
            "The point is in AQ. With longitude and latitude exchanged the point is in US-VT: check which is which.",
        ),
        ("44.48,-73.21", "", "exchanged the point is in US-VT"),
        ("-40.0,45.0", "US-VT", "in no country, perhaps at sea. Check longitude, latitude and their signs."),
        ("73.21,44.48", "US-VT", ""),  # the other side of the world, on land: a partner may have land abroad
    ],
)
def test_swapped_coordinates_or_a_point_at_sea_give_a_warning(db, point, region, says):
    partner = factories.partner(region=region)
    plan = load(SiteSheet, SITE + f"ST-1,Hollow,{partner.code},{point}\n")
    assert plan.counts["new"] == 1
    words = [str(warning) for warning in plan.warnings]
    if says:
        assert len(words) == 1 and words[0].startswith("row 2, column 'Longitude (degrees, WGS 84)': '") and says in words[0]
    else:
        assert words == []
