"""Sheets of ratings, their scales and the decisions made on them: loaded, read back, and each fault named with its row.

Names and scores are made for these tests.
"""

import pytest

from registry.imports.orchard.orchard import RatingScaleSheet, RatingSheet, SelectionDecisionSheet
from registry.models import (
    PedigreeTree,
    Rating,
    RatingScale,
    SelectionDecision,
)
from tests import factories
from tests.registry.sheets.sheet_help import load, refused, written_and_read

pytestmark = pytest.mark.django_db


@pytest.fixture
def trees():
    return [factories.pedigree_tree(code=code, orchard="Home", planted_year=2010) for code in ("A", "B", "C")]


# -- ratings -----------------------------------------------------------------------------------

SCALE = "Scale,Scale version,Disease,Lowest score,Highest score,Step between scores,The lowest score means,The highest score means\n"


RATING = (
    "Tree,Scale,Scale version,Rated on,Method,Strain of the pathogen,Score (on the scale),Canker length (mm),Canker width (mm),Rated by\n"
)


@pytest.fixture
def scale():
    load(RatingScaleSheet, SCALE + "Canker,1,canker,1,5,0.25,none,girdled\n")
    return RatingScale.objects.get()


def test_a_scale_that_trees_are_rated_on_is_not_changed(trees, scale):
    assert written_and_read(RatingScaleSheet) == 1
    load(RatingSheet, RATING + "A,Canker,1,2018-05-29,natural,,2.75,,,R. One\n")
    problem = refused(RatingScaleSheet, SCALE + "Canker,1,canker,1,9,0.25,none,girdled\n")[0]
    assert problem == "row 2: Trees are rated on this scale. Add a new version of it; the old scores keep their meaning."


def test_a_scale_whose_steps_do_not_reach_its_end_is_refused(db):
    problem = refused(RatingScaleSheet, SCALE + "Canker,1,canker,1,5,0.3,none,girdled\n")[0]
    assert problem.startswith("row 2, column 'Step between scores': '0.3' Steps of this size do not lead from the lowest")


def test_the_ratings_of_a_day_are_loaded_and_read_back(trees, scale):
    text = RATING + "A,Canker,1,2018-05-29,large_stem,Strain 1,2.75,41,12.5,R. One\nB,Canker,1,2018-05-29,large_stem,Strain 1,,38,,R. One\n"
    load(RatingSheet, text + "A,Canker,1,2018-05-29,natural,,3,,,R. Two\n")
    assert list(Rating.objects.order_by("pk").values_list("tree__code", "score", "canker_length_mm")) == [
        ("A", 2.75, 41.0), ("B", None, 38.0), ("A", 3, None),
    ]  # fmt: skip
    assert written_and_read(RatingSheet) == 3
    assert load(RatingSheet, text.replace("Strain 1", "STRAIN 1"), reason="as the label writes it").counts["new"] == 0


def test_a_rating_row_that_differs_is_a_correction(trees, scale):
    load(RatingSheet, RATING + "A,Canker,1,2018-05-29,natural,,2.75,,,R. One\n")
    load(RatingSheet, RATING + "A,Canker,1,2018-05-29,natural,,3.75,,,R. One\n", reason="read again from the paper")
    new, old = Rating.objects.order_by("-pk")
    assert (new.score, new.supersedes, new.reason, old.score) == (3.75, old, "read again from the paper", 2.75)
    assert written_and_read(RatingSheet) == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("A,Canker,1,2018-05-29,natural,,3.3,,,R\n", "row 2, column 'Score (on the scale)': '3.3' The score 3.3 is between two steps"),
        ("A,Canker,1,2018-05-29,natural,,6,,,R\n", "row 2, column 'Score (on the scale)': '6.0' The score 6 is outside the scale"),
        ("A,Canker,1,2018-05-29,natural,,,,,R\n", "row 2, column 'Score (on the scale)': Give a score or a canker length."),
        ("A,Canker,1,2018-05-29,natural,,3,,9,R\n", "row 2, column 'Canker length (mm)': There is a width without a length"),
        ("A,Canker,1,2009-05-29,natural,,3,,,R\n", "row 2, column 'Tree': 'A' It was planted in 2010, after this day"),
        (
            "A,Canker,2,2018-05-29,natural,,3,,,R\n",
            "row 2, column 'Scale version': '2' is not a version of the scale 'Canker': the versions on record are 1",
        ),
        (
            "A,Blight,2,2018-05-29,natural,,3,,,R\n",
            "row 2, column 'Scale version': '2' is not a version of the scale 'Blight': there is no scale of",
        ),
        ("A,Canker,1,2018-05-29,natural,,3,,,\n", "row 2, column 'Rated by': is blank, and a new row needs it"),
        ('A,Canker,1,2018-05-29,natural,,"3,5",,,R\n', "row 2, column 'Score (on the scale)': '3,5' has a ','; the decimal sign"),
    ],
)
def test_a_rating_that_cannot_be_is_named_with_its_row(trees, scale, row, says):
    assert refused(RatingSheet, RATING + row)[0].startswith(says)
    assert not Rating.objects.exists()


