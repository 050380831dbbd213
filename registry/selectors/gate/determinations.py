"""Reads about the gate: its answer for a shipment today, stored answers, and whether they can be repeated."""

from typing import NamedTuple

from django.db.models import Exists, OuterRef

from registry.compliance.gate.answers import BLOCKING, MET, MISSING, STOP, VERDICTS, Answer, decided
from registry.compliance.gate.codec import from_json
from registry.compliance.gate.decide import decide
from registry.compliance.gate.explain import tell
from registry.compliance.gate.facts import Facts, Question
from registry.models import Authorization, Determination
from registry.selectors.gate.facts import gate_facts
from registry.selectors.gate.questions import shipment_question

__all__ = [
    "Asked", "VERDICT_WORDS", "determinations_of", "gate_ask", "gate_view", "paper_keys", "repeat_fault", "shipment_answer", "stop_words",
    "stored_answer",
]  # fmt: skip

VERDICT_WORDS = {code: words[0].upper() + words[1:] for code, words in VERDICTS.items()}


class Asked(NamedTuple):
    """A question to the gate, the facts it looked at, and what it said."""

    question: Question
    facts: Facts
    answer: Answer


def gate_ask(question, facts=None):
    """Ask the gate, from the facts as they are now or from those given. Nothing is stored. Returns `Asked`."""
    facts = gate_facts(question) if facts is None else facts
    return Asked(question, facts, decide(question, facts))


def shipment_answer(shipment, on):
    """What the gate says of a shipment on a day."""
    return gate_ask(shipment_question(shipment, on)).answer


def stored_answer(record):
    """The answer a determination holds."""
    return from_json(record.answer)


def stop_words(answer):
    """What stops, each with its next step, as lines of plain words."""
    return [
        f"{finding.title}: {finding.next_step}" for finding in answer.findings if finding.status == MISSING and finding.severity == BLOCKING
    ]


def repeat_fault(record):
    """Why a stored answer cannot be repeated from what is stored with it: "" when the gate says the same again.

    An answer of this edition of the gate must repeat word for word. Of one of another edition, which spoke in other words, what
    was decided must repeat: see `compliance.answers.decided`.
    """
    try:
        question, facts = from_json(record.question), from_json(record.facts)
        again = decide(question, facts)
        kept = from_json(record.answer)
    except (ValueError, TypeError, KeyError) as error:
        return f"it cannot be read: {error}"
    if again.verdict != kept.verdict:
        return f"the gate now says “{again.verdict}”, and “{kept.verdict}” is stored"
    is_same = again == kept if again.edition == kept.edition else decided(again) == decided(kept)
    if not is_same:
        return f"it says “{kept.verdict}” as stored, but for other reasons"
    return "" if record.verdict == kept.verdict else f"its verdict is stored as “{record.verdict}”, but its answer says “{kept.verdict}”"


def gate_view(answer, urls=None, *, overridden_by="", reason=""):
    """An answer as the panel of a page shows it. `urls` gives the address of a paper by its code."""
    urls = urls or {}
    stopped = answer.verdict == STOP
    return {
        "verdict": "overridden" if overridden_by else "stopped" if stopped else answer.verdict,
        "heading": f"Overridden by {overridden_by}" if overridden_by else VERDICT_WORDS[answer.verdict],
        "on": answer.on,
        "note": reason,
        "lines": [_line(finding, urls) for finding in answer.findings],
        "draws": [f"{draw.quantity:,} {draw.unit} of lot {draw.lot} under {draw.paper}" for draw in answer.draws],
        "always": answer.always,
    }


def _line(finding, urls):
    stops = finding.status == MISSING and finding.severity == BLOCKING
    fine = finding.status == MET and not finding.unverified
    told = tell(finding)
    return {
        "severity": "stop" if stops else "fine" if fine else "check",
        "finding": finding.title,
        "rule": f"{finding.code}, edition {finding.edition}" if finding.edition else "",
        "lots": ", ".join(finding.lots),
        "status": told.status,
        "notes": told.notes,
        "wanted": told.wanted,
        "met": told.met,
        "papers": [(code, urls.get(code), lots) for code, lots in told.met_by],
        "not_covered": told.not_covered,
        "near": [(code, urls.get(code), title, why) for code, title, why in told.near],
        "near_left_off": told.near_left_off,
        "next_step": told.next_step,
    }


def paper_keys(answers):
    """{paper code: primary key} of every paper these answers name."""
    codes = {code for answer in answers for finding in answer.findings for code in finding.met_by}
    codes |= {near.paper for answer in answers for finding in answer.findings for near in finding.near}
    return dict(Authorization.objects.filter(code__in=codes).values_list("code", "pk"))


def determinations_of(subject, activity):
    """(answers on which this was carried out, the others) of a shipment or planting, each the latest first.

    That of a dispatch which was taken back is among the others.
    """
    released = Determination.objects.in_effect().filter(pk=OuterRef("pk"))
    found = Determination.objects.filter(subject=subject, activity=activity).annotate(holds=Exists(released))
    records = list(found.select_related("entered_by", "override_by").defer("facts"))
    return [record for record in records if record.holds], [record for record in records if not record.holds]
