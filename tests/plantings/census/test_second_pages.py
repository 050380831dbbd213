"""The pages of a second measurement: drawing, measuring without seeing, the form to print, the result, the sheet."""

import datetime
import json

import pytest
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from plantings.imports.second import SecondSheet
from plantings.models import FormPage, SecondDraw, SecondMeasurement
from plantings.selectors.census.second import draw_lines
from plantings.services.census.observations import CensusRow
from plantings.services.census.second import second_draw_make, second_measurements_record
from plantings.services.field_form.pages import form_pages_store
from registry.imports.sheets.formats import write_rows
from tests import factories
from tests.plantings.census.phone_batches import sent
from tests.prints.reading import page_texts
from tests.project.access_table import routes
from tests.registry.sheets.sheet_help import load, refused

pytestmark = pytest.mark.django_db
FIRST, SECOND = "Una Counter", "Bea Again"
NOTE = "leaning to the brook"


@pytest.fixture
def here(client):
    """Eight trees at unusual heights, four of them drawn for a volunteer of the crew, who is signed in."""
    first, second = (factories.person("volunteer", first_name=name.split()[0], last_name=name.split()[1]) for name in (FIRST, SECOND))
    planting = factories.planting(crew=[first, second])
    trees = factories.trees(planting, count=8)
    census_round = factories.census_round(planting)
    for number, tree in enumerate(trees):
        factories.observe(census_round, {tree: "A"}, actor=first, observer=FIRST, height_cm=73.8437 + number, note=f"{NOTE} {number}")
    draw = second_draw_make(actor=factories.person(), census_round=census_round, count=4, measurer=second)
    form_pages_store(actor=first, census_round=census_round, pages=[[tree.pk for tree in trees]])
    client.force_login(second)
    return draw, second


def typed(draw, **cells):
    """What the grid sends: the same cells for each drawn tree."""
    data = {"observed_on": draw.round.opens_on.isoformat(), "observer": SECOND}
    for line in draw_lines(draw):
        data[f"t{line.tree.pk}-uuid"] = f"00000000-0000-4000-8000-{line.tree.pk:012d}"
        data |= {f"t{line.tree.pk}-{name}": value for name, value in cells.items()}
    return data


def at(name, draw):
    return reverse(name, args=[draw.pk])


def addresses(draw, tree):
    """Every page there is of the round, its planting, the draw and a drawn tree."""
    keys = {"round": draw.round_id, "census": draw.round_id, "field": draw.round_id, "tree": tree.pk, "planting": draw.round.planting_id}
    keys |= {"site": draw.round.planting.site_id, "seconddraw": draw.pk, "phone": draw.round_id, "observation": tree.observations.get().pk}
    keys |= {"formpage": FormPage.objects.get().pk, "formscan": draw.round_id, "selfsown": draw.round_id}
    for name, pattern, _view in routes():
        if name and ("<" not in pattern or name.split("_")[0] in keys):
            for args in ([keys.get(name.split("_")[0], 0)], [draw.round_id, tree.pk], []):
                try:
                    yield reverse(name, args=args)
                    break
                except NoReverseMatch:
                    continue


def test_no_page_shows_a_first_value_to_the_second_person(client, here):
    draw, _second = here
    drawn = [line.first for line in draw_lines(draw)]
    secrets = [text for record in drawn for text in (f"{record.height_cm:g}", record.note)]
    seen, fetched = [], 0
    for address in addresses(draw, drawn[0].tree):
        for query in ({}, {"download": "csv"}):
            answer = client.get(address, query, follow=True)
            fetched += answer.status_code == 200
            content = b"".join(answer.streaming_content) if answer.streaming else answer.content
            seen += [(address, secret) for secret in secrets if secret.encode() in content]
    assert seen == [] and fetched > 30
    assert client.get(reverse("tree_detail", args=[drawn[0].tree_id])).status_code == 404
    assert client.get(reverse("observation_correct", args=[drawn[0].pk])).status_code == 404


