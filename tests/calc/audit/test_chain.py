"""The chain of the audit trail. SHA-256 of FIPS 180-4 as the standard library gives it; the chaining is our own rule."""

import copy
import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.audit.chain import chain_sha256, first_break

CONTENT = st.dictionaries(st.text(max_size=8), st.one_of(st.integers(), st.text(max_size=12), st.none(), st.booleans()), max_size=4)


def chained(contents):
    before, entries = "", []
    for content in contents:
        own = chain_sha256(before, content)
        entries.append((before, own, content))
        before = own
    return entries


def test_a_hash_covers_the_hash_before_and_the_content():
    by_hand = hashlib.sha256(b'abc\n{"a":"\\u00d7","b":1}').hexdigest()
    assert chain_sha256("abc", {"b": 1, "a": "×"}) == by_hand


@given(st.lists(CONTENT, max_size=6))
def test_an_untouched_chain_has_no_break(contents):
    assert first_break(chained(contents)) is None


@given(st.lists(CONTENT, min_size=1, max_size=6), st.data())
def test_a_changed_entry_is_named(contents, data):
    entries = chained(contents)
    number = data.draw(st.integers(0, len(entries) - 1))
    previous, own, content = entries[number]
    entries[number] = (previous, own, {**copy.deepcopy(content), "added later": 1})
    assert first_break(entries).number == number + 1


@pytest.mark.parametrize("gone", [0, 1, 2])
def test_a_removed_entry_shows_at_the_next_one(gone):
    entries = chained([{"n": n} for n in range(4)])
    del entries[gone]
    assert first_break(entries) == (gone + 1, "its link to the entry before it is broken: an entry was removed, added or moved")


def test_two_swapped_entries_break_the_chain():
    entries = chained([{"n": n} for n in range(4)])
    entries[1], entries[2] = entries[2], entries[1]
    assert first_break(entries).number == 2
