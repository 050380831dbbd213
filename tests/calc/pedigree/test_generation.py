"""Generation codes and the share of the native species they mean."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.pedigree.generation import Generation, expected_native_share, generation_of_cross, parse_generation, read_generation


# Codes as the trade prints them: common practice, no source.
@pytest.mark.parametrize(
    ("backcrosses", "intercrosses", "code"),
    [
        (0, 0, "F1"),
        (0, 1, "F2"),
        (0, 2, "F3"),
        (1, 0, "B1"),
        (3, 0, "B3"),
        (3, 1, "B3F2"),
        (3, 2, "B3F3"),
        (10, 11, "B10F12"),
    ],
)
def test_two_counts_print_as_one_code(backcrosses, intercrosses, code):
    assert Generation(backcrosses, intercrosses).code == code


@pytest.mark.parametrize(
    ("word", "code"),
    [("native", "native"), ("Donor", "donor"), (" NATIVE ", "native"), ("other outcross", "other outcross")],
)
def test_a_word_is_its_own_code(word, code):
    assert Generation(None, None, word).code == code


# Synonyms met on import: common practice, no source.
@pytest.mark.parametrize(
    ("text", "generation"),
    [
        ("B3F3", Generation(3, 2)),
        ("BC3F3", Generation(3, 2)),
        ("B3-F3", Generation(3, 2)),
        ("BC3-F3", Generation(3, 2)),
        ("b3 f3", Generation(3, 2)),
        ("bc3_f3", Generation(3, 2)),
        ("B3–F3", Generation(3, 2)),
        ("BC₃F₃", Generation(3, 2)),
        ("  B 3 F 3 ", Generation(3, 2)),
        ("B3F2", Generation(3, 1)),
        ("B3F1", Generation(3, 0)),
        ("BC3", Generation(3, 0)),
        ("B3", Generation(3, 0)),
        ("BC1F1", Generation(1, 0)),
        ("F1", Generation(0, 0)),
        ("f 2", Generation(0, 1)),
        ("B12F10", Generation(12, 9)),
        ("native", Generation(None, None, "native")),
        ("Donor", Generation(None, None, "donor")),
    ],
)
def test_synonyms_read_as_one_generation(text, generation):
    assert parse_generation(text) == generation


@pytest.mark.parametrize(
    "text",
    ["", "  ", "B", "BC", "F", "F0", "B0", "B0F2", "B3F0", "B3F", "3F3", "B3F3F2", "F1 1", "B1 2F3", "B3x", "B-3F3-", "wild", "B100"],
)
def test_a_text_that_is_not_a_code_is_named_with_examples(text):
    with pytest.raises(ValueError) as caught:
        parse_generation(text)
    assert f"“{text}”" in str(caught.value)
    assert "B3F3, BC3F3" in str(caught.value)


@given(backcrosses=st.integers(0, 99), intercrosses=st.integers(0, 98))
def test_a_printed_code_reads_back_as_itself(backcrosses, intercrosses):
    generation = Generation(backcrosses, intercrosses)
    assert parse_generation(generation.code) == generation


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ((-1, 0), "negative"),
        ((0, -1), "negative"),
        ((3, None), "give both"),
        ((None, 2), "give both"),
        ((None, None), "give both"),
        ((None, None, "  "), "give both"),
        ((3, 2, "native"), "native"),
    ],
)
def test_an_impossible_generation_cannot_be_made(arguments, named):
    with pytest.raises(ValueError, match=named):
        Generation(*arguments)


# Source: Allard 1960, Principles of Plant Breeding, backcross chapter: 1 - (1/2)^(t + 1).
@pytest.mark.parametrize(
    ("code", "share"),
    [
        ("F1", Fraction(1, 2)),
        ("BC1", Fraction(3, 4)),
        ("BC2", Fraction(7, 8)),
        ("BC3", Fraction(15, 16)),
        ("BC4", Fraction(31, 32)),
        ("BC5", Fraction(63, 64)),
        ("BC6", Fraction(127, 128)),
        ("F2", Fraction(1, 2)),
        ("BC3F2", Fraction(15, 16)),
        ("BC3F3", Fraction(15, 16)),
        ("native", Fraction(1)),
        ("donor", Fraction(0)),
    ],
)
def test_expected_native_share_is_exact_and_unmoved_by_intercrossing(code, share):
    assert expected_native_share(parse_generation(code)) == share


def test_expected_native_share_of_a_free_word_is_unknown():
    assert expected_native_share(Generation(None, None, "outcross")) is None


def test_expected_native_share_ignores_capitals():
    assert expected_native_share(Generation(None, None, "Native")) == 1
    assert expected_native_share(Generation(None, None, "DONOR")) == 0


NATIVE, DONOR = Generation(None, None, "native"), Generation(None, None, "donor")


# The counts of the backcross pipeline: Allard 1960, Principles of Plant Breeding (from memory); the rest common practice, no source.
@pytest.mark.parametrize(
    ("mother", "father", "code"),
    [
        (NATIVE, NATIVE, "native"),
        (DONOR, DONOR, "donor"),
        (NATIVE, DONOR, "F1"),
        (NATIVE, Generation(0, 0), "B1"),
        (NATIVE, Generation(2, 0), "B3"),
        (NATIVE, Generation(3, 1), "B4"),
        (Generation(0, 0), Generation(0, 0), "F2"),
        (Generation(3, 0), Generation(3, 0), "B3F2"),
        (Generation(3, 1), Generation(3, 1), "B3F3"),
        (Generation(3, 0), Generation(3, 2), "B3F4"),
        (Generation(1, 0), Generation(3, 0), "B1 × B3"),
        (DONOR, Generation(0, 0), "F1 × donor"),
    ],
)
def test_two_parents_give_a_generation(mother, father, code):
    assert generation_of_cross(mother, father).code == generation_of_cross(father, mother).code == code


@given(st.sampled_from([NATIVE, DONOR, *(Generation(b, i) for b in range(5) for i in range(3))]), st.data())
def test_the_generation_of_a_cross_averages_its_parents(mother, data):
    # the mean of offspring is the mean of both parents: Allard 1960, Principles of Plant Breeding, backcross chapter
    father = data.draw(st.sampled_from([NATIVE, DONOR, *(Generation(b, i) for b in range(5) for i in range(3))]))
    share = expected_native_share(generation_of_cross(mother, father))
    assert share in (None, (expected_native_share(mother) + expected_native_share(father)) / 2)
    assert (share is None) == ("×" in generation_of_cross(mother, father).code)


def test_a_parent_that_says_nothing_gives_no_generation():
    assert generation_of_cross(None, NATIVE) is None
    assert generation_of_cross(Generation(None, None, "outcross"), NATIVE) is None


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("BC3F3", "B3F3"),
        ("B1 x B3", "B1 × B3"),
        ("b1×BC3-F2", "B1 × B3F2"),
        ("mixed cross", "mixed cross"),
        ("exotic", "exotic"),
        ("Boston", "Boston"),
    ],
)
def test_a_sheet_may_give_a_word(text, code):
    assert read_generation(text).code == code


@pytest.mark.parametrize(
    "text", ["B3F", "BC", "BC3F", "B O3", "F", "B3 mixed", "nativ", "doner", "17", "?", "a word of more than twenty letters"]
)
def test_a_slip_of_a_code_is_not_a_word(text):
    with pytest.raises(ValueError, match=r"Write (it like|a shorter word)"):
        read_generation(text)
