"""Names of taxa as people write them. Ranks, hybrid signs and formulas by the International Code of Nomenclature (from memory)."""

import pytest

from registry.compliance.gate.classes import Classes, ClassRule, Own, material_classes
from registry.compliance.gate.material import Descent, Lot, Tree
from registry.compliance.gate.places import NO, UNKNOWN, YES
from registry.compliance.shared.earlier_taxa import covered_before_6, named_before_6
from registry.compliance.shared.taxa import covered, named
from registry.compliance.shared.taxon_names import Name, read_name
from tests.compliance.scene import answer, asked, finding, line, paper, reasons, rule

BOTH = ("Juglans ailantifolia", "Juglans cinerea")


@pytest.mark.parametrize(
    ("written", "genus", "species", "below"),
    [
        ("Juglans", "juglans", "", ()),
        ("Juglans L.", "juglans", "", ()),
        ("Juglans sp.", "juglans", "", ()),
        ("Juglans spp.", "juglans", "", ()),
        ("JUGLANS CINEREA", "juglans", "cinerea", ()),
        ("juglans  cinerea", "juglans", "cinerea", ()),
        ("Juglans cinerea L.", "juglans", "cinerea", ()),
        ("Juglans ailantifolia Carrière", "juglans", "ailantifolia", ()),
        ("Juglans mandshurica Maxim. ex Rupr.", "juglans", "mandshurica", ()),
        ("Juglans cinerea L. f.", "juglans", "cinerea", ()),
        ("Quercus ilex L. f. alba Lam.", "quercus", "ilex", ("alba",)),
        ("Juglans ailantifolia var. cordiformis (Makino) Rehder", "juglans", "ailantifolia", ("cordiformis",)),
        ("Juglans ailantifolia cordiformis", "juglans", "ailantifolia", ("cordiformis",)),
        ("Populus balsamifera L. subsp. trichocarpa (Torr. & A.Gray ex Hook.) Brayshaw", "populus", "balsamifera", ("trichocarpa",)),
        ("Juglans cinerea 'Mitchell'", "juglans", "cinerea", ()),
        ("Crataegus crus-galli L.", "crataegus", "crus-galli", ()),
    ],
)
def test_a_name_is_read_without_its_authors(written, genus, species, below):
    assert read_name(written) == Name(genus, species, below)


@pytest.mark.parametrize("written", ["Juglans ×bixbyi", "Juglans × bixbyi", "Juglans x bixbyi Rehder", "× Sorbaronia mitschurinii"])
def test_a_hybrid_sign_is_read_wherever_it_is_written(written):
    name = read_name(written)
    assert name.is_hybrid and name.species and not name.parents


@pytest.mark.parametrize(
    "written",
    [
        "Juglans ailantifolia × Juglans cinerea",
        "Juglans cinerea x J. ailantifolia",
        "Juglans cinerea L. × ailantifolia Carrière",
        "(Juglans cinerea × J. ailantifolia) × J. cinerea",
    ],
)
def test_a_hybrid_formula_names_both_parents(written):
    assert {(parent.genus, parent.species) for parent in read_name(written).parents} == {
        ("juglans", "ailantifolia"),
        ("juglans", "cinerea"),
    }


@pytest.mark.parametrize(
    ("written", "genus", "species", "parents"),
    [
        ("×Carylans (Carya × Juglans)", "carylans", "", ["carya", "juglans"]),
        ("xCarylans (Carya x Juglans)", "carylans", "", ["carya", "juglans"]),
        ("× Carylans = Carya × Juglans", "carylans", "", ["carya", "juglans"]),
        ("×Sorbaronia mitschurinii (Sorbus aucuparia × Aronia melanocarpa)", "sorbaronia", "mitschurinii", ["aronia", "sorbus"]),
        ("Juglans ×bixbyi (J. ailantifolia × J. cinerea)", "juglans", "bixbyi", ["juglans", "juglans"]),
    ],
)
def test_a_name_can_have_its_formula_behind_it(written, genus, species, parents):
    name = read_name(written)
    assert (name.genus, name.species, [parent.genus for parent in name.parents]) == (genus, species, parents)
    assert name.is_hybrid and not name.is_formula


def test_a_formula_in_brackets_that_is_a_parent_is_no_other_name():
    name = read_name("Juglans nigra × (J. cinerea × J. regia)")
    assert name.is_formula and [parent.species for parent in name.parents] == ["cinerea", "nigra", "regia"]


