"""History in words: every verb a service records has some, and no line says that nothing changed."""

import ast

import pytest
from django.apps import apps
from django.urls import resolve, reverse

from registry.models import AuditEntry
from registry.models.audit import stored_name
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing
from registry.views.audit.changes import VERBS, change_lines, changes_words, verb_words
from registry.views.audit.trail import entry_url
from registry.views.shared.details import RecordDetailView, RecordToolView
from tests import factories
from tests.places import PROJECT

_WRITERS = ("registry/services", "plantings/services", "plantings/imports", "registry/management", "plantings/management")


def texts_of(node, assigned):
    """The texts an expression can give; the record type at the head of an f-string is left as *."""
    if isinstance(node, ast.Constant):
        return {node.value}
    if isinstance(node, ast.IfExp):
        return texts_of(node.body, assigned) | texts_of(node.orelse, assigned)
    if isinstance(node, ast.Name):
        return set().union(*(texts_of(value, assigned) for value in assigned.get(node.id, ())))
    if isinstance(node, ast.JoinedStr):
        found = {""}
        for part in node.values:
            value = part.value if isinstance(part, ast.FormattedValue) else part
            found = {before + text for before in found for text in texts_of(value, assigned) or {"*"}}
        return found
    return set()


def verbs_in(path):
    """[(line, texts the verb may be)] of each call of a file that records one."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assigned = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            assigned.setdefault(node.targets[0].id, []).append(node.value)
    calls = (node for node in ast.walk(tree) if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "audit_record")
    return [(call.lineno, texts_of(keyword.value, assigned)) for call in calls for keyword in call.keywords if keyword.arg == "verb"]


def recorded_verbs():
    found = {}
    for folder in _WRITERS:
        for path in sorted((PROJECT / folder).rglob("*.py")):
            for line, texts in verbs_in(path):
                found[f"{path.relative_to(PROJECT)}, line {line}"] = texts
    return found


def test_every_verb_a_service_records_has_words():
    found = recorded_verbs()
    # this one names its verb by a constant of another module: that of the demo
    assert {place.split(",")[0] for place, texts in found.items() if not texts} == {"plantings/services/demo.py"}
    verbs = {text.split(".", 1)[-1] for texts in found.values() for text in texts} | {
        "demo_loaded",
        "taken_over",
    }  # the second is of a migration
    assert {"added", "changed", "question_settled", "overridden", "withdrawn"} <= verbs
    assert verbs - set(VERBS) == set()
    assert set(VERBS) - verbs == set()


@pytest.mark.parametrize(("verb", "words"), [("lot.put_back", "put it back into the lot it came from"), ("old.long_gone", "long gone")])
def test_a_verb_is_shown_in_words(verb, words):
    assert verb_words(AuditEntry(verb=verb)) == words


def test_a_field_that_reads_the_same_before_and_after_is_left_out():
    entry = AuditEntry(verb="lot.changed", changes={"note": [None, ""], "crew": [[], None], "use_by": [None, "2026-10-12"]})
    assert change_lines(entry) == [("use by", "nothing", "12 Oct 2026")]


def test_counts_have_thousands_separators_and_years_none():
    entry = AuditEntry(verb="planting.census_recorded", changes={"observations": [None, 1620], "flowering_year": [2016, 2017]})
    assert change_lines(entry) == [("observations", "nothing", "1,620"), ("flowering year", "2016", "2017")]
    assert changes_words(entry) == "observations: 1,620; flowering year: 2016 → 2017"


# -- links to the records ------------------------------------------------------------------------------------------------------


def record_pages():
    """Every class of a record page that is of one model; the routes load them."""
    resolve(reverse("audit_list"))
    pages, waiting = set(), [RecordDetailView]
    while waiting:
        page = waiting.pop()
        waiting += page.__subclasses__()
        if getattr(page, "model", None) and not issubclass(page, RecordToolView) and page.__name__.endswith("DetailView"):
            pages.add(page)
    return pages


@pytest.mark.django_db
def test_the_trail_links_every_record_type_that_has_a_page():
    lead = factories.person("lead")
    pages = {page.model: page for page in record_pages()}
    assert {"SpeciesHandbook", "CensusRound", "SelectionDecision", "IssuedPrint", "Lot"} <= {model.__name__ for model in pages}
    for model, page in pages.items():
        address = entry_url(lead, AuditEntry(actor=lead, record_type=stored_name(model), record_id=7))
        assert address is not None, model
        assert resolve(address).func.view_class is page and resolve(address).kwargs == {"pk": 7}


@pytest.mark.django_db
def test_a_record_type_without_a_page_has_no_link():
    lead, pages = factories.person("lead"), {page.model for page in record_pages()}
    others = [model for app in ("registry", "plantings") for model in apps.get_app_config(app).get_models() if model not in pages]
    assert others and [entry_url(lead, AuditEntry(record_type=stored_name(model), record_id=7)) for model in others] == [None] * len(others)


@pytest.mark.django_db
def test_the_list_of_changes_links_a_round(client):
    lead = factories.person("lead")
    census_round = factories.census_round(factories.planting())
    with writing():
        audit_record(actor=lead, verb="censusround.closed", obj=census_round)
    client.force_login(lead)
    assert f'href="{reverse("round_detail", args=[census_round.pk])}"' in client.get(reverse("audit_list")).content.decode()


@pytest.mark.django_db
def test_the_trail_links_nothing_a_person_may_not_open():
    entry = AuditEntry(record_type="person", record_id=7)
    assert entry_url(factories.person("lead"), entry) and entry_url(factories.person("volunteer"), entry) is None
