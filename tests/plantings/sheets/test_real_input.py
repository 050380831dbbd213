"""Real sheets of other people, loaded as a user would. Their files are never part of this project.

Sources: red spruce restoration, github.com/anoobvinu07/Genomic_assisted_selection at ec76729 (CC0 1.0);
red spruce gardens, github.com/anoobvinu07/NSF_RedSpruce_CG at 4d86d66 (CC0 1.0), Prakash et al. 2022,
Phil. Trans. R. Soc. B 377:20210008; Thai seed lots, github.com/kwstat/agridat at 5919e3f, Williams &
Luangviriyasaeng 1989, ACIAR Monograph 10. What these tests prove of the engine is proven on small sheets
of our own in test_sheets.py as well, and the red spruce counts again below from the published figures.
"""

import csv
import json
from collections import Counter

import pytest
from django.db.models import Sum

from plantings.imports.combined.loading import combined_load
from plantings.imports.loading import plan_file, sheet_load
from plantings.models import CountedPlot, Site, SurvivalTally, Tree
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.survival.rounds import NUMBER_UNKNOWN
from plantings.selectors.survival.survival import survival_rows
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.models import Lot
from tests import factories
from tests.places import PROJECT, SHARED

EXAMPLE = PROJECT / "fixtures" / "examples" / "red-spruce"
pytestmark = pytest.mark.django_db


def shared(name):
    if not SHARED.exists():
        pytest.skip("../shared is absent")
    return SHARED / name


def load_red_spruce(actor, monitoring, plots):
    spec = json.loads((EXAMPLE / "seedlings.json").read_text())
    files = {"plot_coordinates.csv": plots}
    return combined_load(actor=actor, content=monitoring, filename="tnc_spring_2022.csv", spec=spec, files=files)


def counts(*names):
    rows = SurvivalTally.objects.values_list(*names).annotate(alive=Sum("alive"), planted=Sum("planted"))
    return {row[:-2]: row[-2:] for row in rows}


# Alive of planted by site, as the published sheet gives them under its authors' rule for dead.
BY_SITE = {("Cranesville",): (247, 360), ("Finzel",): (183, 320), ("Virginia",): (381, 640), ("West_Virginia",): (595, 720)}


def test_red_spruce_data_give_the_published_counts():
    folder = shared("redspruce_restoration")
    raw = folder / "raw"
    load_red_spruce(factories.person(), (raw / "tnc_spring_2022.csv").read_bytes(), (raw / "plot_coordinates.csv").read_bytes())
    assert counts("entry__planting__site__code") == BY_SITE
    with (folder / "truth_long.csv").open() as file:
        truth = {row["group"]: (int(row["alive"]), int(row["planted"])) for row in csv.DictReader(file) if row["level"] == "site_x_lineage"}
    ours = {" | ".join(key): value for key, value in counts("entry__planting__site__code", "entry__lot__code").items()}
    assert len(truth) == 14
    assert truth == ours
    assert Tree.objects.values("block").distinct().count() == 51
    for site in Site.objects.all():  # mapped at the mean of its plots
        blocks = [block for planting in site.plantings.all() for block in planting.blocks.all()]
        assert blocks and all(-82 < block.longitude < -78.9 and 36.9 < block.latitude < 39.8 for block in blocks)


def test_the_red_spruce_mappings_read_a_sheet_of_that_shape():
    """The same figures without the published file: one row a seedling, heights only where alive."""
    lines = ["Site,Region,SubRegion,Source,Replication,Plant_ID,Height,Damage,Notes,tagging direction,Cover"]
    for (site,), (alive, planted) in BY_SITE.items():
        for number in range(planted):
            height = "" if number >= alive else "NA" if number == 0 and site == "Finzel" else "25.5"
            lines.append(f"{site},R,S,XCS,XCS_1_{site},XCS_1_{site}_{number},{height},,,,")
    plan = load_red_spruce(factories.person(), "\n".join(lines).encode(), b"Replication,POINT_X,POINT_Y\nXCS_1_Finzel,-78.9,39.7\n")
    assert plan.notes == ["1,720 rows without a partner in “plots”: their cells from it are blank."]
    assert counts("entry__planting__site__code") == BY_SITE