@pytest.mark.parametrize(
    "written", ["", "?", "Juglans Cinerea", "Juglans cinerea var.", "Juglans cinerea L. walnuts", "walnut tree no. 7", "J. cinerea", "12"]
)
def test_what_is_not_a_name_is_refused(written):
    with pytest.raises(ValueError, match="“"):
        read_name(written)


@pytest.mark.parametrize(
    ("listed", "taxon", "parents", "expected"),
    [
        ("Juglans spp.", "Juglans cinerea", (), YES),
        ("Juglans L.", "Juglans ×bixbyi", (), YES),
        ("Juglans", "Carya ovata", (), NO),
        ("Juglans cinerea L.", "Juglans cinerea", (), YES),
        ("Juglans cinerea", "Juglans cinerea var. alba", (), YES),
        ("Juglans ailantifolia var. cordiformis", "Juglans ailantifolia", (), UNKNOWN),
        ("Juglans ailantifolia var. cordiformis", "Juglans ailantifolia var. alba", (), NO),
        ("Juglans cinerea", "Juglans", (), UNKNOWN),
        ("Juglans cinerea", "Juglans sp.", (), UNKNOWN),
        ("Juglans cinerea", "Juglans ×bixbyi", BOTH, YES),
        ("Juglans ailantifolia", "Juglans ×bixbyi", BOTH, YES),
        ("Juglans nigra", "Juglans ×bixbyi", BOTH, NO),
        ("Juglans nigra", "Juglans ×bixbyi", (), UNKNOWN),
        ("Juglans cinerea", "Juglans cinerea × Juglans ailantifolia", (), YES),
        ("Carya", "Juglans nigra × Carya ovata", (), YES),
        ("Juglans cinerea × J. ailantifolia", "Juglans ×bixbyi", BOTH, YES),
        ("Juglans cinerea × J. ailantifolia", "Juglans ×bixbyi", (), UNKNOWN),
        ("Juglans cinerea × J. ailantifolia", "Juglans cinerea", (), NO),
        ("Juglans cinerea × J. ailantifolia", "Juglans ailantifolia x Juglans cinerea L.", (), YES),
        ("Juglans", "×Carylans (Carya × Juglans)", (), YES),
        ("Juglans", "Carya × Juglans", (), YES),
        ("Carya", "×Carylans", ("Carya × Juglans",), YES),
        ("Carya", "Carylans", ("Carya × Juglans",), YES),
        ("Quercus", "×Carylans", ("Carya × Juglans",), NO),
        ("Juglans", "×Carylans", (), UNKNOWN),
        ("Juglans regia", "×Carylans (Carya × Juglans)", (), UNKNOWN),
        ("Juglans regia", "×Carylans (Carya illinoinensis × Juglans regia)", (), YES),
        ("Juglans nigra", "×Carylans (Carya illinoinensis × Juglans regia)", (), NO),
        ("×Carylans", "×Carylans (Carya × Juglans)", (), YES),
        ("×Carylans (Carya × Juglans)", "×Carylans", (), YES),
        ("×Carylans (Carya × Juglans)", "Carya illinoinensis × Juglans regia", (), YES),
        ("×Carylans (Carya × Juglans)", "Juglans regia", (), NO),
        ("×Carylans", "Carya illinoinensis × Juglans regia", (), UNKNOWN),
        ("×Carylans", "Juglans nigra × Juglans regia", (), NO),
        ("Carya × Juglans", "×Carylans", (), UNKNOWN),
        ("Carya", "×Carylans", ("Juglans regia", "× Carylans"), UNKNOWN),
        ("Juglans nigra", "Juglans ×bixbyi", ("Juglans cinerea", "Juglans ×intermedia"), UNKNOWN),
        ("Juglans cinerea × J. ailantifolia", "Juglans ×bixbyi", ("Juglans", "Juglans cinerea"), UNKNOWN),
        ("Juglans ×bixbyi", "Juglans ×bixbyi (J. ailantifolia × J. cinerea)", (), YES),
        ("walnut tree no. 7", "Carya ovata", (), UNKNOWN),
        ("Carya ovata", "a nut of some kind", (), NO),
    ],
)
def test_a_rule_takes_in_what_its_name_means(listed, taxon, parents, expected):
    assert named([listed], [taxon], parents) == expected


