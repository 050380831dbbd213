"""A large model of survival is fitted by a job, and what it gave is stored."""

from functools import partial

from django.core.exceptions import ValidationError

from plantings.calc.survival.census_choice import read_census_choice
from plantings.models import Planting
from plantings.selectors.census.asked import measured_numbers
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.growth import growth_model
from plantings.selectors.survival.lifetimes import life_model
from plantings.selectors.survival.lineages import lineage_model
from registry.calc.shared.marked import gettext_noop
from registry.selectors.jobs.answers import question_of
from registry.services.jobs.answers import answer_store
from registry.services.jobs.running import JobResult

__all__ = ["model_make"]

READING, FITTING = gettext_noop("Reading the records"), gettext_noop("Fitting the model")
TABLES = gettext_noop("Life tables and tests")
OTHERS_NOW = "Whoever started it sees other records by now, so this model would be another one. Nothing was stored."


def _lineages(run, choices, filters):
    moment = choices["at"] and read_census_choice(choices["at"])
    return lineage_model(
        run.actor, choices["level"], moment, filters, sown=choices["sown"], say=lambda: run.tell(FITTING, 1, 2, "steps")
    )  # fmt: skip


def _lives(run, choices, filters):
    return life_model(run.actor, choices["level"], filters, sown=choices["sown"], say=lambda *far: run.tell(TABLES, *far, "lineages"))


def _growth(run, choices, filters):
    item = next((item for item in measured_numbers() if item.field == choices["item"]), None)
    if item is None:
        raise ValidationError("This measurement is not there any longer. Nothing was stored.")
    say = partial(run.tell, FITTING, unit="parts")
    return growth_model(run.actor, item, choices["level"], filters, sown=choices["sown"], say=say)


_OF = {"lineages": _lineages, "lives": _lives, "growth": _growth}


def model_make(run):
    """The model that a page asked for, of the records as they are now."""
    choices = run.given["choices"]
    question = question_of(run.actor, Planting, choices)
    if question.sha256 != run.given["question"]:
        raise ValidationError(OTHERS_NOW)
    run.step(READING, 0, 2, "steps")
    filters = SurvivalFilter(**{name: tuple(value) if isinstance(value, list) else value for name, value in choices["filters"].items()})
    found = _OF[choices["of"]](run, choices, filters)

    def store():
        if found is not None:  # else somebody's job stored the same meanwhile
            answer_store(question=question.sha256, rests_sha256=found.rests_sha256, values=found.values, about=found.about)

    return JobResult(page=run.given["page"], store=store)