def test_the_damaged_workbook_of_the_source_is_refused():
    content = shared("redspruce_restoration/raw/VA_Points_Merge_TableToExcel.xlsx").read_bytes()
    with pytest.raises(SheetError, match="looks like XLSX but is damaged"):
        plan_file("block", content, "VA_Points.xlsx", {})


def test_percentages_are_refused_whatever_they_are_mapped_to():
    content = shared("thailand_seedlots/raw/williams.trees.txt").read_bytes()
    planting = factories.planting()
    factories.census_round(planting, label="1987")
    constant = {"planting": {"constant": planting.code}, "code": "gen", "lot": "gen", "planted_count": "survival"}
    with pytest.raises(SheetError, match="'survival' holds a percentage.*how many were planted"):
        plan_file("counted_plot", content, "williams.trees.txt", {"columns": constant})
    for kind in ("plot_count", "counted_plot"):
        with pytest.raises(SheetError, match="no tree can be made from it"):
            plan_file(kind, content, "williams.trees.txt", {})


def of_trials(code, site, lot, **parts):
    """A mapping for a sheet of trials: lots, a partner, sites and a planting at each."""
    constants = {"lot_kind": {"constant": "stock"}, "taxon": {"constant": "Picea rubens"}, "origin": {"constant": "outside"}}
    owner = {"code": {"constant": code}, "name": {"constant": "Owner"}, "partner_kind": {"constant": "agency"}}
    planted = {"planted_on": {"constant": "1985"}, "state": {"constant": "established"}, "supply": {"constant": "before_records"}}
    columns = {
        "taxon": {"name": {"constant": "Picea rubens"}, "role": {"constant": "native"}},
        "lot": constants | {"code": lot, "outside_origin": {"constant": "as in the sheet"}},
        "partner": owner,
        "site": {"code": site, "name": site, "partner": {"constant": code}},
        "planting": {"code": site, "site": site} | planted,
    } | parts
    return {"parts": {kind: {"columns": taken} for kind, taken in columns.items()}}


# The same shape in a few rows: a trial gives a percentage for each lot at a site, and nobody knows how many were planted.
TRIALS = b"""env,gen,height,survival
North,G01,334,49
North,G02,348,86
South,G01,207,65
"""
PLOTS = {"planting": "env", "code": "gen", "lot": "gen"}
ROUNDS = {
    "planting": "env", "label": {"constant": "1987"}, "growing_seasons": {"constant": "2"}, "opens_on": {"constant": "1987-06-01"},
    "closes_on": {"constant": "1987-08-31"},
}  # fmt: skip
COUNTS = {"planting": "env", "round": {"constant": "1987"}, "plot": "gen", "alive": "survival", "observed_on": {"constant": "1987-07-01"}}


def thai_or_own(name):
    return TRIALS if name == "own" else shared("thailand_seedlots/raw/williams.trees.txt").read_bytes()


