"""The tables of fields: a rule and what a paper covers have the same fields on page, form, sheet and export and in the gate's facts."""

import dataclasses
from datetime import date

import pytest
from django import forms
from django.db import models
from django.urls import reverse

from registry.compliance.gate import facts
from registry.forms.gate.code_lists import declared_boxes
from registry.forms.gate.rules import RequirementForm, RequirementVerifyForm
from registry.forms.permits.authorizations import AuthorizationForm
from registry.imports.gate.code_cells import CodesCell
from registry.imports.gate.rules import RequirementSheet
from registry.imports.permits.authorizations import AuthorizationSheet
from registry.imports.sheets.cells.cell import CellError
from registry.imports.sheets.reading_options import ReadingOptions
from registry.models import Authorization, AuthorizationVersion, MaterialClass, Requirement
from registry.selectors.gate.facts import papers_on_file, rules_on_file
from registry.selectors.gate.rule_fields import RULE_FIELDS
from registry.selectors.permits.covers import COVERS
from registry.views.gate.rules import RequirementDetailView
from registry.views.permits.authorizations import AuthorizationDetailView
from tests import factories

pytestmark = pytest.mark.django_db
RULE_NAMES = {field.name for field in RULE_FIELDS}
COVER_NAMES = {field.name for field in COVERS}
LISTS = {
    "activities": ["dispatch"], "classes": ["hybrid"], "forms": ["seed"], "taxa": ["Juglans"], "origins": ["outside US-VT"],
    "destinations": ["US-VT"], "transits": ["US-NY"],
}  # fmt: skip
RULE = LISTS | {
    "code": "EX-R1", "edition": "of 2026", "title": "Example rule", "text": "A text in our words", "from_on": date(2026, 1, 2),
    "until_on": date(2099, 3, 4), "any_of": [["permit", "none_needed"]], "blocking": True, "source": "invented source",
    "verified_on": date(2026, 1, 5), "verified_with": "Example plant office", "verified_by": "C. Ordinator",
    "review_by": date(2099, 1, 6), "is_example": True,
}  # fmt: skip
PAPER = LISTS | {"lots": ["L-1"], "sites": ["ST-9"], "people": ["A. Carrier"], "under": ["EX-R1"], "cap_activities": ["establish"]}


def names(fields):
    return {field.name for field in fields}


def attributes(sheet):
    return {field.attribute for field in sheet.sheet_fields().values()}


def test_a_rule_has_the_same_fields_everywhere():
    assert names(Requirement._meta.concrete_fields) - {"id"} == RULE_NAMES
    assert names(dataclasses.fields(facts.Requirement)) == RULE_NAMES
    assert attributes(RequirementSheet) == RULE_NAMES
    assert set(RequirementForm.base_fields) | set(RequirementVerifyForm.base_fields) == RULE_NAMES | {"reason"}
    assert {fact.label for fact in RequirementDetailView.facts} == {field.label for field in RULE_FIELDS if field.place == "facts"}


def test_what_a_paper_covers_has_the_same_fields_everywhere():
    lists = {field.name for field in AuthorizationVersion._meta.concrete_fields if isinstance(field, models.JSONField)}
    assert lists == COVER_NAMES
    assert names(field for field in dataclasses.fields(facts.Version) if field.default == ()) == COVER_NAMES
    assert attributes(AuthorizationSheet) & lists == COVER_NAMES
    assert set(AuthorizationForm.base_fields) & lists == COVER_NAMES
    assert {field.label for field in COVERS} <= {fact.label for fact in AuthorizationDetailView.facts}


def test_every_field_of_a_rule_is_on_its_page_and_its_sheet(client):
    MaterialClass.objects.create(code="hybrid", title="Hybrid of a donor", rule="declared")
    rule = Requirement.objects.create(**RULE)
    client.force_login(factories.person("lead"))
    page = client.get(reverse("requirement_detail", args=[rule.pk]))
    shown = {label: value for label, value, _url in page.context["facts"]}
    assert shown.keys() == {field.label for field in RULE_FIELDS if field.place == "facts"}
    assert (shown["By way of"], shown["Material classes"]) == ("US-NY", "Hybrid of a donor")
    assert shown["Papers needed"] == "permit or determination that none is needed"
    text = page.content.decode()
    assert all(words in text for words in ("EX-R1", "Example rule", "A text in our words"))
    sheet = client.get(reverse("requirement_list"), {"download": "csv"}).content.decode()
    assert all(field.column_name in sheet for field in RequirementSheet.sheet_fields().values())
    assert all(words in sheet for words in ("outside US-VT", "US-NY", "permit or none_needed", "2099-01-06"))
    (read,) = rules_on_file()
    assert {name: getattr(read, name) for name in RULE} == {
        name: tuple(map(tuple, value)) if name == "any_of" else tuple(value) if isinstance(value, list) else value
        for name, value in RULE.items()
    }


