"""Which lines of what has left, or left against a stop, count against the cap of a paper."""

from registry.compliance.gate.answers import MISSING, Answer
from registry.compliance.gate.facts import Line, Paper, Question
from registry.compliance.gate.lines import class_reason, is_capped, line_reasons
from registry.compliance.gate.papers import OF_STANDING, version_on

# A paper that came near and lacks nothing but these is the one it left under; one for another place, form or lot is not.
_LACKS = OF_STANDING | {"person", "under"}


def counted_lines(paper: Paper, question: Question) -> tuple[Line, ...]:
    """The lines that count against the cap of a paper on the day of the question, whether or not it is in force and holds enough.

    Parameters
    ----------
    paper : Paper
    question : Question

    Returns
    -------
    tuple of Line; empty where the paper has no cap on that day, or none for this activity.

    Source
    ------
    A cap is a number of seeds or plants of the material, form and taxon a paper names (common practice, no source).

    Examples
    --------
    >>> from datetime import date
    >>> from registry.compliance.gate.facts import Version
    >>> paper = Paper("P1", "permit", versions=(Version(0, cap_quantity=500, cap_unit="plants"),))
    >>> lines = (Line("A", quantity=40, unit="plants"), Line("B", quantity=90, unit="seeds"))
    >>> [line.lot for line in counted_lines(paper, Question("dispatch", date(2026, 4, 1), lines))]
    ['A']
    """
    version = version_on(paper, question.on)
    if version is None or not is_capped(version, question):
        return ()
    return tuple(
        line
        for line in question.lines
        if line.unit == version.cap_unit
        and line.quantity
        and not line_reasons(paper, version, line, capped=False, edition=question.edition)
        and not class_reason(version, line, frozenset())
    )


def left_under(answer: Answer) -> frozenset[str]:
    """Codes of the papers that lack no more than a formality of covering what a finding misses: it leaves under them if it leaves.

    Source
    ------
    Definition of this programme: which reasons are a formality.

    Examples
    --------
    >>> from datetime import date
    >>> from registry.compliance.gate.decide import decide
    >>> from registry.compliance.gate.facts import Facts, Requirement, Version
    >>> rule = Requirement("R1", "2026", "Permit", any_of=(("permit",),))
    >>> elsewhere = Paper("FAR", "permit", versions=(Version(0, destinations=("US-NH",)),))
    >>> papers = (Paper("NO-DOCUMENT", "permit", versions=(Version(0),)), elsewhere)
    >>> sorted(left_under(decide(Question("dispatch", date(2026, 4, 1), (Line("A"),)), Facts((rule,), papers))))
    ['NO-DOCUMENT']
    """
    return frozenset(
        near.paper
        for finding in answer.findings
        if finding.status == MISSING
        for near in finding.near
        if all(reason.code in _LACKS for reason in near.reasons)
    )