@pytest.mark.parametrize(("name", "lots", "sites", "plots"), [("own", 2, 2, 3), ("thai", 37, 6, 192)])
def test_sites_lots_and_plots_load_and_percentages_do_not(name, lots, sites, plots):
    """Thai: truth.json of the data set has 37 lots on 6 sites, of which 192 of 222 combinations are there."""
    given = {"actor": factories.person(), "content": thai_or_own(name), "filename": "williams.trees.txt"}
    made_up = PLOTS | {"planted_count": "survival"}
    with pytest.raises(SheetError, match="^Counted plots: The column 'survival' holds a percentage.*how many were planted"):
        combined_load(**given, spec=of_trials("TH", "env", "gen", counted_plot=made_up))
    with pytest.raises(
        SheetError, match="^Counts of plots: The column 'survival' holds a percentage[^.]*, and no tree can be made from it"
    ):
        combined_load(**given, spec=of_trials("TH", "env", "gen", counted_plot=PLOTS, round=ROUNDS, plot_count=COUNTS))
    assert not Site.objects.exists()
    plan = combined_load(**given, spec=of_trials("TH", "env", "gen", counted_plot=PLOTS))
    new = {kind: counts["new"] for kind, counts in plan.counts.items()}
    assert new == {"taxon": 1, "lot": lots, "partner": 1, "site": sites, "planting": sites, "counted_plot": plots}
    assert [note for note in plan.notes if "survival" in note] == [
        "Counted plots: The column 'survival' holds a percentage or a rate. It is set aside, since no record has a place for it without the "
        "counts behind it; it stays in the file, which is stored with the load."
    ]
    assert CountedPlot.objects.unknown().count() == plots and not SurvivalTally.objects.exists()
    table = survival_rows(given["actor"], ("site",))
    assert {left.reason for left in table.left_out} == {NUMBER_UNKNOWN} and len(table.left_out) == sites
    assert recount_differences()[1] == []


def gardens(actor, name="Growth_2019.csv"):
    """The families as lots, the gardens as plantings."""
    content = shared(f"redspruce_gardens/raw/{name}").read_bytes()
    factories.taxon(name="Picea rubens")
    constants = {"lot_kind": {"constant": "stock"}, "taxon": {"constant": "Picea rubens"}, "origin": {"constant": "outside"}}
    lots = {"columns": constants | {"code": "Family", "outside_origin": "Population"}}
    sheet_load(actor=actor, kind="lot", content=content, filename=name, spec=lots)
    for code in ("Vermont", "Maryland", "North_Carolina"):
        factories.planting(code=code)
    return content


def doubled_trees():
    with (SHARED / "redspruce_gardens/raw/Growth_2019.csv").open() as file:
        rows = Counter(row["plant_ID"] for row in csv.DictReader(file))
    return {tag for tag, times in rows.items() if times > 1}


def test_garden_families_become_334_lots():
    content = gardens(factories.person())
    assert Lot.objects.count() == 334
    spec = {"columns": {"planting": "Garden", "tag": "plant_ID", "lot": "Family", "block": "mBed", "row": "BedRow", "position": "BedCol"}}
    _sheet, table, plan = plan_file("tree", content, "Growth_2019.csv", spec)
    assert (len(table.rows), plan.repeated) == (4681, 14)
    places = [problem for problem in plan.problems if "is at block" in problem.message]
    assert len(places) == len(plan.problems)


def test_the_preview_lists_trees_with_conflicting_values():
    """The heights at planting contradict each other for 12 doubled trees, those of fall 2019 for the other two."""
    content = gardens(actor := factories.person())
    for code in ("Vermont", "Maryland", "North_Carolina"):
        factories.census_round(factories.Planting.objects.get(code=code), label="2019")
    named = {}
    for height in ("initial_ht", "Height_Fall2019"):
        columns = {
            "planting": "Garden", "round": {"constant": "2019"}, "tag": "plant_ID", "status": {"constant": "A"},
            "height_cm": {"from": height, "values": {"NA": ""}}, "observed_on": {"constant": "2019"},
        }  # fmt: skip
        with pytest.raises(SheetRefused) as refused:
            sheet_load(actor=actor, kind="census", content=content, filename="Growth_2019.csv", spec={"columns": columns}, dry_run=True)
        conflicts = [problem.message for problem in refused.value.plan.problems if "contradicts row" in problem.message]
        named[height] = {tag for tag in doubled_trees() if any(f"plant_ID {tag};" in message for message in conflicts)}
        assert len(conflicts) == len(named[height])
    assert len(named["initial_ht"]) == 12
    assert named["Height_Fall2019"] == {"BER_02_VT_A", "XPK_02_VT_A"}
    assert named["initial_ht"] | named["Height_Fall2019"] == doubled_trees()
    assert len(doubled_trees()) == 14  # truth.json of the data set