@pytest.mark.parametrize(
    ("taxon", "listed", "parents", "expected"),
    [
        ("Juglans cinerea", "Juglans spp.", (), True),
        ("Juglans cinerea var. alba", "Juglans cinerea L.", (), True),
        ("Juglans cinerea", "Juglans cinerea var. alba", (), False),
        ("Juglans ×bixbyi", "Juglans cinerea", BOTH, False),
        ("Juglans ×bixbyi", "Juglans cinerea × J. ailantifolia", BOTH, True),
        ("Juglans ×bixbyi", "Juglans cinerea × J. ailantifolia", (), False),
        ("Juglans nigra × Carya ovata", "Juglans", (), False),
        ("×Carylans (Carya × Juglans)", "Juglans", (), False),
        ("×Carylans (Carya × Juglans)", "×Carylans", (), True),
        ("×Carylans", "Juglans", (), False),
        ("Carya ovata × Juglans nigra", "Carya × Juglans", (), True),
        ("Carya × Juglans", "Carya ovata × Juglans nigra", (), False),
        ("Juglans ×bixbyi (J. ailantifolia × J. cinerea)", "Juglans ×bixbyi", (), True),
        ("Juglans", "Juglans cinerea", (), False),
        ("Juglans cinerea", "walnut tree no. 7", (), False),
    ],
)
def test_a_paper_covers_only_what_its_name_holds_as_a_whole(taxon, listed, parents, expected):
    assert covered(taxon, [listed], parents) is expected


@pytest.mark.parametrize("listed", ["Juglans spp.", "Juglans L.", "Juglans cinerea L.", "Juglans ailantifolia × J. cinerea"])
def test_a_rule_is_not_silenced_by_how_its_taxon_is_written(listed):
    hybrid = line(taxa=("Juglans ×bixbyi",), parent_taxa=BOTH)
    assert finding(answer(asked(lines=(hybrid,)), [rule(classes=(), taxa=(listed,))], papers=[])).status == "missing"


def test_a_rule_that_may_be_meant_says_so():
    found = finding(answer(asked(lines=(line(taxa=("Juglans",)),)), [rule(classes=(), taxa=("Juglans cinerea",))]))
    assert found.notes == ("Whether lot P25-01 (Juglans) is one of Juglans cinerea is not known, so the rule is taken to apply.",)


def test_a_paper_for_a_genus_covers_however_it_is_written():
    assert finding(answer(papers=[paper(taxa=("Juglans L.",))])).status == "met"
    assert reasons(answer(papers=[paper(taxa=("Juglans cinerea",))])) == [
        "taxon: wrong taxon: it covers Juglans cinerea, this is Juglans ×bixbyi"
    ]


def test_a_question_of_an_earlier_edition_compares_names_as_before():
    before = asked(lines=(line(taxa=("Juglans cinerea var. alba",)),), edition=3)
    assert reasons(answer(before, papers=[paper(taxa=("Juglans cinerea",))])) != []
    assert [one.kind for one in answer(before, [rule(classes=(), taxa=("Juglans spp.",))]).findings] == ["no_rule"]


def test_an_unknown_parent_of_a_hybrid_genus_may_be_of_any_genus():
    lots = {"L1": Lot(mother="T1", own=Own(("×Carylans",))), "L2": Lot(own=Own(("Carylans",), parent_taxa=("Carya × Juglans",)))}
    found = Descent({"T1": Tree(own=Own(("Juglans regia",)))}, {}, lots).parent_taxa()
    assert found == {("lot", "L1"): ("Juglans regia", "× Carylans"), ("lot", "L2"): ("Carya × Juglans",)}
    assert [named([genus], ["×Carylans"], found["lot", "L1"]) for genus in ("Juglans", "Carya")] == [YES, UNKNOWN]


def test_the_answer_says_that_the_parents_of_a_hybrid_genus_are_unknown():
    hybrid, known = line(taxa=("×Carylans",), parent_taxa=()), line(taxa=("×Carylans (Carya × Juglans)",), parent_taxa=())
    walnuts = [rule(classes=(), taxa=("Juglans",))]
    notes = finding(answer(asked(lines=(hybrid,)), walnuts, papers=[])).notes
    assert [note for note in notes if "is one of Juglans is not known" in note and "×Carylans" in note]
    assert finding(answer(asked(lines=(known,)), walnuts, papers=[])).notes == ()


