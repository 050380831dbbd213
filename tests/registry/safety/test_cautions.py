"""Cautions: which hold where and when, versions, what a person has read, the sheet and the starter set."""

import csv

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags
from django.utils.translation import override

from plantings.imports.kinds import KINDS
from plantings.imports.loading import sheet_load
from plantings.imports.protocols import OwnMeasurementSheet
from plantings.models import Planting, Site
from plantings.selectors.sites.local_texts import PLANTING_TEXTS, SITE_TEXTS
from registry.choices import CautionTask
from registry.imports.sheets.formats import write_rows
from registry.imports.sheets.plan import SheetRefused
from registry.models import AuditEntry, CautionSeen, CautionText
from registry.selectors.safety.cautions import CAUTION_WORDS, cautions_for, programme_rules, unread, versions_of
from registry.services.people.programme import programme_setting_save
from registry.services.safety.cautions import caution_add, caution_withdraw, cautions_read
from tests import factories
from tests.places import PROJECT

pytestmark = pytest.mark.django_db

STARTER = PROJECT / "fixtures" / "starter" / "cautions.csv"
JUNE, DECEMBER = factories.day(2026, 6), factories.day(2026, 12)


def caution(code="TICKS", *, actor=None, **fields):
    fields = {
        "task": "any", "hazard": code.title(), "text": f"What to do about {code}.", "decider": "the crew lead",
        "in_use_from": factories.day(2026, 1), "source": "made for a test",
    } | fields  # fmt: skip
    return caution_add(actor=actor or factories.person(), code=code, **fields)


def shown(tasks, on, site=""):
    return [item.code for item in cautions_for(tasks, on, site)]


def test_typed_words_of_a_caution_become_sentences():
    line = caution(text="Hives at the north gate", decider="the beekeeper")
    said = " ".join(strip_tags(render_to_string("partials/safety/_caution_lines.html", {"lines": [line]})).split())
    assert said.startswith("Ticks. Hives at the north gate. Decided locally by the beekeeper. ")


# -- which hold -------------------------------------------------------------------------------


def test_a_caution_holds_for_its_task_its_months_and_its_sites():
    caution("ALL")
    caution("TICKS", months=[4, 5, 6])
    caution("SAW", task="saw")
    caution("CLIFF", site_codes=["ST-01"])
    caution("LOOKUP", task="census")
    assert shown({"census"}, JUNE, "ST-01") == ["LOOKUP", "ALL", "CLIFF", "TICKS"]
    assert shown({"census"}, DECEMBER, "ST-02") == ["LOOKUP", "ALL"]
    assert shown({"saw"}, DECEMBER) == ["SAW", "ALL"]
    assert shown((), JUNE) == ["ALL", "TICKS"]


def test_the_newest_version_in_use_on_the_day_counts():
    actor = factories.person()
    first = caution(actor=actor)
    caution(actor=actor, text="Check twice.", in_use_from=factories.day(2026, 8), reason="asked by the crews")
    assert [(item.version, item.text) for item in cautions_for((), JUNE)] == [(1, first.text)]
    assert [(item.version, item.text) for item in cautions_for((), DECEMBER)] == [(2, "Check twice.")]
    caution_withdraw(actor=actor, caution=first, on=factories.day(2026, 11), reason="part of another now")
    assert cautions_for((), DECEMBER) == [] and shown((), factories.day(2026, 10)) == ["TICKS"]
    assert list(CautionText.objects.values_list("version", "withdrawn")) == [(1, False), (2, False), (3, True)]
    verbs = AuditEntry.objects.filter(record_type="cautiontext").order_by("pk").values_list("verb", "reason")
    assert list(verbs) == [
        ("cautiontext.added", ""), ("cautiontext.changed", "asked by the crews"), ("cautiontext.withdrawn", "part of another now"),
    ]  # fmt: skip


def test_a_stored_wording_cannot_be_changed():
    record = caution()
    with pytest.raises(DatabaseError), transaction.atomic():
        CautionText.objects.filter(pk=record.pk).update(text="something else")


