"""Material classes down the pedigree. Shares: each parent gives half (Allard 1960, Principles of Plant Breeding); the rest by hand."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from registry.calc.pedigree.expected_shares import founder_shares, species_shares
from registry.calc.pedigree.pedigree import read_pedigree
from registry.compliance.gate.classes import Classes, ClassRule, Lot, Own, Pool, Tree, material_classes, with_form

DONOR, NATIVE = Own(("Juglans ailantifolia",)), Own(("Juglans cinerea",))
RULES = [
    ClassRule("donor", "donor ancestry", "donor_ancestry", taxa=("Juglans ailantifolia",)),
    ClassRule("engineered", "regulated engineered", "engineered"),
    ClassRule("host", "quarantine host", "taxon", taxa=("Juglans",)),
    ClassRule("protected", "protected species", "taxon", taxa=("Juglans cinerea",)),
    ClassRule("pathogen", "live pathogen", "pathogen"),
    ClassRule("imported", "came from abroad", "declared"),
    ClassRule("line7", "under agreement 7 with all offspring", "declared", is_inherited=True),
    ClassRule("pollen", "pollen", "form", forms=("pollen",)),
]
GE = Own(is_engineered=True)
CLEAN = Fraction(0)


def trees_of(trees, pools=None):
    return material_classes(RULES, trees, pools or {}, {})[0]


def lot_of(lot, trees=None, pools=None, more=None):
    return material_classes(RULES, trees or {}, pools or {}, {"L": lot, **(more or {})})[1]["L"]


def test_even_a_small_donor_share_reaches_every_descendant():
    trees = {"D": Tree(own=DONOR), "N": Tree(own=NATIVE), "B0": Tree("N", "D")}
    trees |= {f"B{n}": Tree("N", f"B{n - 1}") for n in range(1, 40)}
    assert {"donor" in found.certain for name, found in trees_of(trees).items() if name.startswith("B")} == {True}
    assert "donor" not in trees_of(trees)["N"].certain


def test_a_share_that_was_computed_is_enough_without_parents():
    own = Own(("Juglans ×bixbyi",), shares={"Juglans ailantifolia": Fraction(1, 2**60), "Juglans cinerea": 1 - Fraction(1, 2**60)})
    assert lot_of(Lot(own=own)).certain == ("donor", "host")
    assert lot_of(Lot(own=Own(shares={"Juglans ailantifolia": Fraction(0)}))) == Classes()


def test_a_share_of_nothing_takes_away_no_class_the_parents_give():
    trees = {"D": Tree(own=DONOR)}
    assert "donor" in lot_of(Lot(mother="D", own=Own(shares={"Juglans ailantifolia": Fraction(0)})), trees).certain


def test_taxon_and_pathogen_are_not_inherited_by_seed():
    trees = {"N": Tree(own=Own(("Juglans cinerea",), has_pathogen=True))}
    assert trees_of(trees)["N"].certain == ("host", "pathogen", "protected")
    assert lot_of(Lot(mother="N"), trees) == Classes()


def test_a_lot_raised_from_another_is_the_same_material():
    trees = {"N": Tree(own=NATIVE)}
    seed = Lot(mother="N", own=Own(("Juglans cinerea",), has_pathogen=True, declared=("imported",)))
    assert lot_of(Lot(parent="S"), trees, more={"S": seed}).certain == ("host", "imported", "pathogen", "protected")


def test_declared_classes_follow_the_seed_only_where_the_rule_says_so():
    assert lot_of(Lot(mother="M"), {"M": Tree(own=Own(declared=("imported", "line7")))}).certain == ("line7",)


def test_every_descendant_of_an_engineered_tree_is_engineered():
    trees = {"G": Tree(own=GE), "N": Tree(own=NATIVE), "A": Tree("N", "G"), "B": Tree("A", "N"), "C": Tree("N", "B")}
    assert [trees_of(trees)[name].certain for name in "ABC"] == [("engineered",)] * 3


POOLS = [
    ("one engineered tree in the pool: perhaps", ("G", "N"), CLEAN, (), Classes((), ("engineered",))),
    ("all trees of a closed pool engineered: certain", ("G", "G2"), CLEAN, (), Classes(("engineered",), ())),
    ("all engineered but pollen comes from outside: perhaps", ("G", "G2"), Fraction(1, 10), (), Classes((), ("engineered",))),
    ("all engineered and the outside share not declared: perhaps", ("G", "G2"), None, (), Classes((), ("engineered",))),
    ("no engineered tree and nothing from outside: not", ("N",), CLEAN, (), Classes()),
    ("the outside pollen is declared as such: perhaps", ("N",), Fraction(3, 20), ("engineered",), Classes((), ("engineered",))),
    ("declared as such, the share not declared: perhaps", ("N",), None, ("engineered",), Classes((), ("engineered",))),
    ("declared as such, but nothing comes from outside: not", ("N",), CLEAN, ("engineered",), Classes()),
    ("a pool without trees tells nothing for certain", (), CLEAN, (), Classes()),
    ("a class that is not inherited does not come through pollen", ("P",), CLEAN, (), Classes()),
]


@pytest.mark.parametrize(("members", "share", "outside", "expected"), [case[1:] for case in POOLS], ids=[case[0] for case in POOLS])
def test_through_a_pollen_pool(members, share, outside, expected):
    trees = {"G": Tree(own=GE), "G2": Tree(own=GE), "N": Tree(own=NATIVE), "P": Tree(own=Own(has_pathogen=True))}
    assert lot_of(Lot(mother="N", pool="Q"), trees, {"Q": Pool(members, share, outside)}) == expected


def test_a_possible_class_becomes_certain_by_a_certain_parent():
    trees = {"G": Tree(own=GE), "N": Tree(own=NATIVE), "A": Tree("N", pool="Q"), "B": Tree("A", "N"), "C": Tree("B", "G")}
    found = trees_of(trees, {"Q": Pool(("G", "N"), CLEAN)})
    assert (found["B"], found["C"]) == (Classes((), ("engineered",)), Classes(("engineered",), ()))


def test_a_bulk_has_what_any_component_has():
    trees = {"G": Tree(own=GE), "N": Tree(own=NATIVE)}
    more = {"S1": Lot(mother="G"), "S2": Lot(mother="N", pool="Q", own=NATIVE)}
    found = lot_of(Lot(components=("S1", "S2")), trees, {"Q": Pool(("N",), None, ("line7",))}, more)
    assert found == Classes(("engineered", "host", "protected"), ("line7",))


@pytest.mark.parametrize(
    ("form", "expected"),
    [
        ("pollen", Classes(("pollen",), ("engineered",))),
        ("seed", Classes((), ("engineered",))),
        ("", Classes((), ("engineered", "pollen"))),
    ],
)
def test_the_form_adds_its_class(form, expected):
    assert with_form(RULES, Classes((), ("engineered",)), form) == expected


@pytest.mark.parametrize(
    ("rules", "trees", "lots", "told"),
    [
        (RULES, {"A": Tree("B")}, {}, "Tree A names tree B, which is not there"),
        (RULES, {"A": Tree(pool="Q")}, {}, "Tree A names pool Q"),
        (RULES, {}, {"L": Lot(components=("M",))}, "Lot L names lot M"),
        (RULES, {"A": Tree("B"), "B": Tree("A")}, {}, "Tree A descends from itself"),
        (RULES, {}, {"L": Lot(parent="L")}, "Lot L descends from itself"),
        (RULES, {"A": Tree(own=Own(declared=("odd",)))}, {}, "Class odd, declared of tree A, has no rule"),
        ([ClassRule("x", "x", "colour")], {}, {}, "Class x goes by “colour”, which is not known"),
        ([*RULES, RULES[0]], {}, {}, "Two class rules have the code donor"),
    ],
)
def test_what_does_not_fit_together_is_named(rules, trees, lots, told):
    with pytest.raises(ValueError, match=told):
        material_classes(rules, trees, {}, lots)


def test_a_hundred_thousand_generations_need_no_recursion():
    trees = {"T0": Tree(own=GE)} | {f"T{n}": Tree(f"T{n - 1}") for n in range(1, 100_000)}
    assert trees_of(trees)["T99999"].certain == ("engineered",)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=1, max_size=25), st.sets(st.integers(0, 3)))
def test_donor_ancestry_is_exactly_an_expected_share_above_zero(pairs, donors):
    # founders F0 to F3, then crosses of earlier trees; shares come from the exact pedigree computing of the registry
    names = [f"F{n}" for n in range(4)]
    rows = []
    for mother, father in pairs:
        rows.append((f"T{len(names)}", names[mother % len(names)], names[father % len(names)]))
        names.append(rows[-1][0])
    species = {f"F{n}": "Juglans ailantifolia" if n in donors else "Juglans cinerea" for n in range(4)}
    trees = {f"F{n}": Tree(own=Own((species[f"F{n}"],))) for n in range(4)} | {name: Tree(mother, father) for name, mother, father in rows}
    found, pedigree = trees_of(trees), read_pedigree(rows)
    for name, *_ in rows:
        share = species_shares(founder_shares(pedigree, name), species).get("Juglans ailantifolia", 0)
        assert ("donor" in found[name].certain) is (share > 0)
        assert found[name].may == ()


HYBRID = Own(("Juglans ×bixbyi",))


@pytest.mark.parametrize(
    ("lot", "expected"),
    [
        (Lot(mother="N", father="D", own=HYBRID), Classes(("donor", "host", "protected"), ())),
        (Lot(mother="F1", father="D", own=HYBRID), Classes(("donor", "host", "protected"), ())),
        (Lot(mother="D", own=HYBRID), Classes(("donor", "host"), ("protected",))),
        (Lot(own=HYBRID), Classes(("host",), ("donor", "protected"))),
        (Lot(own=Own(("Juglans ×bixbyi",), parent_taxa=("Juglans cinerea", "Juglans nigra"))), Classes(("host", "protected"), ())),
        (Lot(own=Own(("Juglans cinerea × J. nigra",))), Classes(("host", "protected"), ())),
        (Lot(mother="D", pool="Q", own=HYBRID), Classes(("donor", "host", "protected"), ())),
        (Lot(mother="D", pool="OUT", own=HYBRID), Classes(("donor", "host"), ("protected",))),
    ],
)
def test_a_hybrid_falls_into_the_classes_of_either_parent_species(lot, expected):
    trees = {"N": Tree(own=NATIVE), "D": Tree(own=DONOR), "F1": Tree("N", "D", own=HYBRID)}
    assert lot_of(lot, trees, {"Q": Pool(("N",), CLEAN), "OUT": Pool(("D",), None)}) == expected
