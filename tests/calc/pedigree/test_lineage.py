"""Sources of resistance and recurrent lines derived from a pedigree. The rules are common practice, no source; shares by hand."""

import tracemalloc
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.orchard.pollen_pool import PollenPool
from registry.calc.pedigree.expected_shares import shares_of_parts
from registry.calc.pedigree.lineage import Contradiction, TreeFacts, derive_lineages
from registry.calc.pedigree.mixtures import NOT_STATED, blended_labels, mixture_label

F = Fraction
NATIVE, DONOR = F(0), F(1)


def native(line=""):
    return TreeFacts(donor_share=NATIVE, line=line)


def one(label):
    return {label: F(1)}


PROGRAMME = {
    "J1": TreeFacts(donor_share=DONOR), "J2": TreeFacts(donor_share=DONOR),
    "N1": native("L1"), "N2": native("L2"), "N3": native("L3"), "N4": native("L4"), "silent": native(),
    "F1a": TreeFacts("N1", "J1", source="Heron"), "F1b": TreeFacts("N2", "J2", source="Otter"),
    "B1a": TreeFacts("N3", "F1a"), "B1b": TreeFacts("F1b", "N4"),
}  # fmt: skip


def derived(**more):
    return derive_lineages(PROGRAMME | more)[0]


def test_a_stated_source_carries_through_the_backcrosses():
    found = derived()
    assert found["J1"].source == one(NOT_STATED)  # a donor carries some, nobody said which
    assert [found[tree].source for tree in ("F1a", "B1a", "B1b")] == [one("Heron"), one("Heron"), one("Otter")]
    assert [found[tree].donor_share for tree in ("F1a", "B1a", "N1")] == [F(1, 2), F(1, 4), 0]


def test_native_trees_and_their_crosses_have_no_source():
    found = derived(NN=TreeFacts("N1", "N2"))
    assert found["N1"].source == found["NN"].source == {}


def test_a_backcross_takes_its_native_parents_line_on_either_side():
    found = derived()
    assert [found[tree].line for tree in ("F1a", "B1a", "B1b")] == [one("L1"), one("L3"), one("L4")]


def test_a_native_parent_without_a_line_leaves_the_other_parents():
    assert derived(B=TreeFacts("silent", "F1a"))["B"].line == one("L1")


def test_an_intercross_averages_lines_and_weights_sources():
    found = derived(BB=TreeFacts("B1a", "B1b"), FB=TreeFacts("F1a", "B1b"))
    assert found["BB"].line == {"L3": F(1, 2), "L4": F(1, 2)}
    assert found["BB"].source == {"Heron": F(1, 2), "Otter": F(1, 2)}
    assert found["FB"].source == {"Heron": F(2, 3), "Otter": F(1, 3)}  # 1/2 and 1/4 of donor species
    assert found["FB"].donor_share == F(3, 8)


def test_a_mixture_is_weighed_on_in_later_generations():
    # BB: Heron 1/2, Otter 1/2, donor 1/4; with B1a (Heron, 1/4) again: Heron 3/4
    found = derived(BB=TreeFacts("B1a", "B1b"), again=TreeFacts("BB", "B1a"))
    assert found["again"].source == {"Heron": F(3, 4), "Otter": F(1, 4)}
    assert found["again"].line == {"L3": F(3, 4), "L4": F(1, 4)}


def test_two_native_parents_give_the_mean_of_the_lines_they_state():
    found = derived(both=TreeFacts("N1", "N2"), one=TreeFacts("N1", "silent"), none=TreeFacts("silent", "silent"))
    assert found["both"].line == {"L1": F(1, 2), "L2": F(1, 2)}
    assert (found["one"].line, found["none"].line) == (one("L1"), one(NOT_STATED))


def test_an_unknown_parent_is_not_stated():
    found = derived(half=TreeFacts("B1a", None), missing=TreeFacts("B1a", "nobody"), founder=TreeFacts())
    assert found["half"].source == {"Heron": F(1, 2), NOT_STATED: F(1, 2)}
    assert found["half"].line == {"L3": F(1, 2), NOT_STATED: F(1, 2)}
    assert found["missing"] == found["half"]
    assert found["half"].donor_share is None
    assert found["founder"].source == found["founder"].line == one(NOT_STATED)


def test_with_an_unknown_donor_share_both_parents_count_alike():
    found = derived(X=TreeFacts(source="Sable"), cross=TreeFacts("F1a", "X"))
    assert found["cross"].source == {"Heron": F(1, 2), "Sable": F(1, 2)}


def test_a_stated_donor_share_replaces_unrecorded_parents():
    found = derived(B3=TreeFacts(donor_share=F(1, 16), source="Sable"), cross=TreeFacts("B3", "B1a"))
    assert found["cross"].source == {"Sable": F(1, 5), "Heron": F(4, 5)}


