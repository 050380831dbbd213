"""The plain form for one tree: what a volunteer with a phone does at a position."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.models import Observation
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def walk(client):
    """(round, its trees, the volunteer of the crew, who is signed in)."""
    volunteer = factories.person("volunteer", first_name="Tom", last_name="Okafor")
    site = factories.site(cautions="Dead limbs along the east edge.")
    planting = factories.planting(site=site, crew=[volunteer])
    trees = factories.trees(planting, count=3)
    client.force_login(volunteer)
    return factories.census_round(planting, 2), trees, volunteer


def form_url(census_round, tree):
    return reverse("census_tree", args=[census_round.pk, tree.pk])


def send(client, census_round, tree, **values):
    values = {"uuid": str(uuid4()), "status": "A", "observed_on": str(census_round.opens_on), "observer": "Tom Okafor"} | values
    return client.post(form_url(census_round, tree), values)


def messages(response):
    return [str(message) for message in response.context["messages"]]


def test_the_form_shows_cautions_above_it_and_the_form_itself(client, walk):
    census_round, trees, _volunteer = walk
    page = client.get(form_url(census_round, trees[0])).content.decode()
    assert page.index("Dead limbs along the east edge.") < page.index("Look up first") < page.index('name="status"')
    assert page.count('type="radio"') == 8  # A, AR, D, SU, NF, NL, NV, RM


def test_saving_opens_the_next_tree_with_day_and_observer_filled_in(client, walk):
    census_round, trees, volunteer = walk
    looked_for = {"canker_class": "1", "browse_class": "light", "dieback_percent": "20", "flowering": "male"}
    response = send(client, census_round, trees[0], height_cm="142", note="leaning", **looked_for)
    assert response.url == f"{form_url(census_round, trees[1])}?on={census_round.opens_on}&by=Tom+Okafor"
    record = Observation.objects.get()
    assert (record.tree, record.round, record.status, record.height_cm, record.canker_class) == (trees[0], census_round, "A", 142.0, 1)
    assert (record.browse_class, record.dieback_percent, record.flowering, record.note, record.entered_by) == (
        "light",
        20,
        "male",
        "leaning",
        volunteer,
    )
    form = client.get(response.url).context["form"]
    assert (form["observed_on"].value(), form["observer"].value()) == (str(census_round.opens_on), "Tom Okafor")


def test_the_first_tree_without_a_record_opens_from_the_round(client, walk):
    census_round, trees, _volunteer = walk
    send(client, census_round, trees[0])
    assert client.get(reverse("census_next", args=[census_round.pk])).url == form_url(census_round, trees[1])


def test_after_the_last_tree_comes_the_round(client, walk):
    census_round, trees, _volunteer = walk
    for tree in trees:
        response = send(client, census_round, tree)
    assert response.url == reverse("round_detail", args=[census_round.pk])
    assert client.get(reverse("census_next", args=[census_round.pk])).url == response.url


def test_sending_the_same_form_twice_stores_once(client, walk):
    census_round, trees, _volunteer = walk
    uuid = str(uuid4())
    for words in ("Record of tree {} saved.", "The record of tree {} was saved before."):
        response = send(client, census_round, trees[0], uuid=uuid, height_cm="142")
        assert messages(client.get(response.url)) == [words.format(trees[0].tag)]
    assert Observation.objects.count() == 1


def test_sending_a_stored_form_with_other_values_is_refused(client, walk):
    census_round, trees, _volunteer = walk
    uuid = str(uuid4())
    send(client, census_round, trees[0], uuid=uuid, height_cm="142")
    response = send(client, census_round, trees[0], uuid=uuid, height_cm="124")
    assert "This was stored before, as Alive (A), 142 cm." in response.context["form"].errors["status"][0]
    assert 'value="124"' in response.content.decode()


def test_a_wrong_value_comes_back_with_everything_that_was_typed(client, walk):
    census_round, trees, _volunteer = walk
    response = send(client, census_round, trees[0], height_cm="14x", note="leaning")
    form, page = response.context["form"], response.content.decode()
    assert form.errors["height_cm"] == ["“14x” is not a number. Write cm with digits and a point, such as 142."]
    assert 'value="14x"' in page and "leaning" in page
    assert form["uuid"].value() == form.data["uuid"]
    assert not Observation.objects.exists()


@pytest.mark.parametrize(
    ("values", "field", "words"),
    [
        ({"status": ""}, "status", "Choose one status"),
        ({"status": "RM"}, "cause", "The reason for the removal is missing"),
        ({"status": "D", "cause": "sanitation"}, "cause", "is not a cause of death"),
        ({"status": "NF", "height_cm": "80"}, "height_cm", "cannot have a measurement"),
        ({"height_cm": "9000"}, "height_cm", "is outside 0 to 6,000 cm"),  # the programme's limit (calc/census/measurements.py)
        ({"diameter_mm": "12", "diameter_at_cm": "301"}, "diameter_at_cm", "is outside 0 to 300 cm above ground"),
        ({"dieback_percent": "2.5"}, "dieback_percent", "“2.5” is not a whole number. Write % without a point, such as 30."),
        ({"dieback_percent": "140"}, "dieback_percent", "is outside 0 to 100 %"),
        ({"observed_on": "2018-05-01"}, "observed_on", "before planting"),
        ({"observed_on": "2999-01-01"}, "observed_on", "has not come yet"),
    ],
)
def test_every_rule_reports_at_its_field(client, walk, values, field, words):
    census_round, trees, _volunteer = walk
    errors = send(client, census_round, trees[0], **values).context["form"].errors
    assert list(errors) == [field] and words in errors[field][0]
    assert not Observation.objects.exists()


def test_last_years_value_is_hidden_until_the_new_one_is_stored(client, walk):
    census_round, trees, _volunteer = walk
    factories.observe(factories.census_round(census_round.planting, 1), {trees[0]: "A"}, height_cm=300.5)
    assert "300.5" not in client.get(form_url(census_round, trees[0])).content.decode()
    # 300.5 / 118 is close to 2.54, as if inches and centimetres were mixed up: a question, not an error
    asked = send(client, census_round, trees[0], height_cm="118")
    assert "300.5" not in asked.content.decode()  # an earlier reading leads whoever measures again
    response = send(client, census_round, trees[0], height_cm="118", asked=asked.context["asked"])
    assert Observation.objects.filter(round=census_round).count() == 1
    [stored, warning] = messages(client.get(response.url))
    assert "Height is 118 cm, last time 300.5 cm: as if inches and centimetres were mixed up" in warning
    assert f'<a href="{reverse("tree_detail", args=[trees[0].pk])}">{trees[0].tag}</a>' in warning


def test_a_record_outside_the_window_is_stored_with_a_warning(client, walk):
    census_round, trees, _volunteer = walk
    response = send(client, census_round, trees[0], observed_on="2021-02-01")
    assert Observation.objects.count() == 1
    assert "days after the round closes" in messages(client.get(response.url))[1]


def test_a_death_without_a_cause_is_stored_as_unknown(client, walk):
    census_round, trees, _volunteer = walk
    send(client, census_round, trees[0], status="D")
    assert Observation.objects.get().cause == "unknown"


def test_a_second_record_is_stored_beside_the_first(client, walk):
    census_round, trees, _volunteer = walk
    send(client, census_round, trees[0])
    assert "This tree has a record in this round." in client.get(form_url(census_round, trees[0])).content.decode()
    send(client, census_round, trees[0], status="AR")
    assert sorted(Observation.objects.current().values_list("status", flat=True)) == ["A", "AR"]


def test_a_name_given_in_the_address_is_text_and_nothing_else(client, walk):
    census_round, trees, _volunteer = walk
    page = client.get(form_url(census_round, trees[0]) + "?by=<script>alert(1)</script>").content.decode()
    assert "<script>alert" not in page and "&lt;script&gt;alert" in page


def test_only_the_crew_enters_records_of_its_planting(client, walk):
    census_round, trees, _volunteer = walk
    [stranger] = factories.trees(factories.planting(), count=1)
    assert client.get(form_url(census_round, stranger)).status_code == 404
    for role, status in (("volunteer", 404), ("auditor", 403), ("manager", 403), ("coordinator", 200)):
        client.force_login(factories.person(role))
        assert client.get(form_url(census_round, trees[0])).status_code == status, role
        if status != 200:
            assert send(client, census_round, trees[0]).status_code == status, role
    assert not Observation.objects.exists()


def test_the_day_offered_first_is_today(client, walk):
    census_round, trees, _volunteer = walk
    assert client.get(form_url(census_round, trees[0])).context["form"]["observed_on"].value() == timezone.localdate()
