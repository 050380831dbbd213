"""Two names of one person: cases of our own, since which spellings are one person's is a definition of this programme."""

import pytest

from registry.calc.people.names import is_same_body, is_same_name, may_be_same_person, share_a_person

ONE_PERSON = [
    ("Ada Person", "ada person"),
    ("Ada Person", "  Ada   Person "),
    ("Ada Person", "Person, Ada"),
    ("Ada Person", "Dr. Ada Person"),
    ("José Núñez", "Jose Nunez"),
    ("Ada Mu\u0308ller", "Ada Müller"),
    ("Ada Møller", "Ada Moller"),
    ("Ada O’Neill", "Ada O'Neill"),
    ("Ada Berit-Person", "Ada Berit Person"),
]
PERHAPS = [
    ("Ada Person", "A. Person"),
    ("Ada Person", "A Person"),
    ("Ada Person", "Person A."),
    ("Ada B. Person", "Ada Person"),
    ("A.B. Person", "Ada Berit Person"),
    ("AB Person", "Ada Berit Person"),
    ("B. A. Person", "Ada Berit Person"),
    ("Person", "Ada Person"),
]
TWO_PEOPLE = [
    ("Ada Person", "Ben Person"),
    ("A. Person", "B. Person"),
    ("Ada Person", "Ada Other"),
    ("A. Person", "A. Other"),
    ("Ada", "Ben"),
    ("A. P.", "Ada Person"),  # nothing written out is the same, so nothing tells
    ("", "Ada Person"),
]


@pytest.mark.parametrize(("one", "other"), ONE_PERSON)
def test_one_name_in_two_spellings_is_the_same(one, other):
    assert is_same_name(one, other) and is_same_name(other, one) and may_be_same_person(one, other)


@pytest.mark.parametrize(("one", "other"), PERHAPS)
def test_initials_and_left_out_names_may_be_the_same_person(one, other):
    assert may_be_same_person(one, other) and may_be_same_person(other, one) and not is_same_name(one, other)


@pytest.mark.parametrize(("one", "other"), TWO_PEOPLE)
def test_two_people_are_told_apart(one, other):
    assert not may_be_same_person(one, other) and not may_be_same_person(other, one) and not is_same_name(one, other)


def test_a_body_is_the_same_but_for_small_words():
    assert is_same_body("Mill Brook Nursery", "The mill brook nursery.")
    assert not is_same_body("Nursery Mill Brook", "Mill Brook Nursery") and not is_same_body("", "")


@pytest.mark.parametrize(
    ("one", "other", "shared"),
    [
        ("Ada Person, Ben Other", "B. Other", True),
        ("Ada Person et Ben Other", "Cleo Third & Ada Person", True),
        ("Person, Ada", "Ada Person", True),  # the family name first: each part may still be the same person
        ("Sandy Andersen", "Sand Ersen", False),  # “and” inside a name does not part it
        ("Ada Person / Ben Other", "Cleo Third", False),
        ("", "Ada Person", False),
    ],
)
def test_two_texts_of_names_may_share_a_person(one, other, shared):
    assert share_a_person(one, other) == share_a_person(other, one) == shared