def test_a_native_tree_that_states_a_source_carries_it():
    found = derived(survivor=TreeFacts(donor_share=NATIVE, source="Tanner"), cross=TreeFacts("survivor", "N1"))
    assert found["cross"].source == one("Tanner")
    assert derived(survivor=TreeFacts(donor_share=NATIVE, source="Tanner"), c=TreeFacts("survivor", "F1a"))["c"].source == {
        "Tanner": F(1, 2), "Heron": F(1, 2),
    }  # fmt: skip


def test_a_statement_against_the_parents_is_reported():
    trees = PROGRAMME | {"wrong": TreeFacts("B1a", "N4", source="Otter", line="L9"), "child": TreeFacts("wrong", "N1")}
    found, contradictions = derive_lineages(trees)
    assert contradictions == [
        Contradiction("wrong", "source of resistance", "Otter", one("Heron")),
        Contradiction("wrong", "recurrent line", "L9", one("L4")),
    ]
    assert contradictions[0].words == "The source of resistance is stated as Otter; its parents give Heron."
    assert (found["wrong"].source, found["child"].source) == (one("Otter"), one("Otter"))


@pytest.mark.parametrize("source", ["Heron", " Heron ", ""])
def test_a_statement_the_parents_allow_is_not_a_contradiction(source):
    assert derive_lineages(PROGRAMME | {"B": TreeFacts("B1a", "N4", source=source)})[1] == []
    assert derive_lineages({"B": TreeFacts(None, "nobody", source=source)})[1] == []
    assert derive_lineages(PROGRAMME | {"B": TreeFacts("B1a", None, source=source)})[1] == []


def test_a_pollen_pool_is_the_father_without_the_mother():
    # half Heron of the mother; others: Heron 1/2, Otter 1/2, all with donor 1/4: 3/4 and 1/4
    trees = PROGRAMME | {"B1c": TreeFacts("N2", "F1a"), "lot": TreeFacts("B1a", pool="P")}
    pool = PollenPool((("B1a", None), ("B1b", None), ("B1c", None)))
    found = derive_lineages(trees, {"P": pool})[0]["lot"]
    assert found.source == {"Heron": F(3, 4), "Otter": F(1, 4)}
    assert found.line == {"L3": F(1, 2), "L4": F(1, 4), "L2": F(1, 4)}
    assert found.donor_share == F(1, 4)


def test_native_outside_pollen_leaves_the_mothers_line():
    trees = PROGRAMME | {"lot": TreeFacts("B1a", pool="P")}
    pool = PollenPool((("B1b", F(5)),), F(1, 4), "native", F(1, 4))
    found = derive_lineages(trees, {"P": pool}, {"native": F(0)})[0]["lot"]
    # source: mother 1 + selfing 1/4 against 1/2 of Otter, all of donor share 1/4; line: half of B1b in half of the seed
    assert found.source == {"Heron": F(5, 7), "Otter": F(2, 7)}
    assert found.line == {"L3": F(3, 4), "L4": F(1, 4)}
    assert found.donor_share == F(1, 2) * (F(1, 4) + F(3, 4) * F(1, 4))


def test_pollen_of_unknown_source_is_not_stated():
    trees = PROGRAMME | {"lot": TreeFacts("B1a", pool="P"), "alone": TreeFacts("B1a", pool="Q"), "none": TreeFacts("B1a", pool="R")}
    pools = {"P": PollenPool((("B1a", None), ("B1b", None)), F(1, 2)), "Q": PollenPool((("B1a", None),))}
    found = derive_lineages(trees, pools)[0]
    assert found["lot"].source == {"Heron": F(1, 2), "Otter": F(1, 4), NOT_STATED: F(1, 4)}
    assert found["alone"].source == found["none"].source == {"Heron": F(1, 2), NOT_STATED: F(1, 2)}


@given(st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11)), max_size=12), st.lists(st.integers(1, 9), min_size=11, max_size=11))
def test_mixtures_sum_to_one_and_one_source_never_mixes(pairs, weights):
    names = list(PROGRAMME)
    trees = dict(PROGRAMME)
    pool = PollenPool(tuple((name, F(weight)) for name, weight in zip(names, weights, strict=True)), F(1, 9), "native", F(1, 9))
    for number, (mother, father) in enumerate(pairs):
        trees[f"x{number}"] = TreeFacts(names[mother % len(names)], names[father % len(names)]) if father < 11 else TreeFacts(
            names[mother % len(names)], pool="P"
        )  # fmt: skip
        names.append(f"x{number}")
    found, contradictions = derive_lineages(trees, {"P": pool}, {"native": F(0)})
    assert contradictions == []
    for lineage in found.values():
        assert sum(lineage.line.values()) == 1
        assert not lineage.source or sum(lineage.source.values()) == 1
        assert bool(lineage.source) == (lineage.donor_share != 0)
    only = {name: facts._replace(source="Heron" if facts.source or facts.donor_share == 1 else "") for name, facts in trees.items()}
    assert {frozenset(lineage.source) for lineage in derive_lineages(only, {"P": pool}, {"native": F(0)})[0].values()} <= {
        frozenset(), frozenset(["Heron"]),
    }  # fmt: skip


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), max_size=20))
def test_sources_split_the_donor_genome(pairs):
    # computed apart: the shares of the first hybrids as founders (Allard 1960), each half of donor species
    sources = {"F1a": "Heron", "F1b": "Otter", "F1c": "Sable"}
    trees = {name: TreeFacts("N1", "J1", source=label) for name, label in sources.items()}
    trees |= {name: PROGRAMME[name] for name in ("N1", "N2", "J1")}
    names = ["F1a", "F1b", "F1c", "N1", "N2"]
    parts = {}
    for number, pair in enumerate(pairs):
        mother, father = (names[place % len(names)] for place in pair)
        names.append(f"x{number}")
        trees[names[-1]] = TreeFacts(mother, father)
        parts[names[-1]] = [(mother, F(1, 2)), (father, F(1, 2))]
    found, _ = derive_lineages(trees)
    for name in names[5:]:
        shares = shares_of_parts(parts, name)
        through = {label: shares.get(first, F(0)) / 2 for first, label in sources.items()}
        donor = sum(through.values())
        assert found[name].donor_share == donor
        assert found[name].source == {label: share / donor for label, share in through.items() if share}


