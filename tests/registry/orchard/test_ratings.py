"""Ratings: a day's sheet, the checks that give them meaning, corrections, scales."""

import datetime
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from registry.imports.orchard.orchard import RatingSheet
from registry.imports.sheets.table import read_table
from registry.models import AuditEntry, CautionText, PedigreeTree, Rating
from registry.selectors.orchard.ratings import check_kind, compared_ratings, latest_ratings
from registry.services.orchard.ratings import RatingDay, Reading, rating_correct, rating_scale_save, ratings_enter
from registry.views.audit.changes import change_lines
from tests import factories
from tests.registry.sheets.sheet_help import load

pytestmark = pytest.mark.django_db

DAY = datetime.date(2019, 5, 20)


@pytest.fixture
def manager(client):
    person = factories.person("manager")
    client.force_login(person)
    return person


def tree(code, **fields):
    return factories.pedigree_tree(**{"code": code, "orchard": "Mill Brook", "block": "A", "backcrosses": 3, "intercrosses": 1} | fields)


def checks(orchard="Mill Brook"):
    """A native, a donor and an F1 check of an orchard."""
    return (
        tree(f"{orchard}-N", orchard=orchard, backcrosses=None, intercrosses=None, generation_other="native"),
        tree(f"{orchard}-D", orchard=orchard, backcrosses=None, intercrosses=None, generation_other="donor"),
        tree(f"{orchard}-F", orchard=orchard, backcrosses=0, intercrosses=0),
    )


def compared(rating):
    return compared_ratings(Rating.objects.filter(pk=rating.pk).select_related("tree__taxon", "scale"))[0]


def rate_checks(scale, native=4.5, donor=1.5, **fields):
    for code, score in (("Mill Brook-N", native), ("Mill Brook-D", donor)):
        factories.rating(PedigreeTree.objects.get(code=code), scale, score, **fields)


def test_a_score_gets_its_meaning_from_the_checks_of_its_day():
    checks()
    scale = factories.rating_scale()
    rating = factories.rating(tree("KW-1"), scale, 3)
    assert compared(rating).comparison.reason == "not comparable: no native and no donor check"
    rate_checks(scale)
    assert (compared(rating).comparison.position, compared(rating).comparison.reason) == (0.5, "")


@pytest.mark.parametrize(
    "other",
    [{"on": DAY + datetime.timedelta(days=1)}, {"method": "small_stem"}, {"strain": "weak"}, {"scale": True}, {"orchard": "Upper Field"}],
    ids=["another day", "another method", "another strain", "another version", "another orchard"],
)
def test_checks_of_another_session_do_not_count(other):
    checks()
    scale = factories.rating_scale()
    one = tree("KW-1", orchard=other.pop("orchard", "Mill Brook"))
    rate_checks(factories.rating_scale() if other.pop("scale", False) else scale, **other)
    rating = factories.rating(one, scale, 3)
    assert compared(rating).comparison.reason == "not comparable: no native and no donor check"


def test_canker_lengths_are_compared_only_with_canker_lengths():
    native, donor, _f1 = checks()
    scale = factories.rating_scale()
    rating = factories.rating(tree("KW-1"), scale, None, canker_length_mm=30.0)
    rate_checks(scale)
    assert compared(rating).comparison.reason.startswith("not comparable")
    for found, length in ((native, 50.0), (donor, 10.0)):
        factories.rating(found, scale, None, canker_length_mm=length, strain="x")
    again = factories.rating(tree("KW-2"), scale, None, canker_length_mm=30.0, strain="X ")
    assert (compared(again).basis, compared(again).comparison.position) == ("canker length", 0.5)


def test_a_corrected_check_counts_with_its_correction_only():
    native, _donor, _f1 = checks()
    scale, actor = factories.rating_scale(), factories.person()
    rate_checks(scale, native=2.0)
    rating = factories.rating(tree("KW-1"), scale, 3)
    wrong = Rating.objects.get(tree=native)
    day = RatingDay(scale, DAY, "large_stem", "R. Rater")
    rating_correct(actor=actor, rating=wrong, day=day, reading=Reading(native, Decimal("4.5")), reason="read from the wrong column")
    assert compared(rating).comparison.native == 4.5
    with pytest.raises(ValidationError, match="corrected before"):
        rating_correct(actor=actor, rating=wrong, day=day, reading=Reading(native, Decimal(4)), reason="again")
    entry = AuditEntry.objects.get(verb="rating.corrected")
    assert change_lines(entry) == [("score", "2.00", "4.5")]


def test_trees_without_an_orchard_are_not_compared():
    scale = factories.rating_scale()
    native = factories.pedigree_tree(generation_other="native")
    factories.rating(native, scale, 4)
    factories.rating(factories.pedigree_tree(generation_other="donor"), scale, 1)
    assert "no native and no donor" in compared(factories.rating(tree("KW-1", orchard=""), scale, 3)).comparison.reason