def test_the_grid_takes_the_second_values_and_the_draw_then_opens(client, here):
    draw, _second = here
    page = client.get(at("seconddraw_enter", draw))
    assert page.context["grid"].head["observer"].value() == SECOND and len(page.context["rows"]) == 4
    answer = client.post(at("seconddraw_enter", draw), typed(draw, status="a", height_cm="75"), follow=True)
    assert "Records of 4 trees saved." in answer.content.decode()
    assert SecondMeasurement.objects.count() == 4
    again = client.post(at("seconddraw_enter", draw), typed(draw, status="a", height_cm="75"), follow=True)
    assert "4 trees were saved before" in again.content.decode() and SecondMeasurement.objects.count() == 4
    other = client.post(at("seconddraw_enter", draw), typed(draw, status="a", height_cm="79"))
    assert "This was stored before" in other.content.decode()
    page = client.get(at("seconddraw_detail", draw))
    text = " ".join(page.content.decode().split())
    assert "What this says, and what it does not" in text and "within 5 cm or 5 %" in text
    assert client.get(reverse("tree_detail", args=[draw_lines(draw)[0].tree.pk])).status_code == 200


def test_the_phone_takes_the_second_values_and_no_first_one(client, here):
    draw, second = here
    data = client.get(at("seconddraw_phone_data", draw)).json()
    drawn = {line.tree.pk: line.first for line in draw_lines(draw)}
    assert [tree[0] for tree in data["trees"]] == list(drawn) and (data["last"], data["plots"]) == ({}, [])
    text = json.dumps(data)
    assert [record for record in drawn.values() if f"{record.height_cm:g}" in text or record.note in text] == []

    def post(records):
        batch = {"version": data["version"], "clock": data["now"], "records": records}
        answer = client.post(at("seconddraw_phone_data", draw), json.dumps(batch), content_type="application/json")
        return [one["result"] for one in answer.json()["answers"]]

    trees = [line.tree for line in draw_lines(draw)]
    said = {"observer": SECOND, "at": timezone.now(), "values": {"height_cm": 75}}
    stranger = draw.round.planting.trees.exclude(pk__in=drawn).first()
    records = [sent(tree, **said) for tree in trees]
    assert post([sent(trees[0], **said | {"observer": FIRST}), sent(stranger, **said)]) == ["refused", "refused"]
    assert post(records[:3]) == ["stored"] * 3
    assert post([*records[:3], records[0] | {"values": {"height_cm": 57}}]) == ["known"] * 3 + ["refused"]
    again = sent(trees[0], **said | {"values": {"height_cm": 77}}, corrects=records[0]["uuid"])
    assert (post([again]), post([again]), post([sent(trees[1], **said)])) == (["stored"], ["known"], ["refused"])
    assert client.get(at("seconddraw_phone_data", draw)).json()["settled"] == [tree.pk for tree in trees[:3]]
    assert post([sent(trees[3], "NV", **said | {"values": {}})]) == ["stored"]
    assert post([sent(trees[0], **said, corrects=again["uuid"])]) == ["refused"]  # all are handed in
    standing = SecondMeasurement.objects.current().order_by("drawn__tree__walk_number")
    assert [(record.status, record.values.get("height_cm")) for record in standing] == [("A", 77), ("A", 75), ("A", 75), ("NV", None)]
    assert {record.entered_by for record in standing} == {second} and draw.round.observations.count() == 8


def test_a_wrong_second_value_is_named_and_nothing_typed_is_lost(client, here):
    draw, _second = here
    answer = client.post(at("seconddraw_enter", draw), typed(draw, status="a", height_cm="tall") | {"observer": FIRST})
    text = answer.content.decode()
    assert "is not a number" in text and 'value="tall"' in text
    answer = client.post(at("seconddraw_enter", draw), typed(draw, status="a") | {"observer": FIRST})
    assert "cannot measure it again" in answer.content.decode() and not SecondMeasurement.objects.exists()


def test_the_printed_form_has_the_drawn_trees_and_no_earlier_value(client, here):
    draw, _second = here
    answer = client.post(at("seconddraw_form", draw), {"page": "letter"})
    text = " ".join(page_texts(answer.content))
    drawn = [line.tree.tag for line in draw_lines(draw)]
    assert all(tag in text for tag in drawn) and ".8437" not in text
    assert [tag for tag in draw.candidates if tag in text] == drawn