def test_comma_decimals_and_european_dates_are_read_as_declared(trees, scale):
    text = RATING.replace(",", ";") + "A;Canker;1;29.05.2018;natural;;3,25;;;R. One\n"
    load(RatingSheet, text, decimal=",", dates="DD.MM.YYYY")
    assert Rating.objects.filter(score="3.25", rated_on="2018-05-29").exists()


# -- decisions ---------------------------------------------------------------------------------

DECISION = (
    "Tree,Decided on,Decision,Evidence,Based on the ratings of (dates),Decided by,Agreed by,Reason for going ahead despite broken floors\n"
)


def test_a_decision_names_its_ratings_by_their_days(trees, scale):
    for day in ("2018-05-29", "2020-06-09"):
        load(RatingSheet, RATING + f"A,Canker,1,{day},natural,,2.75,,,R. One\n")
    load(SelectionDecisionSheet, DECISION + "A,2020-11-20,kept,clean stem,2020-06-09; 2018-05-29,A.  One,B. Two,\n")
    decision = SelectionDecision.objects.get()
    assert decision.ratings.count() == 2 and decision.first_name == "A. One"
    assert written_and_read(SelectionDecisionSheet) == 1


def test_the_preview_names_a_broken_floor_that_needs_an_answer(trees):
    PedigreeTree.objects.update(backcrosses=3, intercrosses=2, generation_other="", recurrent_line="Tioga", source_of_resistance="Shiro")
    row = "A,2018-11-20,rogued,scored 4.25,,A. One,B. Two,"
    problem = refused(SelectionDecisionSheet, DECISION + row + "\n")[0]
    assert problem.startswith(
        "row 2, column 'Reason for going ahead despite broken floors': is blank, and roguing A breaks a floor of diversity: "
    )
    assert "standing mothers of the source of resistance Shiro would be left; the floor is 5" in problem
    plan = load(SelectionDecisionSheet, DECISION + row + "grafts are kept\n")
    assert any("Shiro" in note for note in plan.notes)
    decision = SelectionDecision.objects.get()
    assert decision.warnings_answer == "grafts are kept" and decision.warnings
    assert written_and_read(SelectionDecisionSheet) == 1


def test_an_answer_without_a_broken_floor_is_not_a_difference(trees):
    text = DECISION + "A,2018-11-20,kept,clean stem,,A. One,B. Two,not needed\n"
    load(SelectionDecisionSheet, text)
    assert SelectionDecision.objects.get().warnings_answer == ""
    assert load(SelectionDecisionSheet, text).counts["unchanged"] == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("A,2018-11-20,kept,x,,A. One,a.  one,\n", "row 2, column 'Agreed by': 'a. one' “a. one” may be another spelling of “A. One”. Two different people decide"),
        ("A,2018-11-20,kept,x,,A. One,,\n", "row 2, column 'Agreed by': is blank, and a new row needs it"),
        ("A,2018-11-20,kept,,,A. One,B. Two,\n", "row 2, column 'Evidence': is blank, and a new row needs it"),
        ("A,2018-11-20,kept,x,2018-05-29,A. One,B. Two,\n", "row 2, column 'Based on the ratings of (dates)': '2018-05-29' There is no rating of A on 2018-05-29"),
        ("A,2018-11-20,kept,x,May 2018,A. One,B. Two,\n", "row 2, column 'Based on the ratings of (dates)': 'May 2018' is not a date written YYYY-MM-DD or YYYY-MM or YYYY; write it so"),
    ],
)  # fmt: skip
def test_a_decision_that_cannot_be_is_named_with_its_row(trees, row, says):
    assert refused(SelectionDecisionSheet, DECISION + row)[0].startswith(says)
    assert not SelectionDecision.objects.exists()


def test_a_decision_never_changes_and_a_second_one_has_a_number(trees):
    head = DECISION.replace("Evidence,", "Evidence,Number within the day (blank is 1),")
    load(SelectionDecisionSheet, head + "A,2018-11-20,held,not rated,,,A. One,B. Two,\n")
    other = "A,2018-11-20,held,rated by one only,{},,A. One,B. Two,\n"
    assert "'rated by one only' differs from the record. A decision does not change once it is entered." in refused(
        SelectionDecisionSheet, head + other.format("")
    )[0]  # fmt: skip
    assert "has no number 2 before it" in refused(SelectionDecisionSheet, head + other.format(3))[0]
    load(SelectionDecisionSheet, head + other.format(2))
    assert SelectionDecision.objects.count() == 2
    assert written_and_read(SelectionDecisionSheet) == 2
