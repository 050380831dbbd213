"""Answers that jobs work out and that are stored until the records they rest on change, such as models of many lineages.

A question has the SHA-256 of everything that chooses its records: choices, and whose rows they are. Whoever sees all rows of a record type
asks the same question, so that it is worked out once; whoever sees some asks their own. The answer has that of what it rests on.
"""

import datetime
import hashlib
from typing import NamedTuple

from registry.access.scoping import ALL, sees_all
from registry.choices import JobKind
from registry.models import Job, StoredAnswer
from registry.prints.stored import canonical_json

__all__ = ["AwaitedAnswer", "Question", "question_job", "question_of", "stored_answer"]


class Question(NamedTuple):
    """A question: its SHA-256, whose rows it is about (ALL, or the key of a person), and its choices as JSON takes them."""

    sha256: str
    scope: str
    choices: dict


class AwaitedAnswer(NamedTuple):
    """A question whose answer is not there, or is of other records; `about` is what it would rest on, and `stored` the earlier answer."""

    question: Question
    rests_sha256: str
    about: dict
    stored: StoredAnswer | None

    @property
    def made(self) -> datetime.datetime | None:
        return self.stored and self.stored.made_at


def question_of(user, model, choices):
    """The Question of a person, about rows that follow those of a record type."""
    scope = rows_of(user, model)
    sha256 = hashlib.sha256(canonical_json({"choices": choices, "scope": scope}).encode()).hexdigest()
    return Question(sha256, scope, choices)


def rows_of(user, model):
    """Whose rows a person sees: ALL, or their own."""
    return ALL if sees_all(user, model) else f"{user.role} {user.pk}"


def stored_answer(question):
    """The StoredAnswer of a Question, of whatever records; None without one."""
    return StoredAnswer.objects.filter(question=question.sha256).first()


def question_job(sha256):
    """The job that was started last for a question, by whomever, or None."""
    return Job.objects.filter(kind=JobKind.MODEL, given__question=sha256).order_by("-asked_at", "-pk").first()
