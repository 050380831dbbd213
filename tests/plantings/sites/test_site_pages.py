"""The pages of sites: what each person sees of a place."""

import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from plantings.models import BoundaryLayer, Planting, Site
from plantings.selectors.sites.local_texts import SITE_TEXTS
from plantings.services.sites import site_save
from tests import factories
from tests.people import everyone

pytestmark = pytest.mark.django_db

EXACT = "44.48123° N, 73.21345° W"
# The centre of the cell of 0.1 degrees that holds the point (Chapman 2020, doi 10.15468/doc-5jp4-5g10).
GENERAL = "44.45° N, 73.25° W"


def placed(people):
    owner = people["landowner"].partner
    site = factories.site(
        code="ST-04", partner=owner, longitude=-73.21345, latitude=44.48123, access_notes="Gate on the north road.",
        access_notes_fr="Barrière au nord.",
        cautions="Dead limbs along the east edge.\nWasps in shelters.",
    )  # fmt: skip
    factories.planting(site=site, crew=[people["volunteer"]])
    return site


@pytest.mark.parametrize("who", ["lead", "coordinator", "auditor", "volunteer", "landowner"])
def test_the_crew_sees_the_exact_point_and_the_access_notes(client, who):
    people = everyone()
    site = placed(people)
    client.force_login(people[who])
    page = client.get(reverse("site_detail", args=[site.pk])).content.decode()
    assert EXACT in page and "Gate on the north road." in page
    assert "generalised" not in page


def test_a_manager_sees_a_generalised_point_and_no_access_notes(client):
    people = everyone()
    site = placed(people)
    client.force_login(people["manager"])
    page = client.get(reverse("site_detail", args=[site.pk])).content.decode()
    assert GENERAL in page and "0.1 by 0.1 degree grid cell" in page
    assert "44.48" not in page and "north road" not in page and "Barrière" not in page


def test_a_partner_off_shared_maps_has_no_point_for_a_manager(client):
    people = everyone()
    site = placed(people)
    site.partner.map_privacy = "hidden"
    site.partner.save()
    client.force_login(people["manager"])
    page = client.get(reverse("site_detail", args=[site.pk])).content.decode()
    assert GENERAL not in page and "left off shared maps" in page


@pytest.mark.parametrize(("who", "exact"), [("coordinator", True), ("landowner", True), ("manager", False)])
def test_the_download_of_the_list_is_as_exact_as_the_page(client, who, exact):
    people = everyone()
    placed(people)
    client.force_login(people[who])
    sheet = client.get(reverse("site_list") + "?download=csv").content.decode()
    assert ("-73.21345" in sheet) is exact
    assert ("What was generalised" in sheet) is not exact
    assert ("north road" in sheet) is exact
    assert ("Barrière" in sheet) is exact and ("Access (French)" in sheet) is exact


def test_each_caution_has_its_own_line_in_the_box(client):
    people = everyone()
    site = placed(people)
    client.force_login(people["volunteer"])
    response = client.get(reverse("site_detail", args=[site.pk]))
    [caution] = response.context["cautions"]
    assert caution["lines"] == ["Dead limbs along the east edge.", "Wasps in shelters."]
    assert 'class="caution"' in response.content.decode()


def test_a_closed_site_stays_in_the_list_with_its_reason(client):
    factories.site(code="ST-02", status="closed", status_reason="Root rot: every tree dead by 2021")
    client.force_login(factories.person("auditor"))
    assert "Root rot: every tree dead by 2021" in client.get(reverse("site_list")).content.decode()


def test_a_closed_site_and_planting_are_said_in_their_own_gender(client, settings):
    people = everyone()
    site = placed(people)
    Site.objects.update(status="closed", status_reason="Root rot")
    Planting.objects.update(state="closed")
    client.force_login(people["volunteer"])
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = "fr"
    for route, word in (("site_list", "fermé"), ("planting_list", "fermée")):
        assert re.search(rf">\s*{word}\s*<", client.get(reverse(route)).content.decode()), route
    page = client.get(reverse("site_detail", args=[site.pk])).content.decode()
    assert re.search(r">\s*fermé\s*<", page)


