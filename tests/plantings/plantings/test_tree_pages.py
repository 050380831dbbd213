"""The page of a tree, and what is done to a tree: corrected, re-tagged, replaced, moved."""

import pytest
from django.urls import reverse

from plantings.calc.census.fate import Status, fate_history
from plantings.models import Observation, SurvivalTally, Tree
from plantings.selectors.plantings.trees import fate_reason
from plantings.services.tree_lists.retags import tree_retag
from tests import factories

pytestmark = pytest.mark.django_db


def signed_in(client, role="coordinator"):
    person = factories.person(role)
    client.force_login(person)
    return person


def grown(actor):
    """A tree raised from a seed lot of a known mother."""
    mother = factories.pedigree_tree(code="KW-03", backcrosses=3, intercrosses=1)
    seed = factories.seed_lot(actor=actor, mother=mother, code="S18-KW-03", seeds=50)
    lot = factories.stock_lot(actor=actor, code="P19-KW-03", origin="sown", outside_origin="", parent=seed, plants=20)
    owner = factories.partner()
    factories.shipment(
        actor=actor, receiver=owner, code="SH-7", lots=[(lot, "bareroot", 12)], dispatched_on=factories.day(2019, 4, 1),
        received_on=factories.day(2019, 4, 3),
    )  # fmt: skip
    planting = factories.planting(site=factories.site(partner=owner), supply="shipment")
    return planting, factories.trees(planting, lot, 3, actor=actor)


def page_of(client, tree):
    response = client.get(reverse("tree_detail", args=[tree.pk]))
    assert response.status_code == 200
    return response


def test_the_chain_runs_from_the_mother_to_the_tree(client):
    actor = signed_in(client)
    _planting, trees = grown(actor)
    chain = page_of(client, trees[0]).context["chain"]
    assert [(step["label"], step["code"]) for step in chain] == [
        ("mother tree", "KW-03"), ("seed lot", "S18-KW-03"), ("stock lot", "P19-KW-03"), ("shipment", "SH-7"),
        ("planting", trees[0].planting.code), ("tree", trees[0].tag),
    ]  # fmt: skip


def test_a_life_is_drawn_with_its_fates_heights_and_tags(client):
    actor = signed_in(client)
    planting, [tree, other, *_] = grown(actor)
    first, second, *later = (factories.census_round(planting, season) for season in (1, 2, 3, 4))
    factories.observe(first, {tree: "A"}, actor=actor, height_cm=60)
    for census_round, height in zip((second, *later), (25, 40, 52), strict=True):
        factories.observe(census_round, {tree: "AR"}, actor=actor, height_cm=height)
    tree_retag(actor=actor, tree=tree, tag="NEW-1", reason="lost", on=second.opens_on)
    page = page_of(client, tree)
    [life] = [part["life"] for part in page.context["parts"] if "life" in part]
    assert [fate for _x, fate, _label in life.glyphs] == ["alive", *["resprout"] * 3]
    assert ([cm for _x, _y, cm, _label in life.dots], [len(line) for line in life.lines], len(life.tags)) == ([60, 25, 40, 52], [2], 1)
    text = page.content.decode()
    assert text.count('class="steps-dot"') == 4 and f"{second.label}: alive by resprout" in text
    assert "Its life so far" in page_of(client, other).content.decode()  # rounds of others in its planting: not visited


def test_a_corrected_record_is_struck_with_its_reason(client):
    actor = signed_in(client)
    planting, trees = grown(actor)
    factories.observe(factories.census_round(planting, 1), {trees[0]: "A"}, actor=actor, height_cm=69.0)
    factories.observe(factories.census_round(planting, 2), {trees[0]: "D"}, actor=actor)
    first = Observation.objects.get(status="A")
    url = reverse("observation_correct", args=[first.pk])
    values = correction(client, url) | {"height_cm": "96", "reason": "The sheet says 96."}
    assert client.post(url, values).url == reverse("tree_detail", args=[trees[0].pk])
    page = page_of(client, trees[0]).content.decode()
    assert "<del>" in page and "Corrected by a later record. Reason: The sheet says 96." in page
    records = page[page.index('class="records"') :]
    assert records.index("Dead") < records.index("96 cm") < records.index("69 cm")
    first.refresh_from_db()
    assert (first.height_cm, first.superseded_by.height_cm, first.superseded_by.entered_by) == (69, 96, actor)


