"""The lead, signed in; and models that are all too large for a request."""

import pytest

from plantings.calc.lineages import model_answer
from plantings.selectors.survival import models
from tests import factories


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


@pytest.fixture
def fits(monkeypatch):
    """Every model is large, and the fits are counted."""
    monkeypatch.setattr(models, "WORK_AT_ONCE", 0)
    found, fit = [], model_answer.lineage_fit
    monkeypatch.setattr(model_answer, "lineage_fit", lambda cells, say: found.append(cells) or fit(cells, say))
    return found
