"""Models of survival: small ones are fitted where their page is read, large ones by a job, which stores what they gave."""

import datetime
import hashlib
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from django.utils import timezone

from plantings.calc.lineages import model_answer
from plantings.calc.lineages.compare import AWAITED
from registry.disk.kept_results import kept_result, source_digest
from registry.selectors.jobs.answers import AwaitedAnswer, stored_answer

__all__ = ["LineageModels", "WorkedOut"]

WORK_AT_ONCE = 10_000  # `LineageCells.work` of the largest model that a page waits for, up to a second


class WorkedOut(NamedTuple):
    """An answer that is to be stored: what it rests on, and its values as JSON takes them."""

    rests_sha256: str
    values: dict | None
    about: dict


class LineageModels:
    """Gives the model of a comparison: fits it, or reads what the same counts gave before.

    A large model is fitted only `at_once`, as a job does; else its stored answer is read. Where that is of other counts, or missing, the
    answer is `awaited`, and the earlier one is given meanwhile. `made` says when the model was fitted, `worked_out` has a large one that
    was fitted here, and `is_large` says which it was. `say` is called all along a fit.
    """

    made = awaited = worked_out = None
    is_large = False

    def __init__(self, question, *, at_once, say=None):
        self.question, self.at_once, self.say = question, at_once, say

    def answer(self, cells, labels):
        rests_on = f"{_edition()} {labels} {cells.rests_on}"
        self.is_large = cells.work > WORK_AT_ONCE
        return self._large(cells, labels, rests_on) if self.is_large else self._small(cells, labels, rests_on)

    def _fitted(self, cells, labels):
        answer = model_answer.model_answer(cells, labels, self.say)
        return answer and answer.values()

    def _small(self, cells, labels, rests_on):
        values, made_at = kept_result("lineages", rests_on, lambda: self._fitted(cells, labels))
        self.made = values and datetime.datetime.fromtimestamp(made_at, timezone.get_current_timezone())
        return model_answer.read_answer(values)

    def _large(self, cells, labels, rests_on):
        rests_sha256 = hashlib.sha256(rests_on.encode()).hexdigest()
        stored = stored_answer(self.question)
        if stored is None or stored.rests_sha256 != rests_sha256:
            if self.at_once:
                return self._worked_out(cells, labels, rests_sha256)
            self.awaited = AwaitedAnswer(self.question, rests_sha256, cells.about, stored)
            if stored is None:
                return AWAITED
        return self._read(stored.values, labels, stored.made_at)

    def _worked_out(self, cells, labels, rests_sha256):
        values = self._fitted(cells, labels)
        found = values and {"labels": [*labels], "answer": values}
        self.worked_out = WorkedOut(rests_sha256, found, cells.about)
        return self._read(found, labels, timezone.now())

    def _read(self, values, labels, made):
        if values is None:
            return None
        self.made = made
        return model_answer.answer_for(model_answer.read_answer(values["answer"]), values["labels"], labels)


@lru_cache(maxsize=1)
def _edition():
    return source_digest(Path(model_answer.__file__).parent)
