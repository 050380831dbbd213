"""What an agreement says about a question, in its own sentences. The examples are worked out by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.land.agreement_words import TOPICS, sentences_about

BY_KEY = {topic.key: topic for topic in TOPICS}
# made for this test, in the words of such agreements (common practice, no source)
AGREEMENT = """The programme plants and measures trees. No nuts, scions or trees are sold or given away.
Sheep may enter only outside the fence; cattle never. Nothing is sprayed within 20 m of a tree without a call before.
The landholder is told a week before each visit! Does the land change hands, the new owner signs or the trees come out."""


def about(key, *texts):
    return sentences_about(BY_KEY[key], *(texts or (AGREEMENT,)))


def test_each_topic_finds_the_sentences_with_its_words():
    assert about("nuts") == ["No nuts, scions or trees are sold or given away."]
    assert about("sell") == ["Does the land change hands, the new owner signs or the trees come out."]
    assert about("graze") == ["Sheep may enter only outside the fence; cattle never."]
    assert about("spray") == ["Nothing is sprayed within 20 m of a tree without a call before."]
    assert about("hunt") == about("cut") == []


def test_a_word_counts_by_its_beginning_only():
    assert about("cut", "Cutting waits.", "We execute it.") == ["Cutting waits."]
    assert about("nuts", "A minute is enough.", "NUTS stay.") == ["NUTS stay."]


def test_selling_nuts_is_not_selling_the_land():
    assert about("sell", "No nuts are sold. Nothing is leased to the landholder.") == []
    assert about("sell", "When the land is sold or inherited, the new owner signs.") == [
        "When the land is sold or inherited, the new owner signs."
    ]
    assert about("sell", "A heir of the farm signs.", "The parcels may be leased.") == [
        "A heir of the farm signs.",
        "The parcels may be leased.",
    ]


def test_the_sale_is_found_in_the_words_of_deeds():
    sentences = [
        "This binds successors and assigns of the owner.", "Before the property is conveyed, the holder tells the programme.",
        "A buyer of the land is told.", "On a change of ownership it ends.",
    ]  # fmt: skip
    assert about("sell", *sentences) == sentences
    assert about("sell", "The programme buys the nuts.", "Each tree is assigned a tag.") == []


def test_words_that_only_begin_alike_are_not_about_cutting():
    assert about("cut", "These things are for fellows who login.", "The crew saw ten trees.") == []
    assert about("cut", "Felling and thinning wait.") == ["Felling and thinning wait."]


def test_a_sentence_in_two_texts_is_given_once():
    assert about("hunt", "No hunting.", "", "No hunting. Shoot nothing.") == ["No hunting.", "Shoot nothing."]


def test_the_six_questions_landowners_ask_are_there():
    # cut, spray, graze, hunt, sell, pick the nuts: common practice, no source
    assert [topic.key for topic in TOPICS] == ["cut", "spray", "graze", "hunt", "sell", "nuts"]


@given(st.text(max_size=300), st.sampled_from(TOPICS))
def test_nothing_is_ever_said_that_is_not_in_the_text(text, topic):
    for sentence in sentences_about(topic, text):
        assert sentence in text and any(word in sentence.lower() for word in topic.beginnings)


@pytest.mark.parametrize(
    ("key", "sentence"),
    [
        ("sell", "Le propriétaire avise le programme avant de vendre la parcelle."),
        ("sell", "En cas de cession du terrain, l’entente prend fin."),
        ("cut", "Aucun arbre n’est abattu ni élagué."),
        ("spray", "Aucune pulvérisation à moins de 10 m."),
        ("graze", "Le bétail reste hors de la clôture."),
        ("hunt", "La chasse est interdite dans la plantation."),
        ("nuts", "Aucune noix n’est donnée."),
    ],
)
def test_an_agreement_in_french_is_read_too(key, sentence):
    assert about(key, f"Le sentier reste ouvert. {sentence}") == [sentence]


def test_the_sale_of_nuts_is_not_the_sale_of_land_in_french():
    assert about("sell", "La vente de noix est interdite.") == []