def test_everything_a_paper_covers_is_on_its_page_and_its_sheet(client):
    MaterialClass.objects.create(code="hybrid", title="Hybrid of a donor", rule="declared")
    lead = factories.person("lead")
    paper = factories.authorization(actor=lead, limits=PAPER, state="in_force")
    client.force_login(lead)
    page = client.get(reverse("authorization_detail", args=[paper.pk]))
    shown = {label: value for label, value, _url in page.context["facts"]}
    assert [shown[field.label] for field in COVERS] == [field.words(PAPER[field.name]) for field in COVERS]
    assert shown["By way of"] == "US-NY" and shown["What draws on the cap"] == "establishing a planting"
    sheet = client.get(reverse("authorization_list"), {"download": "csv"}).content.decode()
    assert all(codes[0] in sheet for codes in PAPER.values())
    (read,) = papers_on_file({paper.type}, date(2026, 1, 1))
    assert {name: list(getattr(read.versions[0], name)) for name in PAPER} == PAPER


TYPED = ("dispatch; establish", "Dispatch, ESTABLISH", "sell", "hybrid", "HYBRID", "no-class", "seed\nscion", "Juglans", "juglans cinerea",
         "Quercus", "P-77", "p-77", "NONE", "US-VT, outside US-NY", "US-XX", "Vermont", "permit or none_needed; certificate", "passport")  # fmt: skip


@pytest.mark.parametrize("typed", TYPED)
def test_a_form_and_a_sheet_read_a_list_alike(typed):
    MaterialClass.objects.create(code="hybrid", title="Hybrid", rule="declared")
    factories.taxon(name="Juglans cinerea")
    factories.stock_lot(code="P-77")
    from registry.forms.gate.code_lists import CodeListField

    for codes in {field.codes for field in (*RULE_FIELDS, *COVERS) if field.codes}:
        said = []
        for read in (CodeListField(codes=codes).clean, CodesCell(codes).parser(ReadingOptions())):
            try:
                said.append(read(typed))
            except forms.ValidationError as error:
                said.append(" ".join(error.messages))
            except CellError as error:
                said.append(str(error).removeprefix("cannot be read: "))
        assert said[0] == said[1]


def test_a_list_names_every_wrong_code():
    box = declared_boxes([field for field in COVERS if field.name == "taxa"])["taxa"]
    with pytest.raises(forms.ValidationError) as refused:
        box.clean("Quercus; Acer")
    assert refused.value.messages == [
        f"No species or genus “{name}” is on file. Check the name, or enter it first." for name in ("Quercus", "Acer")
    ]


def test_a_type_of_paper_may_have_an_or_in_its_name():
    box = declared_boxes([field for field in RULE_FIELDS if field.name == "any_of"])["any_of"]
    read = box.clean("permit or germplasm or material transfer agreement or licence\nconsent")
    assert read == [["permit", "transfer", "licence"], ["consent"]]
    assert box.clean(box.prepare_value(read)) == read


def test_a_paper_keeps_its_lists_through_its_form(client):
    MaterialClass.objects.create(code="hybrid", title="Hybrid", rule="declared")
    factories.taxon(name="Juglans cinerea")
    lead = factories.person("lead")
    factories.seed_lot(actor=lead, code="L-1")
    paper = factories.authorization(actor=lead, limits=PAPER, state="in_force")
    client.force_login(lead)
    form = client.get(reverse("authorization_edit", args=[paper.pk])).context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "")}
    answer = client.post(reverse("authorization_edit", args=[paper.pk]), data | {"note": "read again", "reason": "note"})
    assert answer.status_code == 302, answer.context["form"].errors
    assert Authorization.objects.get().note == "read again" and paper.versions.count() == 1
    assert {name: getattr(paper.versions.get(), name) for name in PAPER} == PAPER