def test_a_circle_of_parents_has_only_what_it_states():
    trees = PROGRAMME | {"a": TreeFacts("b", "N1"), "b": TreeFacts("a", "N1", source="Heron"), "below": TreeFacts("a", "N2")}
    found, contradictions = derive_lineages(trees)
    assert (found["a"].source, found["b"].source, found["below"].line) == (one(NOT_STATED), one("Heron"), one(NOT_STATED))
    assert contradictions == []
    assert found["B1a"].source == one("Heron")


def test_a_deep_pedigree_is_read_and_like_trees_share_a_mixture():
    trees = PROGRAMME | {"0": TreeFacts("B1a", "B1b")}
    trees |= {str(number): TreeFacts(str(number - 1), str(number - 1)) for number in range(1, 20_000)}
    tracemalloc.start()
    found, _ = derive_lineages(trees)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert found["19999"].source is found["0"].source
    assert peak < 20_000 * 2_000  # bytes: a fixed number for each tree, however deep


def test_labels_say_the_shares():
    assert mixture_label({}) == NOT_STATED
    assert mixture_label(one("Heron")) == "Heron"
    assert mixture_label({"Otter": F(1, 2), "Heron": F(1, 2)}) == "mixed (Heron 1/2, Otter 1/2)"
    assert mixture_label({NOT_STATED: F(3, 4), "Heron": F(1, 4)}) == "mixed (Heron 1/4, not stated 3/4)"


def test_labels_round_odd_fractions_and_group_small_shares():
    assert mixture_label({"Heron": F(88, 118), "Otter": F(30, 118)}) == "mixed (Heron about 3/4, Otter about 1/4)"
    assert mixture_label({"Heron": F(99, 100), "Otter": F(1, 100)}) == "mixed (Heron about 63/64, Otter about 1/64)"
    assert mixture_label({"Heron": F(999, 1000), "Otter": F(1, 1000)}) == "mixed (Heron about 63/64, Otter about 1/64)"
    lines = {"L0": F(1, 2)} | {f"L{number}": F(1, 38) for number in range(1, 20)}
    assert mixture_label(lines) == "mixed (L0 1/2, others 1/2)"
    assert mixture_label({f"L{number}": F(1, 5) for number in range(5)}) == "mixed (5 together)"
    assert (
        mixture_label({f"L{number}": F(1, 10) for number in range(5)} | {NOT_STATED: F(1, 2)}) == "mixed (5 together 1/2, not stated 1/2)"
    )


def test_a_bulk_is_weighed_by_its_counts():
    assert blended_labels([({"A": F(1, 2), "B": F(1, 2)}, 10), ({}, 30)]) == {"A": F(1, 8), "B": F(1, 8), NOT_STATED: F(3, 4)}
    for parts in ([], [(one("A"), 0)], [(one("A"), 2), (one("B"), -1)]):
        with pytest.raises(ValueError, match="weights"):
            blended_labels(parts)


def test_three_near_equal_shares_are_not_printed_as_nine_eighths():
    near_thirds = {"Schoharie": F(33, 99) + F(1, 200), "Tioga": F(33, 99), "Chenango": F(33, 99) - F(1, 200)}
    assert mixture_label(near_thirds) == "mixed (Schoharie about 3/8, Tioga about 3/8, Chenango about 1/4)"


@given(st.lists(st.integers(1, 40_000), min_size=2, max_size=9), st.booleans())
def test_the_shares_a_label_prints_sum_to_one(weights, silent):
    labels = [f"L{number}" for number in range(len(weights) - silent)] + [NOT_STATED] * silent
    said = mixture_label({label: F(weight, sum(weights)) for label, weight in zip(labels, weights, strict=True)})
    printed = [part.rpartition(" ")[2] for part in said.removeprefix("mixed (").removesuffix(")").split(", ")]
    assert said.endswith(" together)") or sum(map(F, printed)) == 1