def correction(client, url):
    form = client.get(url).context["form"]
    values = {name: form[name].value() for name in form.fields}
    return {name: "" if value is None else value for name, value in values.items()} | {"observed_on": str(values["observed_on"])}


def test_a_correction_needs_a_change_and_a_reason(client):
    actor = signed_in(client)
    planting, trees = grown(actor)
    factories.observe(factories.census_round(planting), {trees[0]: "A"}, actor=actor, height_cm=42.5, canker_class=1)
    url = reverse("observation_correct", args=[Observation.objects.get().pk])
    values = correction(client, url)
    assert (values["status"], values["height_cm"], values["canker_class"]) == ("A", "42.5", 1)
    assert "Nothing differs from the record" in client.post(url, values | {"reason": "typing"}).content.decode()
    unreasoned = client.post(url, values | {"status": "AR"}).context["form"]
    assert list(unreasoned.errors) == ["reason"]
    assert Observation.objects.count() == 1


def test_a_correction_that_breaks_a_rule_comes_back_at_its_field(client):
    actor = signed_in(client)
    planting, trees = grown(actor)
    factories.observe(factories.census_round(planting), {trees[0]: "A"}, actor=actor, height_cm=42.0)
    url = reverse("observation_correct", args=[Observation.objects.get().pk])
    response = client.post(url, correction(client, url) | {"status": "NF", "reason": "nobody there"})
    assert "cannot have a measurement" in response.context["form"].errors["height_cm"][0]
    assert 'value="42"' in response.content.decode()


def test_a_record_is_corrected_once_and_then_its_correction_is(client):
    actor = signed_in(client)
    planting, trees = grown(actor)
    factories.observe(factories.census_round(planting), {trees[0]: "A"}, actor=actor)
    url = reverse("observation_correct", args=[Observation.objects.get().pk])
    values = correction(client, url)
    client.post(url, values | {"status": "AR", "reason": "new shoot"})
    again = client.post(url, values | {"status": "D", "reason": "second thoughts"})
    assert "already corrected" in again.content.decode()
    assert "This record was corrected before. Reason: new shoot" in client.get(url).content.decode()
    assert Observation.objects.count() == 2


def test_a_corrected_status_changes_the_survival_of_its_round(client):
    actor = signed_in(client)
    planting, trees = grown(actor)
    factories.observe(factories.census_round(planting), dict.fromkeys(trees, "D"), actor=actor)
    url = reverse("observation_correct", args=[trees[0].observations.get().pk])
    client.post(url, correction(client, url) | {"status": "A", "cause": "", "reason": "wrong row"})
    # 3 planted, one of them alive: common sense, no source
    assert SurvivalTally.objects.values_list("planted", "alive", "dead").get() == (3, 1, 2)


def test_an_old_tag_stays_on_the_page_and_is_never_given_again(client):
    signed_in(client)
    planting = factories.planting()
    trees = factories.trees(planting, count=2)
    url = reverse("tree_retag", args=[trees[0].pk])
    client.post(url, {"tag": "N1", "on": "2020-05-01", "reason": "unreadable"})
    page = page_of(client, trees[0]).content.decode()
    assert "Tree N1" in page and trees[0].tag in page and "unreadable" in page
    again = client.post(reverse("tree_retag", args=[trees[1].pk]), {"tag": trees[0].tag, "on": "2020-05-01", "reason": "spare"})
    assert "A tag is never reused" in again.context["form"].errors["tag"][0]


