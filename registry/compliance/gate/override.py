"""Who may override a stop of the gate, and with what reason. The answer is stored either way."""

from registry.access.roles import may
from registry.compliance.gate.answers import STOP, Answer

SHORTEST_REASON = 10  # characters; a word or a dot is not a reason


def override_problem(answer: Answer, role: str, reason: str) -> str:
    """Why an answer cannot be overridden; “” when it can.

    Parameters
    ----------
    answer : Answer
    role : str
        Role of the person.
    reason : str
        As typed.

    Source
    ------
    Common practice, no source: one responsible person and a written reason. Who that is, and how short a reason may be, is a definition of
    this programme.

    Examples
    --------
    >>> from datetime import date
    >>> stopped = Answer("stop", "dispatch", date(2026, 4, 1), (), (), "")
    >>> override_problem(stopped, "lead", "permit read out by phone, copy follows"), override_problem(stopped, "lead", "ok")
    ('', 'Give the reason in a sentence. It stays with the shipment or planting, and auditors read it.')
    """
    if answer.verdict != STOP:
        return "Nothing is stopped here, so there is nothing to override."
    if not may(role, "gate.override"):
        return "Only the programme lead can override a stop. Ask the lead, or get what is missing."
    if len(reason.strip()) < SHORTEST_REASON:
        return "Give the reason in a sentence. It stays with the shipment or planting, and auditors read it."
    return ""
