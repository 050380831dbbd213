"""Every kind of audit entry says what it changes of the figures that a process holds."""

import ast

import pytest
from django.apps import apps

from registry.models.audit import stored_name
from registry.selectors.shared.trail_concerns import _concerns
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from tests import factories
from tests.declared_concerns import NotEnough
from tests.places import PROJECT


def record_types():
    return {stored_name(model) for app in ("registry", "plantings") for model in apps.get_app_config(app).get_models()}


def verbs():
    """The verbs that the program writes out in full."""
    for app in ("registry", "plantings"):
        for path in (PROJECT / app).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.keyword) and node.arg == "verb":
                    yield from (part.value for part in ast.walk(node.value) if isinstance(part, ast.Constant) and "." in str(part.value))


def test_every_record_type_is_declared():
    assert record_types() - _concerns.keys() == set()


def test_every_declared_kind_is_a_record_type_or_a_verb_in_use():
    found = set(verbs())
    assert len(found) > 60
    made_of_parts = {"evidence_entered", "question_raised"}  # their record type is put before them
    declared = {kind for kind in _concerns if kind.partition(".")[2] not in made_of_parts}
    assert declared - record_types() - found == set()


@pytest.mark.django_db
def test_a_write_that_ends_too_little_fails_here():
    lot = factories.seed_lot()

    @write
    def written():
        lot.code = "OTHER"
        lot.save()
        audit_record(actor=factories.person("lead"), verb="lot.closed", obj=lot)

    with pytest.raises(NotEnough, match="registry_lot was written"):
        written()


@pytest.mark.django_db
def test_a_balance_alone_is_in_no_figure():
    lot = factories.seed_lot()

    @write
    def written():
        lot.balance = 0
        lot.save(update_fields=["balance"])
        audit_record(actor=factories.person("lead"), verb="lot.closed", obj=lot)

    written()