def test_a_replacement_is_a_filler_and_both_pages_lead_to_each_other(client):
    signed_in(client)
    planting, lot = factories.planting(), factories.stock_lot()
    trees = factories.trees(planting, lot, 3)
    factories.observe(factories.census_round(planting), {trees[0]: "D", trees[1]: "A", trees[2]: "A"})
    response = client.post(reverse("tree_replace", args=[trees[0].pk]), {"tag": "R1", "planted_on": "2019-11-10", "lot": "", "note": ""})
    new = Tree.objects.get(tag="R1")
    assert response.url == reverse("tree_detail", args=[new.pk])
    assert (new.entry.role, new.entry.lot, new.replaces) == ("filler", lot, trees[0])
    assert ("replaced by", "R1") in [(step["label"], step["code"]) for step in page_of(client, trees[0]).context["chain"]]
    assert ("here before it", trees[0].tag) in [(step["label"], step["code"]) for step in page_of(client, new).context["chain"]]
    # the original stays dead and the replacement is not counted: 3 planted, 2 alive
    assert SurvivalTally.objects.values_list("planted", "alive").get(entry=trees[0].entry) == (3, 2)


def test_a_tree_is_moved_with_a_reason_and_the_walk_follows(client):
    signed_in(client)
    planting = factories.planting()
    trees = factories.trees(planting, count=3)
    url = reverse("tree_edit", args=[trees[0].pk])
    client.post(url, {"block": "1", "row": 1, "position": 9, "planted_on": "", "note": "", "reason": "row read backwards"})
    trees[0].refresh_from_db()
    assert (trees[0].position, trees[0].walk_number) == (9, 3)
    client.post(url, {"block": "", "row": "", "position": "", "planted_on": "", "note": "", "reason": "place not known"})
    trees[0].refresh_from_db()
    assert (trees[0].block, trees[0].row) == (None, None)
    assert planting.blocks.count() == 1


def test_a_single_tree_is_added_to_a_planting(client):
    signed_in(client)
    planting, lot = factories.planting(), factories.stock_lot()
    values = {"planting": planting.code, "tag": "T1", "lot": lot.code, "role": "check", "block": "3", "row": 2, "position": 5}
    tree = Tree.objects.filter(tag="T1")
    assert client.post(reverse("tree_add"), values).status_code == 302
    assert (tree.get().entry.role, tree.get().block.code, tree.get().position) == ("check", "3", 5)
    taken = client.post(reverse("tree_add"), values | {"position": 6})
    assert "already has a tree tagged T1" in taken.content.decode()


def test_the_list_of_trees_narrows_by_planting_code_lot_and_fate(client):
    signed_in(client)
    planting, lot = factories.planting(code="FALLS-2"), factories.stock_lot(code="P19-X")
    trees = factories.trees(planting, lot, 3)
    # a planting whose code is the key of the other: a link by key would show the wrong trees
    factories.trees(factories.planting(code=str(planting.pk)), count=2)
    factories.observe(factories.census_round(planting), {trees[0]: "D"})
    expected = {"planting=FALLS-2": 3, f"planting={planting.pk}": 2, "lot=p19-x": 3, "fate=dead": 1, "tag=no-such": 0, "": 5}
    for query, count in expected.items():
        assert client.get(f"{reverse('tree_list')}?{query}").context["count"] == count, query


# The rule of fate with hindsight is the programme's own (calc/census/fate.py); no source.
@pytest.mark.parametrize(
    ("records", "words"),
    [
        ("", "No round of this planting has a record yet."),
        ("D A", "Seen alive at the last round, r2."),
        ("A D A NF", "The position was found without a tree in r4."),
        ("A D NF", "Recorded dead in r2, and not seen alive since."),
        ("A RM", "Recorded removed in r2, and not seen alive since. The reason is biological"),
        ("A RX NF", "Recorded removed in r2, and not seen alive since. The reason is not biological"),
        ("A NF NF NV", "Not found at two rounds running, r2 and r3."),
        ("A NL", "The position was not located in r2."),
        ("A NV", "Recorded as not visited in r2."),
        ("A NONE", "No record in r2."),
    ],
)
def test_the_page_says_why_a_tree_has_its_fate(records, words):
    statuses = [Status[code] for code in records.split()]
    assert fate_reason(statuses, fate_history(statuses), [f"r{n + 1}" for n in range(len(statuses))]).startswith(words)