@pytest.mark.parametrize(
    ("listed", "taxa", "parents", "paper_taxa"),
    [
        ("Juglans", "×Carylans (Carya × Juglans)", (), "Quercus"),
        ("Juglans", "×Carylans", (), "Quercus"),
        ("Carya", "Carylans", ("Carya × Juglans",), "Quercus"),
        ("Quercus", "Carya ovata × Juglans nigra", (), "Carya × Juglans"),
    ],
)
def test_answers_up_to_edition_5_compare_hybrid_genera_as_before(listed, taxa, parents, paper_taxa):
    lot = line(taxa=(taxa,), parent_taxa=parents)
    rules, papers = [rule(code="R-T", classes=(), taxa=(listed,)), rule(code="R-ALL")], [paper(taxa=(paper_taxa,))]
    now, then = (answer(asked(lines=(lot,), edition=edition), rules, papers) for edition in (6, 5))
    assert [one.code for one in then.findings if one.code == "R-T"] == []
    assert [one.code for one in now.findings if one.code == "R-T"] == (["R-T"] if listed != "Quercus" else [])
    if listed == "Quercus":
        assert (finding(now, "R-ALL").status, finding(then, "R-ALL").status) == ("met", "missing")


def test_answers_up_to_edition_5_read_other_hybrids_as_today():
    cases = [
        (["Juglans nigra"], ["Juglans ×bixbyi"], BOTH),
        (["Juglans nigra"], ["Juglans ×bixbyi"], ()),
        (["walnuts no. 7"], ["Carya"], ()),
    ]
    cases += [(["Juglans cinerea × J. ailantifolia"], ["Juglans ×bixbyi"], BOTH), (["Juglans"], ["a nut of some kind"], ())]
    assert [named_before_6(*case) for case in cases] == [named(*case) for case in cases] == [NO, UNKNOWN, UNKNOWN, YES, NO]
    papers = [("Juglans nigra × Carya ovata", ["Juglans"], ()), ("Juglans nigra × J. regia", ["Juglans"], ()), ("a nut", ["Juglans"], ())]
    assert [covered_before_6(*case) for case in papers] == [covered(*case) for case in papers] == [False, True, False]


# -- a genus or a species and the word “hybrid” --------------------------------------------------------------


@pytest.mark.parametrize("name", ["Juglans hybrid", "Juglans sp. hybrid", "JUGLANS HYBRID", "Juglans L. hybrids", "Juglans × hybrid"])
def test_a_genus_with_the_word_hybrid_may_descend_from_any_species_of_it(name):
    assert named(["Juglans cinerea"], [name]) == UNKNOWN and named(["Juglans"], [name]) == YES and named(["Carya"], [name]) == NO
    assert named(["Juglans cinerea"], [name], ["Juglans cinerea", "Juglans regia"]) == YES
    assert named(["Juglans nigra"], [name], ["Juglans cinerea", "Juglans regia"]) == NO
    assert covered(name, ["Juglans"]) and not covered(name, ["Juglans cinerea"])


@pytest.mark.parametrize("name", ["Juglans cinerea hybrid", "Juglans cinerea L. hybrid", "Juglans cinerea hybrid × Juglans sp."])
def test_a_species_with_the_word_hybrid_descends_from_it_and_is_not_of_it(name):
    assert named(["Juglans cinerea"], [name]) == YES and named(["Juglans nigra"], [name]) == UNKNOWN
    assert not covered(name, ["Juglans cinerea"])


def test_earlier_editions_took_the_word_hybrid_for_an_epithet():
    box = line(taxa=("Juglans hybrid",), classes=(), parent_taxa=())
    wanted = rule(classes=(), taxa=("Juglans cinerea",))
    for edition, applies in ((4, False), (5, False), (6, False), (7, True)):
        found = answer(asked(lines=(box,), edition=edition), rules=[wanted], papers=[paper(taxa=("Juglans hybrid",))])
        assert any(one.code == "R-WI" for one in found.findings) == applies, edition
    for edition, met in ((3, "met"), (6, "met"), (7, "met")):  # a paper that says the same name covers it in every edition
        found = answer(asked(lines=(box,), edition=edition), rules=[rule(classes=())], papers=[paper(taxa=("Juglans hybrid",))])
        assert finding(found).status == met, edition


def test_a_lot_named_a_hybrid_has_its_class_by_descent_or_perhaps():
    host = ClassRule("host", "Host", "taxon", taxa=("Juglans cinerea",))
    other = ClassRule("other", "Other", "taxon", taxa=("Juglans nigra",))
    hybrid = Own(taxa=("Juglans hybrid",))
    trees = {"M": Tree(own=Own(taxa=("Juglans cinerea",))), "F": Tree(own=Own(taxa=("Juglans regia",)))}
    lots = {"BOTH": Lot(mother="M", father="F", own=hybrid), "ONE": Lot(mother="M", own=hybrid), "NONE": Lot(own=hybrid)}
    found = material_classes([host, other], trees, {}, lots)[1]
    assert found == {"BOTH": Classes(("host",)), "ONE": Classes(("host",), ("other",)), "NONE": Classes((), ("host", "other"))}
