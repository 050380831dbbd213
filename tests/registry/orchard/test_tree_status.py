"""The status history of a tree, and which trees were alive on a day."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.urls import reverse

from registry.imports.kinds import PedigreeTreeSheet
from registry.imports.sheets.plan import SheetRefused
from registry.models import AuditEntry, TreeStatusRecord
from registry.selectors.orchard.floors import floor_warnings
from registry.selectors.orchard.orchard import trees_standing_on, trees_unknown_on
from registry.services.orchard.tree_status import tree_status_set
from tests import factories

pytestmark = pytest.mark.django_db

MARCH, MAY = datetime.date(2020, 3, 1), datetime.date(2020, 5, 1)


def tree(code="KW-1", **fields):
    return factories.pedigree_tree(**{"code": code, "orchard": "Mill Brook", "block": "A", "planted_year": 2009} | fields)


def step(tree, status, on, reason="seen", **fields):
    return tree_status_set(actor=factories.person("manager"), tree=tree, status=status, on=on, reason=reason, **fields)


def standing(day, block="A"):
    return [tree.code for tree in trees_standing_on("mill brook", block, day)]


def test_a_status_step_is_stored_on_the_tree_and_audited():
    one = tree()
    record = step(one, "rogued", MARCH, "rated 4.5", stump_treated=False)
    assert (one.status, one.status_on, one.status_reason) == ("rogued", MARCH, "rated 4.5")
    assert (record.stump_treated, record.entered_by.role) == (False, "manager")
    verbs = AuditEntry.objects.exclude(verb="person.added").order_by("id").values_list("verb", flat=True)
    assert list(verbs) == ["treestatusrecord.added", "pedigreetree.changed"]


def test_steps_cannot_be_changed_or_deleted():
    record = step(tree(), "dead", MARCH)
    for write in (lambda: TreeStatusRecord.objects.update(reason="x"), lambda: TreeStatusRecord.objects.filter(pk=record.pk).delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            write()


def test_a_later_step_of_the_same_day_corrects_a_mistake():
    one = tree()
    step(one, "rogued", MARCH)
    assert standing(MAY) == []
    step(one, "standing", MARCH, "the neighbour was meant")
    assert (one.status, one.status_reason, standing(MAY)) == ("standing", "the neighbour was meant", ["KW-1"])
    assert list(one.status_history.values_list("status", flat=True)) == ["rogued", "standing"]


def test_a_step_before_the_last_does_not_change_the_tree():
    one = tree()
    step(one, "dead", MAY, "dead of canker")
    step(one, "rogued", MARCH, "the older paper was found")
    assert (one.status, one.status_on) == ("dead", MAY)
    assert AuditEntry.objects.filter(verb="pedigreetree.changed").count() == 1


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"reason": "  "}, "status_reason"),
        ({"on": datetime.date(2008, 1, 1)}, "status_on"),
        ({"status": "dead", "stump_treated": True}, "stump_treated"),
    ],
)
def test_impossible_values_are_refused_at_their_field(fields, field):
    one = tree()
    with pytest.raises(ValidationError) as refused:
        step(one, **{"status": "rogued", "on": MARCH} | fields)
    assert list(refused.value.message_dict) == [field]
    assert not TreeStatusRecord.objects.exists()


def test_trees_stand_until_the_day_they_go():
    first, second = tree("KW-1"), tree("KW-2", block="B")
    tree("KW-3", planted_year=2021)
    step(first, "rogued", MARCH)
    assert standing(MARCH - datetime.timedelta(days=1)) == ["KW-1"]
    assert standing(MARCH) == []
    assert standing(MAY, block="") == ["KW-2"]
    assert standing(datetime.date(2022, 1, 1)) == ["KW-3"]
    assert second.status == "standing"


def test_a_tree_gone_since_an_unknown_day_is_listed_as_such():
    one = tree()
    step(one, "dead", None, "found dead, nobody knows when")
    assert standing(MARCH) == []
    assert [found.code for found in trees_unknown_on("Mill Brook", "A", MARCH)] == ["KW-1"]
    step(one, "dead", MAY, "the day was found in the diary")
    assert standing(MARCH) == ["KW-1"]
    assert not trees_unknown_on("Mill Brook", "A", MARCH).exists()


def test_an_undated_step_counts_as_unknown_until_the_next_step():
    one = tree()
    step(one, "dead", None)
    step(one, "standing", MAY, "it sprouted from the stump")
    assert (standing(MARCH), standing(MAY)) == ([], ["KW-1"])
    assert trees_unknown_on("Mill Brook", "A", MARCH).exists()


def test_the_status_page_writes_history_with_the_stump(client):
    client.force_login(factories.person("manager"))
    one = tree()
    data = {"status": "rogued", "status_on": "2020-03-01", "status_reason": "rated 4.5", "stump_treated": "false"}
    assert client.post(reverse("pedigreetree_status", args=[one.pk]), data | {"confirmed": "on"}).status_code == 302
    record = one.status_history.get()
    assert (record.status, record.on, record.reason, record.stump_treated) == ("rogued", MARCH, "rated 4.5", False)


def test_roguing_without_a_decision_shows_the_broken_floors_first(client):
    client.force_login(factories.person("manager"))
    one = tree(backcrosses=3, intercrosses=1, recurrent_line="L1", source_of_resistance="S1")
    factories.decision(one, "kept")
    data = {"status": "rogued", "status_on": "2020-03-01", "status_reason": "cut by mistake", "stump_treated": "false"}
    address = reverse("pedigreetree_status", args=[one.pk])
    page = client.post(address, data)
    text = page.content.decode()
    assert "Nobody has decided to rogue this tree" in text and "The last decision, of 1 Jun 2019, is “kept”." in text
    [floor, *_] = floor_warnings(one)
    assert floor in text and 'value="cut by mistake"' in text
    assert not one.status_history.exists()
    assert client.post(address, data | {"confirmed": "on"}).status_code == 302
    assert (one.status_history.get().reason, one.status_history.get().stump_treated) == ("cut by mistake", False)


def test_a_tree_decided_to_be_rogued_is_stored_in_one_step(client):
    client.force_login(factories.person("manager"))
    one = tree()
    factories.decision(one, "rogued")
    data = {"status": "rogued", "status_on": "2020-03-01", "status_reason": "rated 4.5", "stump_treated": "true"}
    assert client.post(reverse("pedigreetree_status", args=[one.pk]), data).status_code == 302


def test_the_status_page_takes_a_day_for_one_that_was_unknown(client):
    client.force_login(factories.person("manager"))
    one = tree()
    step(one, "dead", None)
    data = {"status": "dead", "status_on": "2020-05-01", "status_reason": "the diary"}
    assert client.post(reverse("pedigreetree_status", args=[one.pk]), data).status_code == 302
    assert one.status_history.count() == 2


def load(**cells):
    """One row of the sheet of trees, stored."""
    import tablib

    cells = {"Tree": "KW-1", "Binomial": "Juglans cinerea", "Generation": "native"} | cells
    sheet = PedigreeTreeSheet()
    plan = sheet.plan(tablib.Dataset(list(cells.values()), headers=list(cells)))
    sheet.store(plan, factories.person("manager"), "from the notes")


def test_the_sheet_of_trees_writes_history_too():
    factories.taxon(name="Juglans cinerea")
    load(Status="standing")
    assert not TreeStatusRecord.objects.exists()
    load(**{"Status": "rogued", "Status since": "2020-03-01", "Reason for status": "rated 4.5"})
    load(**{"Status": "rogued", "Status since": "2020-03-01", "Reason for status": "rated 4.5"})
    record = TreeStatusRecord.objects.get()
    assert (record.tree.code, record.status, record.on, record.reason) == ("KW-1", "rogued", MARCH, "rated 4.5")
    assert record.tree.status == "rogued"


def test_a_sheet_with_an_older_status_is_refused():
    factories.taxon(name="Juglans cinerea")
    load(**{"Status": "dead", "Status since": "2020-05-01", "Reason for status": "canker"})
    with pytest.raises(SheetRefused) as refused:
        load(**{"Status": "rogued", "Status since": "2020-03-01", "Reason for status": "rated 4.5"})
    assert "There is a later step on record: dead on 1 May 2020." in str(refused.value.plan.problems[0])
    assert TreeStatusRecord.objects.count() == 1