def test_a_round_and_a_shipment_are_said_in_their_own_gender(client, settings):
    people = everyone()
    planting = placed(people).plantings.get()
    census_round = factories.census_round(planting, 1)
    factories.observe(census_round, dict.fromkeys(factories.trees(planting, count=1), "A"))
    shipment = factories.shipment(
        actor=people["lead"], receiver=planting.site.partner, lots=[(factories.stock_lot(actor=people["lead"], plants=60), "bareroot", 10)],
        dispatched_on=factories.day(2019, 4, 3), received_on=factories.day(2019, 4, 5),
    )  # fmt: skip
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = "fr"
    for who, address, word in (
        ("volunteer", reverse("round_detail", args=[census_round.pk]), "complète"),
        ("landowner", reverse("shipment_list") + f"?text={shipment.code}", "reçu"),
    ):
        client.force_login(people[who])
        assert re.search(rf">\s*{word}\s*<", client.get(address).content.decode()), who


def test_a_volunteer_counts_only_their_own_plantings_of_a_site(client):
    people = everyone()
    site = placed(people)
    factories.planting(site=site)
    for who, count in (("volunteer", 1), ("landowner", 2)):
        client.force_login(people[who])
        [row] = client.get(reverse("site_list")).context["rows"]
        assert row.cells[5][0] == count, who


def test_contacts_are_shown_to_those_who_may_keep_them(client):
    people = everyone()
    site = placed(people)
    site.partner.contact_name, site.partner.phone = "R. Weaver", "555 0199"
    site.partner.save()
    people["volunteer"].phone = "555 0142"
    people["volunteer"].save()
    expected = {"coordinator": (True, True), "auditor": (True, False), "landowner": (True, False)}
    expected |= {"volunteer": (False, False), "manager": (False, False)}
    for who, (partner, crew) in expected.items():
        client.force_login(people[who])
        page = client.get(reverse("site_detail", args=[site.pk])).content.decode()
        assert ("555 0199" in page, "555 0142" in page) == (partner, crew), who


def test_a_site_is_added_with_its_jurisdiction(client):
    client.force_login(factories.person("coordinator"))
    values = {"code": "ST-09", "name": "Ridge", "partner": factories.partner().pk, "status": "active"}
    values |= {"longitude": "-73.2", "latitude": "44.48"}
    response = client.post(reverse("site_add"), values)
    site = Site.objects.get(code="ST-09")
    assert response.url == reverse("site_detail", args=[site.pk])
    assert site.jurisdiction == "US-VT"  # Burlington is in Vermont (ISO 3166-2)


def test_swapped_numbers_return_with_the_typed_values_and_advice(client):
    client.force_login(factories.person("coordinator"))
    values = {"code": "ST-09", "name": "Ridge", "partner": factories.partner().pk, "status": "active"}
    values |= {"longitude": "44.48", "latitude": "-173.2"}
    page = client.post(reverse("site_add"), values).content.decode()
    assert "Longitude and latitude may be swapped" in page
    assert 'value="44.48"' in page and 'value="Ridge"' in page
    assert not Site.objects.exists()


def test_an_uploaded_boundary_gives_the_area_of_the_site(client):
    site = factories.site(longitude=10.0005, latitude=45.0005)
    client.force_login(factories.person("coordinator"))
    ring = [[10, 45], [10.001, 45], [10.001, 45.001], [10, 45.001], [10, 45]]
    file = SimpleUploadedFile("plot.geojson", json.dumps({"type": "Polygon", "coordinates": [ring]}).encode())
    page = client.post(reverse("site_boundary", args=[site.pk]), {"file": file}, follow=True).content.decode()
    # From memory: at 45° a degree of latitude is 111.132 km long, one of longitude 78.847 km (WGS 84): 8,762 m².
    assert "Boundary saved: 0.88 ha" in page