@pytest.mark.parametrize(
    ("fields", "name", "words"),
    [
        ({"version": 3}, "version", "write version 2"),
        ({"in_use_from": factories.day(2025, 12)}, "in_use_from", "enter that day or a later one"),
        ({"months": [0]}, "months", "0 is not a month"),
        ({"text": "Chain saws are allowed here."}, "text", "for the local authority"),
    ],
)
def test_a_version_that_cannot_be_is_refused_in_words_that_help(fields, name, words):
    actor = factories.person()
    caution(actor=actor)
    with pytest.raises(ValidationError) as refused:
        caution(actor=actor, **fields)
    assert words in refused.value.message_dict[name][0]
    assert CautionText.objects.count() == 1


def test_withdrawing_twice_is_refused():
    actor = factories.person()
    record = caution(actor=actor)
    caution_withdraw(actor=actor, caution=record, on=JUNE, reason="over")
    with pytest.raises(ValidationError, match="already withdrawn"):
        caution_withdraw(actor=actor, caution=record, on=JUNE, reason="over")


# -- what was read ------------------------------------------------------------------------------


def test_a_person_has_read_a_version_and_not_its_successor():
    actor, reader, other = factories.person(), factories.person("volunteer"), factories.person("volunteer")
    caution("TICKS", actor=actor)
    caution("HEAT", actor=actor)
    standing = cautions_for((), JUNE)
    seen = cautions_read(actor=reader, task=CautionTask.CENSUS, versions=versions_of(standing), subject="PL 2026 autumn")
    assert (seen.versions, seen.subject, seen.seen_at.date()) == (["HEAT 1", "TICKS 1"], "PL 2026 autumn", timezone.now().date())
    assert unread(reader, standing) == [] and len(unread(other, standing)) == 2
    caution("HEAT", actor=actor, text="Water every 15 minutes.")
    again = cautions_for((), JUNE)
    assert [item.code for item in unread(reader, again)] == ["HEAT"]
    seen = cautions_read(actor=reader, task=CautionTask.CENSUS, versions=versions_of(again))
    assert seen.versions == ["HEAT 2"] and unread(reader, again) == []


def test_only_versions_in_use_are_recorded_as_read_once():
    reader = factories.person("volunteer")
    caution("TICKS")
    assert cautions_read(actor=reader, task="census", versions=["TICKS 9", "made up 1"]) is None
    assert cautions_read(actor=reader, task="census", versions=["TICKS 1"]).versions == ["TICKS 1"]
    assert cautions_read(actor=reader, task="census", versions=["TICKS 1"]) is None
    assert CautionSeen.objects.count() == 1


def test_a_record_of_what_was_read_cannot_be_changed():
    caution("TICKS")
    seen = cautions_read(actor=factories.person("volunteer"), task="census", versions=["TICKS 1"])
    with pytest.raises(DatabaseError), transaction.atomic():
        CautionSeen.objects.filter(pk=seen.pk).delete()


def test_only_dangerous_tasks_show_the_age_and_lone_work_rules():
    assert programme_rules({"census"}) == []
    age, alone = programme_rules({"saw"})
    assert age == "This work is only for people of 18 years or more." and alone.startswith("Work alone: nobody works alone")
    programme_setting_save(actor=factories.person(), key="youngest_age", value="21", owner="A. Lead", set_on=JUNE, basis="insurer")
    assert programme_rules({"pesticide", "census"})[0] == "This work is only for people of 21 years or more."
    assert programme_rules({"inoculation"})[0] == "This work is only for people of 21 years or more."


# -- the sheet and the starter set ----------------------------------------------------------------


def load(content, actor=None, **options):
    return sheet_load(actor=actor or factories.person(), kind="caution", content=content, filename="cautions.csv", **options)


def test_loading_the_starter_set_twice_changes_nothing():
    content = STARTER.read_bytes()
    rows = list(csv.DictReader(content.decode().splitlines()))
    plan = load(content)
    assert plan.counts["new"] == len(rows) == CautionText.objects.count()
    assert load(content).counts["unchanged"] == len(rows)


def test_the_starter_set_never_says_that_something_is_allowed():
    rows = list(csv.DictReader(STARTER.read_text(encoding="utf-8").splitlines()))
    assert list(rows[0]) == KINDS["caution"].template_rows()[0]
    assert all(row["Source"] and row["Decided locally by"] and row["Version"] == "1" for row in rows)
    assert not [row["Caution"] for row in rows if "allowed" in row["Usual caution"].lower()]
    assert all(row["Hazard (French)"] and row["Usual caution (French)"] and row["Decided locally by (French)"] for row in rows)
    assert {row["Task"] for row in rows} == set(CautionTask.values)