def test_a_tree_without_a_generation_is_a_check_by_its_species():
    donor = factories.pedigree_tree(generation_other="", taxon=factories.taxon(role="donor"))
    assert (check_kind(donor), check_kind(tree("KW-1"))) == ("donor", "")


def test_a_wrong_reading_names_its_tree_and_no_reading_is_stored():
    scale = factories.rating_scale()
    good, bad = tree("KW-1"), tree("KW-2")
    readings = [Reading(good, Decimal(3)), Reading(bad, Decimal("3.3")), Reading(good, Decimal(2))]
    with pytest.raises(ValidationError) as refused:
        ratings_enter(actor=factories.person(), day=RatingDay(scale, DAY, "large_stem", "R. Rater"), readings=readings)
    assert refused.value.messages == [
        "KW-2: The score 3.3 is between two steps of the scale (1 to 5 in steps of 0.25). Write 3.25 or 3.5.",
        "KW-1: it is listed twice among these readings. Remove one of them.",
    ]
    assert not Rating.objects.exists()


def test_a_tree_has_one_rating_a_day_by_scale_method_and_strain():
    scale, one = factories.rating_scale(), tree("KW-1")
    factories.rating(one, scale, 3, strain="weak")
    factories.rating(one, scale, 3, strain="aggressive")
    with pytest.raises(ValidationError, match="KW-1: it already has a rating"):
        factories.rating(one, scale, 4, strain="Weak")


def test_latest_ratings_keep_two_diseases_apart():
    canker, rot, one = factories.rating_scale(), factories.rating_scale(name="Root rot", disease="root rot"), tree("KW-1")
    factories.rating(one, canker, 3)
    factories.rating(one, rot, 1)
    newest = factories.rating(one, canker, 4, on=DAY + datetime.timedelta(days=9))
    latest, scales = latest_ratings([one.pk], datetime.date(2020, 1, 1))
    assert {scale: rating.score for scale, rating in latest[one.pk].items()} == {canker.pk: newest.score, rot.pk: 1}
    assert set(scales) == {canker.pk, rot.pk}


def test_a_scale_with_ratings_is_fixed_and_steps_meet_its_ends():
    scale = factories.rating_scale()
    scale.highest = Decimal(9)
    rating_scale_save(actor=factories.person(), scale=scale)
    factories.rating(tree("KW-1"), scale, 3)
    scale.highest = Decimal(10)
    with pytest.raises(ValidationError, match="Add a new version"):
        rating_scale_save(actor=factories.person(), scale=scale)
    scale.pk, scale.version, scale.step = None, "next", Decimal("0.7")
    with pytest.raises(ValidationError, match="do not lead from the lowest"):
        rating_scale_save(actor=factories.person(), scale=scale)


# -- on screen ---------------------------------------------------------------------------------


def sheet_address(block="A"):
    return f"{reverse('rating_day')}?orchard=mill+brook&block={block}&on=2019-05-20"


def test_the_grid_of_a_day_lists_checks_first_and_saves_all_rows(client, manager):
    native, donor, _f1 = checks()
    PedigreeTree.objects.filter(pk__in=[native.pk, donor.pk]).update(block="B")
    first, second = tree("KW-1", row=2, position=1), tree("KW-2", row=1, position=1)
    scale = factories.rating_scale()
    page = client.get(sheet_address())
    shown = [row["code"] for row in page.context["grid"]["rows"]]
    assert shown == ["Mill Brook-D", "Mill Brook-F", "Mill Brook-N", "KW-2", "KW-1"]
    assert "70 %" in page.content.decode() and "live plant pests" in page.content.decode()
    data = {"scale": scale.pk, "method": "large_stem", "rater": "R. Rater", "strain": "weak"}
    scores = {first: "3.3", second: "4", native: "4.5", donor: "1.5"}
    data |= {f"t{found.pk}-score": score for found, score in scores.items()}
    wrong = client.post(sheet_address(), data)
    assert "KW-1: The score 3.3 is between two steps" in wrong.content.decode()
    assert 'value="4.5"' in wrong.content.decode()
    assert not Rating.objects.exists()
    stored = client.post(sheet_address(), data | {f"t{first.pk}-score": "3"}, follow=True)
    assert "4 ratings saved." in stored.content.decode()
    positions = {row.cells[0][0]: row.cells[3][0] for row in stored.context["rows"]}
    assert positions == {"KW-1": "0.50", "KW-2": "0.17", "Mill Brook-D": "1.00", "Mill Brook-N": "0.00"}
    again = client.get(sheet_address())
    assert any("3 (Canker, version" in row["last"] for row in again.context["grid"]["rows"])