def test_one_of_many_outlines_is_chosen_by_its_column(client):
    site = factories.site(longitude=10.0005, latitude=45.0005)
    client.force_login(factories.person("coordinator"))
    features = [
        {"type": "Feature", "properties": {"stand": name}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
        for name, ring in (
            ("North", [[10, 46], [10.001, 46], [10.001, 46.001], [10, 46]]),
            ("South", [[10, 45], [10.001, 45], [10.001, 45.001], [10, 45.001], [10, 45]]),
        )
    ]
    content = json.dumps({"type": "FeatureCollection", "features": features}).encode()
    url = reverse("site_boundary", args=[site.pk])

    def send(**given):
        return client.post(url, given | {"file": SimpleUploadedFile("stands.geojson", content)}, follow=True)

    assert (
        "No feature has 'East' in column 'stand'. It has: North, South."
        in send(column="stand", value="East").context["form"].errors["file"][0]
    )
    assert "has no column 'name'. Its columns: stand" in send(column="name", value="South").context["form"].errors["file"][0]
    assert "value" in send(column="stand").context["form"].errors
    assert "km from the point" in send(column="stand", value="North").context["form"].errors["is_meant"][0]
    page = send(column="stand", value=" south ").content.decode()
    assert "Boundary saved: 0.88 ha" in page and "Taken: 1 outline of 2, where stand is south." in page


def test_a_layer_is_withdrawn_from_its_list_with_a_reason(client):
    coordinator = factories.person("coordinator")
    client.force_login(coordinator)
    site = site_save(actor=coordinator, site=Site(code="ST-09", name="Ridge", partner=factories.partner(), longitude=-73.2, latitude=44.48))
    ring = [[-74, 44], [-73, 44], [-73, 45], [-74, 45], [-74, 44]]
    shape = {"type": "Polygon", "coordinates": [ring]}
    areas = {"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"iso": "CA-QC"}, "geometry": shape}]}
    file = SimpleUploadedFile("areas.geojson", json.dumps(areas).encode())
    page = client.post(
        reverse("boundary_add"),
        {"kind": "jurisdiction", "name": "Areas", "source": "invented", "code_column": "iso", "file": file},
        follow=True,
    )
    assert "Place changed: ST-09 (CA-QC)." in page.content.decode()
    url = reverse("boundary_withdraw", args=[BoundaryLayer.objects.get().pk])
    assert f'href="{url}"' in page.content.decode()
    assert "reason" in client.post(url, {"reason": ""}).context["form"].errors
    page = client.post(url, {"reason": "drawn wrongly"}, follow=True)
    assert "Place changed: ST-09 (US-VT)." in page.content.decode()
    site.refresh_from_db()
    assert site.jurisdiction == "US-VT" and not BoundaryLayer.objects.exists()


def test_a_bad_boundary_file_is_refused_at_its_field(client):
    site = factories.site()
    client.force_login(factories.person("coordinator"))
    response = client.post(reverse("site_boundary", args=[site.pk]), {"file": SimpleUploadedFile("a.txt", b"words")})
    assert "a.txt is not a boundary file" in response.context["form"].errors["file"][0]


@pytest.mark.parametrize("name", SITE_TEXTS)
def test_changed_english_asks_whether_the_french_still_says_the_same(client, name):
    client.force_login(factories.person("coordinator"))
    site = factories.site(**{name: "Old well.", f"{name}_fr": "Vieux puits."})
    address = reverse("site_edit", args=[site.pk])
    form = client.get(address).context["form"]
    values = {bound.html_name: bound.value() for bound in form if bound.value() is not None} | {name: "Old well, now open."}
    asked = client.post(address, values).context["form"].errors
    assert list(asked) == [f"{name}_fr"] and "tick that it says the same" in asked[f"{name}_fr"][0]
    assert client.post(address, values | {"is_compared": "on"}).status_code == 302
    site.refresh_from_db()
    assert (getattr(site, name), getattr(site, f"{name}_fr")) == ("Old well, now open.", "Vieux puits.")
    # without the English a page in English would leave the French out
    refused = client.post(address, values | {name: "", "is_compared": "on"}).context["form"].errors
    assert list(refused) == [name] and "Write it in English too" in refused[name][0]


def test_access_notes_are_in_the_reader_s_language_or_marked(client, settings):
    people = everyone()
    site = placed(people)
    address = reverse("site_detail", args=[site.pk])
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = "fr"
    for who in ("volunteer", "landowner"):
        client.force_login(people[who])
        page = client.get(address).content.decode()
        assert "Barrière au nord." in page and "north road" not in page
    Site.objects.update(access_notes_fr="")
    assert '<em>En anglais\N{NO-BREAK SPACE}:</em> <span lang="en">Gate on the north road.</span>' in client.get(address).content.decode()
    client.force_login(people["coordinator"])
    office = client.get(address).content.decode()  # in English, whatever was chosen
    assert "Gate on the north road." in office and "En anglais" not in office
    assert "Not on file in French" in office and "access, cautions" in office
