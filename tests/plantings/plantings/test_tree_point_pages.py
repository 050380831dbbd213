"""Points of trees on pages: who sees them, how they are drawn, and the form that gives them."""

import pytest
from django.urls import reverse

from plantings.calc.sites.point_plan import point_plan
from plantings.imports.general_sheets import GeneralTreeSheet
from plantings.imports.trees import TreeSheet
from plantings.models import Tree
from tests import factories
from tests.plantings.plantings.point_sheets import HEAD, SOUTH, WEST, load, planting_of_lead, points

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return planting_of_lead()


@pytest.mark.parametrize(("role", "sees"), [("lead", True), ("coordinator", True), ("auditor", True), ("manager", False)])
def test_whoever_sees_the_place_of_a_site_sees_that_of_a_tree(lead, client, role, sees):
    load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},2.5\n")
    client.force_login(factories.person(role))
    page = client.get(reverse("tree_detail", args=[Tree.objects.get().pk])).content.decode()
    assert ("44.50000° N, 73.20000° W, within 2.5 m" in page) is sees
    listed = client.get(reverse("tree_list"), {"download": "csv"})
    sheet = b"".join(listed.streaming_content) if listed.streaming else listed.content
    assert (b"-73.2" in sheet) is sees and (b"Longitude" in sheet) is sees and b"Tag" in sheet


def test_the_crew_and_the_landowner_see_the_points_of_their_trees(lead, client):
    load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},2.5\n")
    tree = Tree.objects.get()
    crew, owner = factories.person("volunteer"), factories.person("landowner", partner=tree.planting.site.partner)
    tree.planting.crew.add(crew)
    for person in (crew, owner):
        client.force_login(person)
        assert "44.50000° N, 73.20000° W" in client.get(reverse("tree_detail", args=[tree.pk])).content.decode()
    client.force_login(factories.person("volunteer"))
    assert client.get(reverse("tree_detail", args=[tree.pk])).status_code == 404


def test_the_page_of_a_planting_draws_its_points_to_scale(lead, client):
    """0.001 degrees of longitude at 44.5 N are 79.5 m (pyproj, geodesic on WGS 84)."""
    plan = point_plan([(WEST, SOUTH), (WEST + 0.001, SOUTH)])
    assert plan.scale / plan.scale_m == pytest.approx((plan.points[1][0] - plan.points[0][0]) / 79.5, rel=0.001)
    both_sides = point_plan([(179.9995, SOUTH), (-179.9995, SOUTH)])  # 0.001 degrees apart too
    assert both_sides == plan
    assert point_plan([(WEST, SOUTH)] * 2).points == ((10, 10), (10, 10))
    load(lead, HEAD + f"P,1,L,{WEST},{SOUTH},\nP,2,L,{WEST + 0.001},{SOUTH},\nP,3,L,,,\n")
    url = reverse("planting_detail", args=[Tree.objects.first().planting_id])
    for role, sees in (("lead", True), ("manager", False)):
        client.force_login(factories.person(role))
        page = client.get(url).content.decode()
        assert ("Map of the measured points" in page and ">20 m</text>" in page) is sees


def test_a_sheet_without_points_still_has_all_other_columns():
    hidden = TreeSheet.sheet_fields().keys() - GeneralTreeSheet.sheet_fields().keys()
    assert hidden == {"longitude", "latitude", "accuracy_m", "point_is_right"}


def test_a_form_gives_a_tree_its_point_and_takes_it_away(lead, client):
    load(lead, HEAD + "P,1,L,,,\n")
    tree = Tree.objects.get()
    client.force_login(lead)
    url = reverse("tree_edit", args=[tree.pk])

    def send(**values):
        form = client.get(url).context["form"]
        data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, False)}
        return client.post(url, data | values)

    far = send(longitude=WEST + 0.05, latitude=SOUTH, accuracy_m=3, reason="walked")
    assert far.status_code == 200 and "say so under “Point is right”" in far.content.decode()
    assert send(longitude=WEST + 0.05, latitude=SOUTH, accuracy_m=3, reason="walked", point_is_right="on").status_code == 302
    assert points() == {"1": (WEST + 0.05, SOUTH, 3.0)}
    assert send(longitude="", latitude="", accuracy_m="", reason="of another tree").status_code == 302
    assert points() == {"1": (None, None, None)}