def test_the_grid_needs_a_place_where_trees_were_standing(client, manager):
    assert "Open the grid" in client.get(reverse("rating_day")).content.decode()
    assert "No tree was standing there" in client.get(sheet_address()).content.decode()
    assert client.post(reverse("rating_day"), {}).status_code == 302


def test_the_grid_says_when_an_orchard_has_no_checks(client, manager):
    tree("KW-1")
    text = client.get(sheet_address()).content.decode()
    assert "no native (susceptible) check" in text and "no donor (resistant) check" in text


def test_a_rating_without_checks_is_saved_and_marked(client, manager):
    one, scale = tree("KW-1"), factories.rating_scale()
    data = {"rated_on": "2019-05-20", "scale": scale.pk, "score": "3.25", "method": "natural", "rater": "R. Rater"}
    page = client.post(reverse("pedigreetree_rate", args=[one.pk]), data, follow=True)
    assert "not comparable: no native and no donor check" in page.content.decode()
    shown = client.get(reverse("rating_list"))
    assert shown.context["rows"][0].cells[3][0] == "not comparable: no native and no donor check"
    for wanted in ("csv", "xlsx"):
        download = client.get(reverse("rating_list"), {"download": wanted}).content
        table = read_table(download, f"ratings.{wanted}")
        assert table.rows[0][table.headers.index("Position")] == "not comparable: no native and no donor check"
        plan = load(RatingSheet, download)  # the file is a sheet of ratings with further columns, and changes nothing
        assert (plan.rows, plan.counts["unchanged"]) == (1, 1) and "Position" in plan.not_taken


def test_a_corrected_rating_stays_in_the_list(client, manager):
    one, other, scale = tree("KW-1"), tree("KW-2"), factories.rating_scale()
    rating = factories.rating(one, scale, 3)
    address = reverse("rating_correct", args=[rating.pk])
    assert 'value="KW-1"' in client.get(address).content.decode()
    data = {"tree": "kw-2", "rated_on": "2019-05-20", "scale": scale.pk, "score": "3", "method": "large_stem", "rater": "R. Rater"}
    assert "reason" in client.post(address, data).context["form"].errors
    assert "is outside the scale" in client.post(address, data | {"score": "9", "reason": "x"}).content.decode()
    assert client.post(address, data | {"reason": "written at the wrong tree"}).status_code == 302
    newer = Rating.objects.get(supersedes=rating)
    assert newer.tree == other
    marks = {row.cells[0][0]: row.mark for row in client.get(reverse("rating_list")).context["rows"]}
    assert marks == {"KW-1": "soft", "KW-2": ""}
    assert "written at the wrong tree" in client.get(reverse("rating_detail", args=[rating.pk])).content.decode()


def test_the_page_of_a_scale_in_use_offers_a_new_version_only(client, manager):
    scale = factories.rating_scale()
    assert "Change the scale" in client.get(reverse("ratingscale_detail", args=[scale.pk])).content.decode()
    factories.rating(tree("KW-1"), scale, 3)
    text = client.get(reverse("ratingscale_detail", args=[scale.pk])).content.decode()
    assert "Change the scale" not in text and "Add a new version" in text
    data = {
        "name": "Canker",
        "version": "x",
        "disease": "canker",
        "lowest": 1,
        "highest": 5,
        "step": 1,
        "low_means": "a",
        "high_means": "b",
    }
    assert "Trees are rated on this scale" in client.post(reverse("ratingscale_edit", args=[scale.pk]), data).content.decode()
    assert client.post(reverse("ratingscale_add"), data).status_code == 302


def test_the_list_of_ratings_costs_a_fixed_number_of_queries(client, manager, django_assert_num_queries):
    checks()
    scale = factories.rating_scale()
    rate_checks(scale)
    for number in range(6):
        factories.rating(tree(f"KW-{number}"), scale, 3)
    with django_assert_num_queries(6):  # session, person, scales of the filter, count, rows, checks
        client.get(reverse("rating_list"))


def test_the_programmes_own_cautions_are_listed_with_the_usual_ones(client, manager):
    one = tree("KW-1")
    factories.put_in(
        CautionText(
            code="BEES", version=1, task="inoculation", hazard="Bees", text="Hives at the north gate.", decider="the beekeeper",
            in_use_from=factories.day(2019), entered_at=timezone.now(),
        )
    )  # fmt: skip
    boxes = client.get(reverse("pedigreetree_rate", args=[one.pk])).context["cautions"]
    assert [box["title"] for box in boxes] == ["Inoculation and rating", "Bees"]
    assert "This work is only for people of 18 years or more." in boxes[0]["lines"]
