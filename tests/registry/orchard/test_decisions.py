"""Selection decisions and the floors of diversity they are checked against."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.urls import reverse

from registry.models import PedigreeTree, PollenPool, PollenPoolMember, SelectionDecision
from registry.selectors.orchard.floors import floor_warnings, lines_and_sources
from registry.services.orchard.decisions import decision_enter
from registry.services.orchard.tree_status import tree_status_set
from registry.services.people.programme import programme_setting_save
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    person = factories.person("manager")
    client.force_login(person)
    return person


def orchard(per_line=3, lines=("L1", "L2"), source="S1"):
    """Unrelated mothers, `per_line` of each line, all of one source; a native check besides."""
    factories.pedigree_tree(code="CHECK", orchard="Mill Brook", recurrent_line="L1")
    return [
        factories.pedigree_tree(
            code=f"{line}-{number}", orchard="Mill Brook", recurrent_line=line, source_of_resistance=source, backcrosses=3, intercrosses=1
        )
        for line in lines
        for number in range(per_line)
    ]


def decide(tree, decision="rogued", **fields):
    fields = {"evidence": "rated 4.5", "first_name": "A. First", "second_name": "B. Second"} | fields
    return decision_enter(actor=factories.person(), tree=tree, decision=decision, decided_on=datetime.date(2020, 5, 1), **fields)


def test_above_every_floor_a_decision_needs_no_answer():
    first = orchard(per_line=4)[0]  # 7 unrelated mothers would be left, 3 of the line, 7 of the source
    assert floor_warnings(first) == []
    record = decide(first, warnings_answer="not asked for")
    assert (record.warnings, record.warnings_answer) == ([], "")


def test_broken_floors_are_named_with_what_would_be_left():
    first = orchard(per_line=2)[0]  # 3 unrelated mothers would be left: their status number is 3
    assert floor_warnings(first) == [
        "1 standing mother of the recurrent line L1 would be left; the floor is 2.",
        "3 standing mothers of the source of resistance S1 would be left; the floor is 5.",
        "The status number of the orchard would be 3.0; the floor is 4.",
    ]


def test_trees_to_be_rogued_count_as_gone_until_a_later_decision():
    trees = orchard(per_line=4)
    factories.decision(trees[0], "rogued")
    factories.decision(trees[1], "rogued")
    words = "1 standing mother of the recurrent line L1 would be left; the floor is 2."
    assert words in floor_warnings(trees[2])
    factories.decision(trees[0], "kept", on=factories.day(2019, 7))
    assert words not in floor_warnings(trees[2])


def test_gone_trees_and_checks_do_not_count_for_a_floor():
    trees = orchard(per_line=4)
    tree_status_set(actor=factories.person(), tree=trees[0], status="dead", on=factories.day(2019), reason="canker")
    tree_status_set(actor=factories.person(), tree=trees[1], status="dead", on=factories.day(2019), reason="canker")
    assert any("line L1" in warning for warning in floor_warnings(trees[2]))
    assert floor_warnings(PedigreeTree.objects.get(code="CHECK")) == []


def test_full_sibs_hold_less_diversity_than_their_number():
    # one full-sib family of n: status number 2n/(n+1) (Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76); 9 left: 1.8
    trees = orchard(per_line=10, lines=("L1",))
    mother, father = factories.pedigree_tree(), factories.pedigree_tree()
    PedigreeTree.objects.filter(orchard="Mill Brook", backcrosses=3).update(mother=mother, father=father)
    assert floor_warnings(trees[0]) == ["The status number of the orchard would be 1.8; the floor is 4."]


def test_a_tree_that_states_nothing_counts_by_its_parents():
    mother = factories.pedigree_tree(backcrosses=3, intercrosses=0, recurrent_line="L1", source_of_resistance="S1")
    father = factories.pedigree_tree(backcrosses=3, intercrosses=0, recurrent_line="L2", source_of_resistance="S1")
    pool = PollenPool.objects.create(code="POOL", orchard="Mill Brook", flowering_year=2018)
    for number in range(1, 5):
        member = factories.pedigree_tree(backcrosses=3, intercrosses=1, recurrent_line=f"P{number}", source_of_resistance="S2")
        PollenPoolMember.objects.create(pool=pool, tree=member)
    crossed = factories.pedigree_tree(backcrosses=3, intercrosses=1, mother=mother, father=father)
    open_pollinated = factories.pedigree_tree(backcrosses=3, intercrosses=1, mother=mother, pollen_pool=pool)
    found = lines_and_sources([crossed.pk, open_pollinated.pk, mother.pk])
    assert found[crossed.pk] == ({"L1", "L2"}, {"S1"})
    assert found[open_pollinated.pk] == ({"L1"}, {"S1", "S2"})  # half its source from each side, an eighth of its line from each member
    assert found[mother.pk] == ({"L1"}, {"S1"})


def test_floors_of_the_programme_replace_the_defaults():
    first = orchard(per_line=2)[0]
    for key, value in (("mothers_per_line", "1"), ("mothers_per_source", "3"), ("status_number", "2.5")):
        programme_setting_save(
            actor=factories.person(), key=key, value=value, owner="The lead", set_on=factories.day(2019), basis="meeting"
        )
    assert floor_warnings(first) == []


def test_a_loop_in_the_pedigree_is_said_and_hides_no_other_floor():
    first, second = orchard(per_line=1)
    PedigreeTree.objects.filter(pk=first.pk).update(mother=second)
    PedigreeTree.objects.filter(pk=second.pk).update(mother=first)
    warnings = floor_warnings(first)
    assert warnings[0].startswith("0 standing mothers of the recurrent line L1")
    words = "The status number cannot be calculated until the pedigree is corrected"
    assert warnings[-1] == f"{words}: {first} comes from {second}, {second} from {first}."


def test_a_broken_floor_is_stored_with_the_reason_given():
    first = orchard(per_line=2)[0]
    with pytest.raises(ValidationError, match="Read the warnings above"):
        decide(first, warnings_answer="I know")
    with pytest.raises(ValidationError, match="reason to go below the floor"):
        decide(first, warnings_seen=floor_warnings(first))
    record = decide(first, warnings_seen=floor_warnings(first), warnings_answer="it is mislabelled")
    assert (record.warnings, record.warnings_answer) == (floor_warnings(first), "it is mislabelled")
    assert decide(first, "kept").warnings == []


@pytest.mark.parametrize(
    ("fields", "field"),
    [({"second_name": " a.  first"}, "second_name"), ({"evidence": " "}, "evidence")],
)
def test_two_people_decide_on_evidence(fields, field):
    with pytest.raises(ValidationError) as refused:
        decide(factories.pedigree_tree(), "kept", **fields)
    assert field in refused.value.message_dict


def test_a_decision_is_on_a_standing_tree_and_its_own_ratings():
    one, other, scale = factories.pedigree_tree(), factories.pedigree_tree(), factories.rating_scale()
    with pytest.raises(ValidationError, match="Choose ratings of"):
        decide(one, "kept", ratings=[factories.rating(other, scale, 3)])
    own = factories.rating(one, scale, 3)
    assert list(decide(one, "kept", ratings=[own]).ratings.all()) == [own]
    tree_status_set(actor=factories.person(), tree=one, status="dead", on=factories.day(2019), reason="canker")
    with pytest.raises(ValidationError, match="Only a standing tree"):
        decide(one)


def test_a_decision_from_before_a_tree_fell_can_be_entered_later():
    tree = factories.pedigree_tree()
    tree_status_set(actor=factories.person(), tree=tree, status="rogued", on=datetime.date(2020, 5, 1), reason="carried out")
    assert decide(tree).decision == "rogued"


def test_decisions_cannot_be_changed():
    decide(factories.pedigree_tree(), "kept")
    with pytest.raises(DatabaseError), transaction.atomic():
        SelectionDecision.objects.update(decision="rogued")


# -- on screen ---------------------------------------------------------------------------------


def test_the_form_shows_a_broken_floor_first_and_needs_a_reason(client, manager):
    first = orchard(per_line=2)[0]
    rating = factories.rating(first, factories.rating_scale(), 4)
    address = reverse("pedigreetree_decide", args=[first.pk])
    page = client.get(address)
    assert "at least 2 standing mothers of each recurrent line, 5 of each source of resistance, status number 4" in page.content.decode()
    assert "warnings_answer" not in page.content.decode()
    data = {
        "decision": "rogued", "decided_on": "2020-05-01", "evidence": "rated 4.5", "ratings": [rating.pk], "method": "own rating",
        "first_name": "A. First", "second_name": "B. Second",
    }  # fmt: skip
    shown = client.post(address, data)
    assert shown.context["warnings"] == floor_warnings(first)
    text = shown.content.decode()
    assert "1 standing mother of the recurrent line L1 would be left; the floor is 2." in text and "rated 4.5" in text
    seen = shown.context["form"]["warnings_seen"].value()
    assert "Give the reason to go below the floor" in client.post(address, data | {"warnings_seen": seen}).content.decode()
    assert not SelectionDecision.objects.exists()
    done = client.post(address, data | {"warnings_seen": seen, "warnings_answer": "it is mislabelled"}, follow=True)
    record = SelectionDecision.objects.get()
    assert (record.tree, record.warnings_answer, list(record.ratings.all())) == (first, "it is mislabelled", [rating])
    assert "A floor was broken" in done.content.decode() and "The tree is still standing." in done.content.decode()


@pytest.mark.parametrize("sent", ["9" * 5000, "[" * 100_000, "5", '{"a": 1}', "[5]", "cut off ["])
def test_what_is_no_list_of_sentences_counts_as_no_warning_seen(client, manager, sent):
    first, *_others = orchard(per_line=2)
    data = {
        "decision": "rogued", "decided_on": "2020-05-01", "evidence": "rated 4.5", "first_name": "A. First", "second_name": "B. Second",
        "warnings_answer": "I know", "warnings_seen": sent,
    }  # fmt: skip
    page = client.post(reverse("pedigreetree_decide", args=[first.pk]), data)
    assert page.context["warnings"] == floor_warnings(first) != []
    assert not SelectionDecision.objects.exists()


def test_a_floor_that_changed_since_it_was_shown_is_shown_again(client, manager):
    trees = orchard(per_line=2)
    address = reverse("pedigreetree_decide", args=[trees[0].pk])
    data = {
        "decision": "rogued", "decided_on": "2020-05-01", "evidence": "rated 4.5", "first_name": "A. First", "second_name": "B. Second",
        "warnings_answer": "I know",
    }  # fmt: skip
    seen = client.post(address, data).context["form"]["warnings_seen"].value()
    factories.decision(trees[1], "rogued")
    page = client.post(address, data | {"warnings_seen": seen})
    assert "0 standing mothers of the recurrent line L1" in page.content.decode()
    assert SelectionDecision.objects.filter(tree=trees[0]).count() == 0


def test_decisions_are_listed_filtered_and_downloaded(client, manager):
    kept, gone = factories.pedigree_tree(code="KW-1"), factories.pedigree_tree(code="KW-2")
    factories.decision(kept, "kept")
    factories.decision(gone, "held")
    found = client.get(reverse("decision_list"), {"decision": "held"}).context["rows"]
    assert [row.cells[0][0] for row in found] == ["KW-2"]
    download = client.get(reverse("decision_list"), {"download": "csv"}).content.decode()
    assert "KW-1,2019-06-01,kept,looked at,A. First and B. Second" in download
