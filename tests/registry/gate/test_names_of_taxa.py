"""Names of taxa on rules, classes and papers: what cannot be read or takes nothing in is refused, or warned of where it is on file."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from plantings.selectors.overview.today import today_lines
from registry.forms.gate.code_lists import CodeListField
from registry.imports.gate.rules import MaterialClassSheet
from registry.models import Authorization, MaterialClass, Taxon
from registry.selectors.gate.code_lists import PLACE_CODES, TAXA_ON_FILE, TAXON_NAMES
from registry.selectors.gate.questions import material_lines
from registry.services.shared.records import record_save
from tests import factories
from tests.registry.gate.gate_records import permit, rule
from tests.registry.sheets.sheet_help import load, refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def taxa():
    names = {"Juglans cinerea": "native", "Juglans ailantifolia": "donor", "Juglans ×bixbyi": "hybrid"}
    found = {name: factories.taxon(name=name, role=role) for name, role in names.items()}
    Taxon.objects.filter(name="Juglans cinerea").update(common_name="Butternut")
    Taxon.objects.filter(name="Juglans ×bixbyi").update(hybrid_of="Juglans ailantifolia × Juglans cinerea")
    return found


@pytest.mark.parametrize(
    "typed", ["Juglans spp.", "Juglans L.", "Juglans cinerea L.", "juglans cinerea", "Juglans cinerea × J. ailantifolia"]
)
def test_a_paper_names_a_taxon_in_any_usual_way(taxa, typed):
    assert CodeListField(codes=TAXA_ON_FILE).clean(typed)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("Juglan", "“Juglan” is not on file, but Juglans is. Correct it"),
        ("Juglans cineria", "“Juglans cineria” is not on file, but Juglans cinerea is"),
        ("Juglans Nigra", "Write species in small letters"),
        ("12", "is not a name of a taxon"),
        ("Juglandaceae", "“Juglandaceae” is a family or an order. Write the genera"),
        ("Juglans and Carya", "“and” is not part of a name. Write each name by itself"),
        ("genus Juglans", "“genus” is not part of a name"),
        ("Juglans spp. except Juglans nigra", "a name cannot leave anything out"),
        ("butternut", "“butternut” is the common name of Juglans cinerea. Write that name"),
    ],
)
def test_a_rule_refuses_a_name_that_would_silence_it(taxa, typed, words):
    with pytest.raises(ValidationError, match=words):
        CodeListField(codes=TAXON_NAMES).clean(typed)


def test_a_rule_about_no_place_is_refused_and_warned_of(lead):
    box = CodeListField(codes=PLACE_CODES)
    for typed in ("US, outside US", "US-VT/Chittenden, CA-ON, outside US-VT, outside CA", "site:ST-01, outside site:ST-01"):
        with pytest.raises(ValidationError, match="no place fits, since what is named is also left out"):
            box.clean(typed)
    for typed in ("US, outside US-VT", "outside US, outside CA", "US-VT, CA, outside US"):
        assert box.clean(typed)
    rule(code="EX-R1", classes=[], destinations=["US-VT", "outside US-VT"])
    rule(code="EX-R2", classes=[], taxa=["Juglandaceae"])
    rule(code="EX-R3", classes=[], taxa=["Juglandaceae", "Carya"])
    MaterialClass.objects.create(code="host", title="Host", rule="taxon", taxa=["Juglans and Carya"])
    rule(code="EX-R4", classes=["host"])
    said = [line.text for line in today_lines(lead, date(2026, 11, 25)) if "never applies" in line.text]
    assert [text.split()[1] for text in said] == ["EX-R1", "EX-R2", "EX-R4"]
    assert "no place fits" in said[0] and "“Juglandaceae” is a family or an order" in said[1] and "“and” is not part of a name" in said[2]


def test_a_rule_may_name_a_genus_the_programme_does_not_grow(client, lead, taxa):
    assert CodeListField(codes=TAXON_NAMES).clean("Castanea; Castanopsis") == ["Castanea", "Castanopsis"]
    kept = rule(classes=[], taxa=["Castanea"])
    client.force_login(lead)
    page = client.get(reverse("requirement_detail", args=[kept.pk])).content.decode()
    assert "No taxon on file is Castanea. Check the spelling" in page


def test_a_class_without_a_taxon_cannot_be_loaded():
    head = "Class,Title,What falls into it,Species or genera\n"
    assert "needs at least one of them" in " ".join(refused(MaterialClassSheet, head + "host,Host,taxon,\n"))
    load(MaterialClassSheet, head + "host,Host,taxon,Juglans spp.\n")
    assert MaterialClass.objects.get().taxa == ["Juglans spp."]


def test_a_class_on_file_without_a_taxon_is_warned_of(client, lead):
    empty = MaterialClass.objects.create(code="host", title="Host", rule="taxon")
    kept = rule(classes=["host"])
    client.force_login(lead)
    for name, record in (("materialclass_detail", empty), ("requirement_detail", kept)):
        assert "names no species or genus" in client.get(reverse(name, args=[record.pk])).content.decode()
    lines = [line.text for line in today_lines(lead, date(2026, 4, 1))]
    assert "Rule EX-R1 Hybrids into Vermont never applies. Material class host: It names no species or genus, so nothing falls into it. Name them." in lines  # fmt: skip
    record_save(actor=lead, obj=_with(empty, taxa=["Juglans"]))
    assert not [line for line in today_lines(lead, date(2026, 4, 1)) if "never applies" in line.text]


def _with(record, **values):
    for name, value in values.items():
        setattr(record, name, value)
    return record


@pytest.mark.parametrize(
    "named", ["Juglans cinerea L.", "Juglans spp.", "Juglans ailantifolia Carrière", "Juglans ailantifolia × J. cinerea"]
)
def test_a_seed_lot_of_a_hybrid_falls_under_a_rule_on_either_parent(lead, taxa, named):
    MaterialClass.objects.create(code="listed", title="Listed", rule="taxon", taxa=[named])
    mother = factories.pedigree_tree(taxon=taxa["Juglans cinerea"])
    lot = factories.seed_lot(actor=lead, seeds=10, mother=mother, taxon=taxa["Juglans ×bixbyi"])
    (line,) = material_lines([(lot, "seed", 10)])
    assert "listed" in line.classes


def test_a_seed_lot_of_a_hybrid_inherits_the_class_of_its_protected_mother(lead):
    MaterialClass.objects.create(code="protected", title="Protected", rule="taxon", taxa=["Juglans cinerea"])
    hybrid = factories.taxon(name="Juglans ×bixbyi", role="hybrid")
    mother = factories.pedigree_tree(taxon=factories.taxon(name="Juglans cinerea"))
    lot = factories.seed_lot(actor=lead, seeds=10, mother=mother, taxon=hybrid)
    (line,) = material_lines([(lot, "seed", 10)])
    assert line.classes == ("protected",) and line.parent_taxa == ("Juglans", "Juglans cinerea")


def test_a_permit_for_a_genus_is_amended_on_screen(client, lead, taxa):
    paper = permit(lead, limits={"taxa": ["Juglans"]}, with_document=False, cap_quantity=700, cap_unit="plants")
    client.force_login(lead)
    form = client.get(reverse("authorization_edit", args=[paper.pk])).context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "")}
    answer = client.post(
        reverse("authorization_edit", args=[paper.pk]), data | {"cap_quantity": "900", "taxa": "Juglans spp.", "reason": "letter"}
    )
    assert answer.status_code == 302, answer.context["form"].errors
    assert Authorization.objects.get().versions.last().taxa == ["Juglans spp."]


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [("hybrid_of", "Juglans cinerea", "names one parent"), ("name", "Juglans Cinerea", "Write species in small letters")],
)
def test_a_taxon_has_a_name_that_can_be_read(lead, field, value, words):
    values = {"name": "Juglans ×bixbyi", "role": "hybrid", field: value}
    with pytest.raises(ValidationError, match=words):
        record_save(actor=lead, obj=Taxon(**values))
