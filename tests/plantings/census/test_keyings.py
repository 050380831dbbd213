"""A page of the field form keyed twice: blind, compared cell by cell, settled by a person."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from plantings.models import KeyingSettlement, Observation, PageKeying, SurvivalTally
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.overview.today import today_lines
from plantings.services.census.observations import CensusRow
from plantings.services.field_form.keyings import second_keying_store
from plantings.services.field_form.pages import form_pages_store
from registry.selectors.audit.verify import verify_book
from tests import factories

pytestmark = pytest.mark.django_db
KEYED = [("A", "", "142.5"), ("D", "deer", ""), ("A", "", "95")]


@pytest.fixture
def here():
    """(round, three trees, their page, two people of the office)."""
    planting = factories.planting()
    trees = factories.trees(planting, count=3)
    census_round = factories.census_round(planting)
    one, two = factories.person("coordinator"), factories.person("lead")
    [page] = form_pages_store(actor=one, census_round=census_round, pages=[[tree.pk for tree in trees]])
    return census_round, trees, page, one, two


def key(client, person, page, rows, day=None, asks=None, **more):
    client.force_login(person)
    data = {"observed_on": str(day or page.round.opens_on), "observer": "Reed"} | more
    for tree, (status, cause, height) in zip(page.trees, rows, strict=True):
        box = f"t{tree}-"
        data |= {f"{box}uuid": str(uuid4()), f"{box}status": status, f"{box}cause": cause, f"{box}height_cm": height}
    return client.post(reverse("formpage_key", args=[page.pk], query=asks), data, follow=True)


def test_the_second_person_sees_nothing_of_the_first_and_stores_no_record(here, client):
    census_round, trees, page, one, two = here
    key(client, one, page, KEYED)
    before = list(SurvivalTally.objects.values_list("alive", "dead"))
    client.force_login(two)
    shown = client.get(reverse("formpage_key", args=[page.pk]))
    assert all(row["fields"] and not row["records"] and not row["looks"] for row in shown.context["rows"])
    assert "142.5" not in shown.content.decode() and "Key the whole page again" in shown.content.decode()
    answer = key(client, two, page, [("A", "", "124"), ("D", "deer", ""), ("A", "", "95")])
    assert "1 cell differs from the first keying" in answer.content.decode()
    assert Observation.objects.count() == 3 and list(SurvivalTally.objects.values_list("alive", "dead")) == before
    assert [(keying.number, keying.differing) for keying in PageKeying.objects.all()] == [(1, 0), (2, 1)]
    assert recount_differences()[1] == [] and [fault for check in verify_book() for fault in check.faults] == []


def test_two_keyings_that_agree_leave_nothing_to_settle(here, client):
    census_round, _trees, page, one, two = here
    key(client, one, page, KEYED)
    assert "Both keyings agree." in key(client, two, page, KEYED).content.decode()
    client.force_login(two)
    assert "keyed twice" not in client.get(reverse("round_detail", args=[census_round.pk])).content.decode()


def test_a_tree_from_a_phone_that_is_blank_on_the_page_does_not_differ(here, client):
    census_round, trees, page, one, two = here
    factories.observe(census_round, {trees[0]: "A"}, actor=one, height_cm=142.5, note="leaning [phone clock: 2031-01-01]")
    key(client, one, page, [("", "", ""), *KEYED[1:]])
    assert "Both keyings agree." in key(client, two, page, [("", "", ""), *KEYED[1:]]).content.decode()


def test_what_the_page_says_of_a_tree_from_a_phone_is_compared(here, client):
    census_round, trees, page, one, two = here
    factories.observe(census_round, {trees[0]: "A"}, actor=one, height_cm=142.5, note="[phone clock: 2031-01-01]")
    key(client, one, page, [("", "", ""), *KEYED[1:]])
    assert "1 cell differs" in key(client, two, page, [("A", "", "124"), *KEYED[1:]]).content.decode()


def test_a_row_that_the_second_person_left_out_differs(here, client):
    _round, _trees, page, one, two = here
    key(client, one, page, KEYED)
    assert "2 cells differ" in key(client, two, page, [("", "", ""), *KEYED[1:]]).content.decode()


def test_differences_are_settled_by_choosing_or_typing(here, client):
    census_round, trees, page, one, two = here
    key(client, one, page, KEYED)
    key(client, two, page, [("A", "", "124"), ("A", "", "60"), ("A", "", "59")])
    keying = PageKeying.objects.get(number=2)
    assert [line.text for line in today_lines(one, timezone.localdate()) if "1 page keyed twice to settle" in line.text]
    shown = client.get(reverse("round_detail", args=[census_round.pk])).content.decode()
    assert "1 page keyed twice differs" in shown
    url = reverse("pagekeying_settle", args=[keying.pk])
    assert "5 differences to settle; 2 the same" in client.get(url).content.decode()
    choices = {f"c{trees[0].pk}-height_cm": "first", f"c{trees[1].pk}-status": "second", f"c{trees[1].pk}-cause": "second"}
    choices |= {f"c{trees[1].pk}-height_cm": "second", f"c{trees[2].pk}-height_cm": "other", f"t{trees[2].pk}-height_cm": "9x5"}
    refused = client.post(url, choices).content.decode()
    assert "9x5" in refused and not KeyingSettlement.objects.exists()  # what was typed is still there
    answer = client.post(url, choices | {f"t{trees[2].pk}-height_cm": "96"}, follow=True).content.decode()
    assert "2 records corrected" in answer and "keyed twice differs" not in answer
    now = {record.tree_id: (record.status, record.cause, record.height_cm) for record in Observation.objects.current()}
    assert [now[tree.pk] for tree in trees] == [("A", "", 142.5), ("A", "", 60), ("A", "", 96)]
    corrected = Observation.objects.current().get(tree=trees[2])
    assert corrected.supersedes.height_cm == 95 and page.code in corrected.reason and corrected.entered_by == two
    settled = client.get(url)
    assert recount_differences()[1] == [] and "Settled on" in settled.content.decode()
    assert "The first column" not in settled.content.decode()
    lines = [(line["tag"], line["label"], line["second"], line["text"]) for line in settled.context["decided"]]
    assert lines == [
        (trees[0].tag, "Height cm", "124", "142.5"), (trees[1].tag, "Status", "A", "A"), (trees[1].tag, "Cause", "", ""),
        (trees[1].tag, "Height cm", "60", "60"), (trees[2].tag, "Height cm", "59", "96"),
    ]  # fmt: skip


def test_a_tree_that_only_the_second_person_keyed_is_a_new_record(here, client):
    _round, trees, page, one, two = here
    key(client, one, page, [KEYED[0], ("", "", ""), ("", "", "")])
    key(client, two, page, [("A", "", "124"), KEYED[1], ("", "", "")])
    keying = PageKeying.objects.get(number=2)
    choices = {f"c{trees[0].pk}-height_cm": "second", f"c{trees[1].pk}-status": "second", f"c{trees[1].pk}-cause": "second"}
    answer = client.post(reverse("pagekeying_settle", args=[keying.pk]), choices, follow=True).content.decode()
    assert "1 record corrected, 1 record added." in answer


def test_a_day_that_differs_is_settled_once_for_the_page(here, client):
    census_round, trees, page, one, two = here
    key(client, one, page, KEYED)
    other = census_round.opens_on.replace(day=census_round.opens_on.day + 1)
    key(client, two, page, KEYED, day=other)
    url = reverse("pagekeying_settle", args=[PageKeying.objects.get(number=2).pk])
    assert "Choose the day." in client.post(url, {}).content.decode()
    client.post(url, {"day": "second"})
    assert set(Observation.objects.current().values_list("observed_on", "height_cm")) == {(other, 142.5), (other, None), (other, 95)}


def test_who_keys_a_page_again_is_told_before_it_is_stored(here, client):
    _round, trees, page, one, _two = here
    key(client, one, page, KEYED)
    shown = client.get(reverse("formpage_key", args=[page.pk]))
    assert "You keyed this page on" in shown.content.decode() and not any(row["fields"] for row in shown.context["rows"])
    answer = key(client, one, page, KEYED)  # sent from a window that was open before
    assert "You have recorded this tree in this round before" in answer.content.decode()
    assert Observation.objects.count() == 3 and PageKeying.objects.count() == 1
    key(client, one, page, KEYED, asked=answer.context["asked"])
    assert Observation.objects.count() == 6


def test_another_person_may_key_only_the_trees_that_are_left(here, client):
    _round, trees, page, one, two = here
    key(client, one, page, [KEYED[0], ("", "", ""), ("", "", "")])
    client.force_login(two)
    shown = client.get(reverse("formpage_key", args=[page.pk]), {"rest": "1"})
    assert [bool(row["fields"]) for row in shown.context["rows"]] == [False, True, True]


@pytest.mark.parametrize(("recorded", "asks"), [(3, {}), (2, {"again": "1"})])
def test_a_page_whose_records_came_by_phone_is_compared_and_settled(here, client, recorded, asks):
    """All of them, or with ?again some of them; a tree without a record gets its first one when the page is settled."""
    census_round, trees, page, one, two = here
    crew = factories.person("volunteer", first_name="Mia", last_name="Walker")
    for tree, height in list(zip(trees, (142.5, 60, 95), strict=True))[:recorded]:
        factories.observe(census_round, {tree: "A"}, actor=crew, height_cm=height, observer="Mia Walker")
    client.force_login(two)
    address = reverse("formpage_key", args=[page.pk])
    assert ("?again=1" in client.get(address).content.decode()) == bool(asks)
    shown = client.get(address, asks)
    assert all(row["fields"] and not row["records"] for row in shown.context["rows"]) and "142.5" not in shown.content.decode()
    answer = key(client, two, page, [("A", "", "124"), ("", "", ""), ("A", "", "95")], asks=asks)
    keying = PageKeying.objects.get()
    assert (keying.number, keying.differing) == (2, 1 if recorded == 3 else 3)  # the tree left blank on the page came by phone
    assert "from the records on file; the office settles" in answer.content.decode() or "keyed the page on" in answer.content.decode()
    assert Observation.objects.count() == recorded
    url = reverse("pagekeying_settle", args=[keying.pk])
    settling = client.get(url)
    assert "The records of this page came by phone" in settling.content.decode()
    choices = {f"c{cell['key']}": "second" for tree in settling.context["trees"] for cell in tree["cells"]}
    client.post(url, choices)
    now = {record.tree_id: record.height_cm for record in Observation.objects.current()}
    assert [now[tree.pk] for tree in trees] == [124, 60, 95]
    assert "compared this page with the records on file" in client.get(address).content.decode()
    assert recount_differences()[1] == [] and [fault for check in verify_book() for fault in check.faults] == []


def test_nobody_compares_a_page_with_records_of_their_own(here, client):
    census_round, trees, page, one, _two = here
    crew = factories.person("volunteer", first_name="Mia", last_name="Walker")
    census_round.planting.crew.add(crew)
    factories.observe(census_round, dict.fromkeys(trees, "A"), actor=one, observer="M. Walker")
    for person, boxes in ((crew, False), (one, True)):  # whoever only loaded the sheet did not look
        client.force_login(person)
        shown = client.get(reverse("formpage_key", args=[page.pk]), {"again": "1"})
        assert [bool(row["fields"]) for row in shown.context["rows"]] == [boxes] * 3
    row = CensusRow(census_round.pk, trees[0].pk, status="A", observed_on=census_round.opens_on)
    with pytest.raises(ValidationError, match="cannot be keyed a second time by you"):
        second_keying_store(actor=crew, page=page, rows=[row], observed_on=census_round.opens_on)
