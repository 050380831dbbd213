"""Models of survival: small ones are fitted where their page is read, large ones by a job, which stores what they gave."""

import datetime
import hashlib
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from django.utils import timezone

from plantings.calc.growth import growth_values
from plantings.calc.growth.growth import growth_of
from plantings.calc.lifetimes import lives_values
from plantings.calc.lifetimes.lineage_lives import lineage_lives
from plantings.calc.lifetimes.lives_values import about_tallies, tallies_sha256
from plantings.calc.lineages import model_answer
from plantings.calc.lineages.compare import AWAITED
from registry.disk.kept_results import kept_result, source_digest
from registry.selectors.jobs.answers import AwaitedAnswer, stored_answer

__all__ = ["GrowthModels", "LifeModels", "LineageModels", "WorkedOut"]

# the largest a page waits for, up to a second: `LineageCells.work` of a mixed model, tallies of lots at all ages of life tables, and
# lineages on sites at all ages of growth
WORK_AT_ONCE, TALLIES_AT_ONCE, CELLS_AT_ONCE = 10_000, 5_000, 5_000


class WorkedOut(NamedTuple):
    """An answer that is to be stored: what it rests on, and its values as JSON takes them."""

    rests_sha256: str
    values: dict | None
    about: dict


class _Models:
    """Gives a model: works it out, or reads what the same counts gave before.

    A large one is worked out only `at_once`, as a job does; else its stored answer is read. Where that is of other counts, or missing, the
    answer is `awaited`, and the earlier one is given meanwhile. `made` says when the model was fitted, `worked_out` has a large one that
    was fitted here, and `is_large` says which it was. `say` is called all along.
    """

    made = awaited = worked_out = None
    is_large = False

    def __init__(self, question, *, at_once, say=None):
        self.question, self.at_once, self.say = question, at_once, say

    def large(self, rests_sha256, about, work_out):
        """The stored values of a large model, those of `work_out()`, or AWAITED."""
        self.is_large, stored = True, stored_answer(self.question)
        if stored is None or stored.rests_sha256 != rests_sha256:
            if self.at_once:
                self.worked_out, self.made = WorkedOut(rests_sha256, work_out(), about), timezone.now()
                return self.worked_out.values
            self.awaited = AwaitedAnswer(self.question, rests_sha256, about, stored)
            if stored is None:
                return AWAITED
        self.made = stored.made_at
        return stored.values


class LineageModels(_Models):
    """The mixed model of a comparison."""

    def answer(self, cells, labels):
        """What `compare_lineages` asks for."""
        rests_on = f"{_edition(model_answer)} {labels} {cells.rests_on}"
        if cells.work <= WORK_AT_ONCE:
            values, made_at = kept_result("lineages", rests_on, lambda: self._fitted(cells, labels))
            self.made = values and datetime.datetime.fromtimestamp(made_at, timezone.get_current_timezone())
            return model_answer.read_answer(values)
        sha256 = hashlib.sha256(rests_on.encode()).hexdigest()
        values = self.large(sha256, cells.about, lambda: {"labels": [*labels], "answer": self._fitted(cells, labels)})
        if values == AWAITED:
            return AWAITED
        if values["answer"] is None:
            self.made = None
            return None
        return model_answer.answer_for(model_answer.read_answer(values["answer"]), values["labels"], labels)

    def _fitted(self, cells, labels):
        answer = model_answer.model_answer(cells, labels, self.say)
        return answer and answer.values()


class LifeModels(_Models):
    """The curves, tests and hazards of life tables."""

    def lives(self, by_age):
        """The Lives; plain ones while they are awaited."""
        if sum(map(len, by_age.values())) <= TALLIES_AT_ONCE:
            return lineage_lives(by_age, say=self.say)
        rests_sha256 = hashlib.sha256(f"{_edition(lives_values)} {tallies_sha256(by_age)}".encode()).hexdigest()
        values = self.large(rests_sha256, about_tallies(by_age), lambda: lives_values.lives_values(lineage_lives(by_age, say=self.say)))
        return lineage_lives(by_age, is_plain=True) if values == AWAITED else lives_values.read_lives(values)


class GrowthModels(_Models):
    """The models of growth at each age."""

    def growth(self, by_age):
        """The Growth; plain means while it is awaited."""
        if growth_values.growth_work(by_age) <= CELLS_AT_ONCE:
            return growth_of(by_age, say=self.say)
        rests_sha256 = hashlib.sha256(f"{_edition(growth_values)} {growth_values.growth_sha256(by_age)}".encode()).hexdigest()
        about = growth_values.about_growth(by_age)
        values = self.large(rests_sha256, about, lambda: growth_values.growth_values(growth_of(by_age, say=self.say)))
        return growth_of(by_age, is_plain=True) if values == AWAITED else growth_values.read_growth(values)


@lru_cache(maxsize=3)
def _edition(module):
    return source_digest(Path(module.__file__).parent)
