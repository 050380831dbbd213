"""Five files of one garden trial, joined by the tag: record counts, and no survival, since the trees that died were mostly dropped from them.

Source: red spruce gardens, github.com/anoobvinu07/NSF_RedSpruce_CG at 4d86d66 (CC0 1.0), Prakash et al. 2022, Phil. Trans. R. Soc. B
377:20210008. The files are never part of this project; what is proven on them is proven on rows of our own of the same shape too.
"""

import csv

import pytest

from plantings.calc.survival.census_choice import LATEST, CensusChoice
from plantings.imports.combined.loading import combined_load
from plantings.models import Observation, Planting, Site, SurvivalTally, Tree
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.survival.rounds import NUMBER_UNKNOWN
from plantings.selectors.survival.survival import survival_rows
from registry.models import Lot
from tests import factories
from tests.plantings.sheets.test_real_input import of_trials, shared

pytestmark = pytest.mark.django_db

# {file: (the column of its heights, "" for none, its months)}: a growth file has its own column of heights each year, the others are alike
FILES = {
    "Growth_2019.csv": ("Height_Fall2019", "2019-09", "2019-10"),
    "BudSet_2019.csv": ("", "2019-08", "2019-09"),
    "BudBreak_2020.csv": ("", "2020-04", "2020-06"),
    "Growth_2020.csv": ("FinalHT", "2020-09", "2020-10"),
    "BudSet_2020.csv": ("", "2020-08", "2020-09"),
}
# the same faults in a few rows: NA as text, an unnamed first column, a tag twice with one value and twice with two, trees of one file alone
OWN = {
    "Growth_2019.csv": b""""","plant_ID","Family","Garden","Bed","Height_Fall2019"
"1","F1_N_A","F1","North","A",30
"2","F1_S_A","F1","South","A",NA
"3","F2_N_A","F2","North","A",21.5
"4","F2_N_A","F2","North","A",21.5
"5","F2_S_A","F2","South","A",24
"6","F2_S_A","F2","South","A",42
""",
    "BudSet_2019.csv": b"plant_ID,Family,Garden,Bed,BudSet\nF1_N_A,F1,North,A,267\nF1_N_A,F1,North,A,274\nF2_S_A,F2,South,A,270\n",
    "BudBreak_2020.csv": b"plant_ID,Family,Garden,Bed,BudBreak\nF1_N_A,F1,North,A,138\nF3_N_B,F3,North,B,140\n",
    "Growth_2020.csv": b'"","plant_ID","Family","Garden","Bed","FinalHT"\n"1","F1_N_A","F1","North","A",45\n"2","F3_N_B","F3","North","B",40\n',
    "BudSet_2020.csv": b"plant_ID,Family,Garden,Bed,BudSet\nF1_N_A,F1,North,A,234\n",
}
OWN_RECORDS = {"Growth_2019.csv": 3, "BudSet_2019.csv": 2, "BudBreak_2020.csv": 2, "Growth_2020.csv": 2, "BudSet_2020.csv": 1}
SET_ASIDE = {"Growth_2019.csv": 2}  # BER_02_VT_A and XPK_02_VT_A have two heights in fall 2019; all other doubled rows say one thing
PLACES = {"own": (2, 3, 5), "published": (3, 334, 4842)}  # sites, families, trees: truth.json


def content_of(which, name):
    return OWN[name] if which == "own" else shared(f"redspruce_gardens/raw/{name}").read_bytes()


def records_expected(which):
    """{file: its trees}: of the published files by their distinct tags."""
    if which == "own":
        return OWN_RECORDS
    tags = {name: {row["plant_ID"] for row in csv.DictReader(content_of(which, name).decode().splitlines())} for name in FILES}
    return {name: len(found) - SET_ASIDE.get(name, 0) for name, found in tags.items()}


def spec_of(heights, *months):
    """The mapping of one layout; the round is named by the file's name."""
    opens, closes = (f"{month}-{day}" for month, day in zip(months, ("01", "30"), strict=True))
    label = {"given": "round"}
    census = {
        "planting": "Garden", "round": label, "tag": "plant_ID", "status": {"constant": "A"}, "observed_on": {"constant": months[0]},
    } | ({"height_cm": {"from": heights, "values": {"NA": ""}}} if heights else {})  # fmt: skip
    spec = of_trials(
        "RS", "Garden", "Family",
        tree={"planting": "Garden", "tag": "plant_ID", "lot": "Family", "block": "Bed"},
        round={
            "planting": "Garden", "label": label, "growing_seasons": {"constant": "1" if "2019" in opens else "2"},
            "opens_on": {"constant": opens}, "closes_on": {"constant": closes},
        },
        census=census,
    )  # fmt: skip
    # a person says it: no file tells that it dropped the dead
    spec["parts"]["planting"]["columns"] |= {"trees_left_out": {"constant": "yes"}, "planted_on": {"constant": "2019"}}
    return spec | {"file_name": "{round}.csv"}


@pytest.mark.parametrize("which", ["own", "published"])
def test_garden_files_give_record_counts_and_no_survival(which):
    actor, found = factories.person(), {}
    for name, given in FILES.items():
        plan = combined_load(actor=actor, content=content_of(which, name), filename=name, spec=spec_of(*given), set_aside=True)
        found[name] = Observation.objects.filter(round__label=name.removesuffix(".csv")).count()
        assert plan.counts["census"]["new"] == found[name]
    assert found == records_expected(which)
    assert (Site.objects.count(), Lot.objects.count(), Tree.objects.count()) == PLACES[which]
    assert not SurvivalTally.objects.exists() and recount_differences()[1] == []
    table = survival_rows(actor, ("site",), "lot", CensusChoice(LATEST))
    assert not list(table.rows) and {left.reason for left in table.left_out} == {NUMBER_UNKNOWN}
    assert len(table.left_out) == Planting.objects.count() == PLACES[which][0]
