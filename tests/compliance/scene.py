"""An invented scene for the gate: one rule, one permit that meets it, one box of bareroot plants on its way. Examples, not law."""

from dataclasses import replace
from datetime import date

from registry.compliance.gate.decide import decide
from registry.compliance.gate.facts import Facts, Line, Paper, Place, Question, Requirement, StateChange, Version

DAY = date(2026, 4, 20)
LOT = Line("P25-01", ("Juglans ×bixbyi",), ("donor", "host"), (), "bareroot", 200, "plants")
VERMONT = Place("US-VT")
WISCONSIN = Place("US-WI", "Dane", "ST-05", "PT-05")
QUESTION = Question("dispatch", DAY, (LOT,), VERMONT, WISCONSIN, receiver="Hana Castellaw")
VERIFIED = {
    "verified_on": date(2025, 12, 10),
    "verified_with": "Example plant office (invented)",
    "verified_by": "I. Calderwood",
    "review_by": date(2027, 6, 30),
}
RULE = Requirement(
    "R-WI", "2026", "Walnut family into Wisconsin", ("dispatch", "establish"), ("host",), destinations=("US-WI",), any_of=(("permit",),), **VERIFIED
)  # fmt: skip
TERMS = Version(0, None, date(2026, 1, 1), date(2026, 12, 31))
PERMIT = Paper("P-WI", "permit", "Permit into Wisconsin", (StateChange(date(2026, 1, 1), "in_force"),), (TERMS,))


def asked(**changes):
    return replace(QUESTION, **changes)


def line(**changes):
    return replace(LOT, **changes)


def rule(**changes):
    return replace(RULE, **changes)


def paper(code="P-WI", type="permit", *, states=PERMIT.states, drawn=0, more=(), **terms):
    """A paper with one version; `more` are changes of the paper itself, the other words its terms."""
    return replace(PERMIT, code=code, type=type, states=states, versions=(replace(TERMS, **terms),), drawn=drawn, **dict(more))


def answer(question=QUESTION, rules=(RULE,), papers=(PERMIT,)):
    return decide(question, Facts(tuple(rules), tuple(papers)))


def finding(found, code="R-WI"):
    return next(one for one in found.findings if one.code == code)


def reasons(found, code="R-WI"):
    """“code: words” of every reason of every paper that came near."""
    return [f"{reason.code}: {reason.words}" for near in finding(found, code).near for reason in near.reasons]
