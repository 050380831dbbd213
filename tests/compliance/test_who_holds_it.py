"""Who holds a paper and who acts under it. Invented people and bodies."""

from dataclasses import replace

import pytest

from registry.compliance.gate.facts import Place
from tests.compliance.scene import WISCONSIN, answer, asked, finding, paper, reasons

OURS = asked(acting_for="Example Butternut Programme")


def status(question, *papers):
    return finding(answer(question, papers=papers)).status


def held(body="", person="", **terms):
    return paper(more={"holder_body": body, "holder_person": person}, **terms)


def test_a_paper_of_another_body_does_not_cover():
    found = answer(OURS, papers=[held("Other Nursery")])
    assert reasons(found) == ["actor: it is held by Other Nursery, and this is done for Example Butternut Programme"]
    assert "name Example Butternut Programme in it, or for a paper of its own" in finding(found).next_step


@pytest.mark.parametrize("body", ["Example Butternut Programme", "the example butternut programme.", ""])
def test_the_programmes_own_paper_covers_however_its_name_is_written(body):
    assert status(OURS, held(body)) == "met"


def test_a_paper_of_another_body_covers_whom_it_names():
    assert status(OURS, held("Other Nursery", people=("Example Butternut Programme",))) == "met"
    named = held("Other Nursery", people=("Ada Person",))
    assert status(replace(OURS, people=("PERSON, Ada",)), named) == "met"
    assert status(replace(OURS, people=("Ben Other",)), named) == "missing"


def test_a_paper_that_names_people_covers_those_who_send():
    names = held(people=("Ada Person", "Ben Other"))
    assert "person: it names who may act under it, but who acts is not given" in reasons(answer(OURS, papers=[names]))
    assert status(replace(OURS, people=("Ada Person",)), names) == "met"
    found = answer(replace(OURS, people=("Ada Person", "Cy Third")), papers=[names])
    assert reasons(found) == ["person: it does not name Cy Third"]


def test_a_paper_held_by_a_person_covers_that_person():
    own = held(person="Ada Person")
    assert status(replace(OURS, people=("ada person",)), own) == "met"
    found = answer(replace(OURS, people=("Ben Other",)), papers=[own])
    assert reasons(found) == ["person: it is held by Ada Person and does not name Ben Other"]
    found = answer(OURS, papers=[own])
    assert reasons(found) == ["person: it is held by Ada Person, but who acts is not given"]
    assert "say who does it" in finding(found).next_step
    assert status(OURS, held("Example Butternut Programme", "Ada Person")) == "met"


def test_an_agreement_held_by_the_landowner_covers_whoever_comes():
    mine = paper("A-1", "landowner", more={"partner": "PT-05", "holder_person": "Hana Castellaw"}, sites=("ST-05",))
    for people in ((), ("Ada Person",)):
        found = answer(replace(OURS, landowner_agreement_wanted=True, people=people), rules=[], papers=[mine])
        assert finding(found, "landowner").status == "met"


def test_an_initial_is_not_enough_to_be_named_by_a_paper():
    assert status(replace(OURS, people=("A. Person",)), held(people=("Ada Person",))) == "missing"


def agreement(partner, **terms):
    return paper("A-1", "landowner", more={"partner": partner, "holder_body": "Hana Castellaw"}, sites=("ST-05",), **terms)


@pytest.mark.parametrize(("partner", "expected"), [("PT-05", "met"), ("", "missing"), ("PT-01", "missing")])
def test_an_agreement_of_a_former_owner_does_not_cover_the_land(partner, expected):
    found = answer(replace(OURS, landowner_agreement_wanted=True), rules=[], papers=[agreement(partner)])
    assert finding(found, "landowner").status == expected


def test_an_agreement_that_names_the_site_alone_does_not_cover_it():
    wanted = replace(OURS, landowner_agreement_wanted=True)
    found = answer(wanted, rules=[], papers=[agreement("")])
    assert reasons(found, "landowner") == ["with_whom: it does not say with whom it was made, and the land is that of PT-05"]
    assert "enter with whom it was made, or have PT-05 sign an agreement" in finding(found, "landowner").next_step
    named = replace(agreement(""), versions=(replace(agreement("").versions[0], destinations=("partner:PT-05",)),))
    assert finding(answer(wanted, rules=[], papers=[named]), "landowner").status == "met"
    # another such agreement with the same wording is judged by itself
    both = answer(wanted, rules=[], papers=[agreement(""), replace(agreement("PT-05"), code="A-2")])
    assert finding(both, "landowner").met_by == ("A-2",)


def test_the_answer_says_whose_the_land_is_now():
    found = answer(replace(OURS, landowner_agreement_wanted=True), rules=[], papers=[agreement("PT-01")])
    assert reasons(found, "landowner") == ["owner: it was made with PT-01, and the land is that of PT-05"]
    assert "have PT-05, who owns the land now, sign an agreement" in finding(found, "landowner").next_step


def test_edition_4_took_the_holder_as_acting_and_a_site_as_enough():
    assert status(replace(OURS, edition=4), held(person="Ada Person")) == "met"
    earlier = replace(OURS, landowner_agreement_wanted=True, edition=4)
    assert finding(answer(earlier, rules=[], papers=[agreement("")]), "landowner").status == "met"


def test_a_question_of_an_earlier_edition_compares_people_letter_by_letter():
    names = held(people=("Ada Person",))
    assert status(asked(people=("ada person",), edition=3), names) == "missing"
    assert status(asked(people=("Ben Other",), edition=3), held(person="Ada Person")) == "met"
    assert Place("US-WI", "Dane", "ST-05", "PT-05") == WISCONSIN


def test_without_its_name_the_gate_asks_for_the_programme():
    for more, people in (({}, ()), ({"people": ("Ada Person",)}, ("Ada Person",))):
        found = answer(asked(people=people), papers=[held("Other Nursery", **more)])
        said = [one for one in found.findings if one.kind == "acting_for"]
        assert finding(found).status == "met" and len(said) == (not more)  # one that names who acts needs no body
        assert found.verdict == ("covered" if more else "check")
    [said] = [one for one in answer(papers=[held("Other Nursery")]).findings if one.kind == "acting_for"]
    assert (said.status, said.severity, said.notes) == ("notice", "advisory", ("P-WI is held by Other Nursery",))
    assert "Enter the name of the programme in its settings" in said.next_step
    for question, one in (
        (OURS, held("Example Butternut Programme")),
        (asked(), held(person="")),
        (asked(edition=6), held("Other Nursery")),
    ):
        assert not [found for found in answer(question, papers=[one]).findings if found.kind == "acting_for"]