def test_a_changed_row_is_refused_with_advice_on_versions():
    load(STARTER.read_bytes())
    header, example = KINDS["caution"].template_rows()
    first = next(csv.DictReader(STARTER.read_text(encoding="utf-8").splitlines()))
    row = [first[name] for name in header]
    row[header.index("Usual caution")] = "Something else."
    with pytest.raises(SheetRefused) as refused:
        load(write_rows(header, [row], "csv"))
    [problem] = refused.value.plan.problems
    assert problem.column == "Usual caution" and "new version" in problem.message
    row[header.index("Version")] = "2"
    assert load(write_rows(header, [row], "csv")).counts["new"] == 1


def test_a_month_that_is_none_is_refused_with_its_row_and_column():
    header, example = KINDS["caution"].template_rows()
    row = list(example)
    row[header.index("Months (numbers)")] = "4; 13"
    with pytest.raises(SheetRefused) as refused:
        load(write_rows(header, [row], "csv"))
    [problem] = refused.value.plan.problems
    assert (problem.row, problem.column) == (2, "Months (numbers)") and "13" in problem.message


def test_what_is_written_out_can_be_read_in_again():
    load(STARTER.read_bytes())
    sheet = KINDS["caution"]()
    exported = sheet.export(queryset=sheet.get_queryset()).export("csv").encode()
    assert load(exported).counts["unchanged"] == CautionText.objects.count()


# -- the languages of the site --------------------------------------------------------------------

FRENCH = {"hazard_fr": "Tiques", "text_fr": "S’examiner le jour même.", "decider_fr": "la personne"}


def in_french(line):
    with override("fr"):
        return " ".join(strip_tags(render_to_string("partials/safety/_caution_line.html", {"line": line})).split())


def test_every_language_has_words_for_cautions_and_access_notes():
    caution(**FRENCH)
    names = {field.name for field in CautionText._meta.get_fields()}
    for language, _name in settings.LANGUAGES[1:]:
        assert {f"{name}_{language}" for name in CAUTION_WORDS} <= names
        assert {f"{name}_{language}" for name in SITE_TEXTS} <= {field.name for field in Site._meta.get_fields()}
        assert {f"{name}_{language}" for name in PLANTING_TEXTS} <= {field.name for field in Planting._meta.get_fields()}
        assert {f"{name}_{language}" for name in ("name", "unit", "taken", "classes")} <= set(OwnMeasurementSheet.sheet_fields())
    [line] = cautions_for((), JUNE)
    assert in_french(line) == "Tiques. S’examiner le jour même. Décidé sur place par la personne."
    assert line.hazard == "Ticks"


def test_without_french_words_the_english_is_shown_and_marked():
    caution()
    [line] = cautions_for((), JUNE)
    assert in_french(line) == "En anglais : Ticks. What to do about TICKS. Decided locally by the crew lead."
    with override("fr"):
        assert line.marked("hazard") == "En anglais\N{NO-BREAK SPACE}: Ticks"
        assert programme_rules({"saw"})[0] == "Ce travail est réservé aux personnes de 18 ans ou plus."


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"hazard_fr": "Tiques"}, "text_fr"),
        (FRENCH | {"decider_fr": ""}, "decider_fr"),
        (FRENCH | {"text_fr": "Les scies sont permises."}, "text_fr"),
    ],
)
def test_french_words_are_complete_or_refused(fields, name):
    with pytest.raises(ValidationError) as refused:
        caution(**fields)
    assert list(refused.value.message_dict) == [name] and not CautionText.objects.exists()


def test_a_new_english_text_asks_whether_the_french_still_says_the_same(client):
    lead = factories.person("lead")
    client.force_login(lead)
    record = caution(actor=lead, **FRENCH)
    address = reverse("cautiontext_edit", args=[record.pk])
    values = client.get(address).context["form"].initial | {"text": "Check twice.", "reason": "asked", "in_use_from": "2026-02-01"}
    page = client.post(address, values)
    assert "The English changes and this does not" in str(page.context["form"].errors["text_fr"]) and CautionText.objects.count() == 1
    client.post(address, values | {"is_compared": "on"})
    assert CautionText.objects.get(version=2).text_fr == FRENCH["text_fr"]