def test_the_form_of_drawn_trees_is_in_the_language_of_the_crew(client, here):
    draw, _second = here
    draw.round.planting.crew.update(language="fr")
    client.force_login(factories.person())
    assert client.get(at("seconddraw_form", draw)).context["form"].initial == {"language": "fr"}
    for data, title in (({}, "Seconde mesure"), ({"language": "en"}, "Second measurement")):
        assert title in " ".join(page_texts(client.post(at("seconddraw_form", draw), {"page": "letter"} | data).content))


def test_the_lead_draws_on_the_page_and_sees_no_value_before_the_end(client, here):
    draw, _second = here
    client.force_login(factories.person())
    page = client.get(reverse("seconddraw_add", args=[draw.round_id]))
    assert page.status_code == 200
    answer = client.post(reverse("seconddraw_add", args=[draw.round_id]), {"measured_by": "C. Third", "percent": "50"}, follow=True)
    assert "Sample of 2 trees drawn for C. Third." in answer.content.decode() and SecondDraw.objects.count() == 2
    assert NOTE not in answer.content.decode() and ".8437" not in answer.content.decode()
    nobody = client.post(reverse("seconddraw_add", args=[draw.round_id]), {"percent": "50"})
    assert "Say who measures the trees again." in nobody.content.decode()
    trees = client.get(at("seconddraw_trees", draw)).content.decode()
    assert trees.count("yes") == 4 and trees.count("\n") == 9


def test_a_correction_on_the_page_keeps_the_earlier_record(client, here):
    draw, second = here
    line = draw_lines(draw)[0]
    row = CensusRow(draw.round_id, line.tree.pk, status="A", observer=SECOND, observed_on=draw.round.opens_on, height_cm=90)
    second_measurements_record(actor=second, draw=draw, rows=[row])
    record = SecondMeasurement.objects.get()
    page = client.get(reverse("secondmeasurement_correct", args=[record.pk]))
    assert "diameter_at_cm" not in page.context["form"].fields
    data = {"status": "A", "height_cm": "95", "observed_on": "2019-09-01", "observer": SECOND, "reason": "one digit lost"}
    assert client.post(reverse("secondmeasurement_correct", args=[record.pk]), data).status_code == 302
    newer = SecondMeasurement.objects.current().get()
    assert (newer.values, newer.reason, newer.supersedes) == ({"height_cm": 95.0}, "one digit lost", record)


def test_the_sheet_is_loaded_and_comes_back_the_same(client, here):
    draw, second = here
    heads = ["Planting", "Season", "Draw", "Tag", "Status", "Observed on", "Height (cm)", "Observer", "Diameter taken at (cm above ground)"]
    on = (draw.round.opens_on + datetime.timedelta(days=1)).isoformat()
    place = [draw.round.planting.code, draw.round.label, 1]
    rows = [[*place, line.tree.tag, "A", on, 70, SECOND, ""] for line in draw_lines(draw)]
    stranger = [*place, "NONE", "A", on, 70, SECOND, ""]
    [problem] = refused(SecondSheet, csv(heads, [*rows, stranger]))
    assert "This tree is not among the drawn ones." in problem
    [problem] = refused(SecondSheet, csv(heads, [[*rows[0][:-1], 2.5]]))
    assert "this round does not ask for it" in problem
    [problem] = refused(SecondSheet, csv(heads, [[*rows[0][:-2], FIRST, ""]]))
    assert "cannot measure it again" in problem
    load(SecondSheet, csv(heads, rows))
    assert {record.values["height_cm"] for record in SecondMeasurement.objects.all()} == {70}
    client.force_login(factories.person())
    out = client.get(reverse("round_second", args=[draw.round_id]), {"download": "csv"}).content.decode("utf-8-sig")
    assert out.count(SECOND) == 4
    assert load(SecondSheet, out).counts["unchanged"] == 4
    load(SecondSheet, csv(heads, [[*rows[0][:6], 71, SECOND, ""]]), reason="read again")
    assert SecondMeasurement.objects.current().filter(values__height_cm=71).count() == 1


def csv(heads, rows):
    return write_rows(heads, rows, "csv").decode("utf-8-sig")
