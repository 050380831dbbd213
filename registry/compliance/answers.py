"""What the gate answers."""

from dataclasses import dataclass
from datetime import date

# From best to worst. None of them is a permission.
RECORDED, COVERED, CHECK, STOP = "recorded", "covered", "check", "stop"
VERDICTS = {
    RECORDED: "recorded whatever the papers say",
    COVERED: "the papers on file cover what the rules kept here ask for",
    CHECK: "nothing on file stops it, but something must be asked or looked at first",
    STOP: "stopped until what is missing is there",
}
MET, NOTICE, MISSING = "met", "notice", "missing"
BLOCKING, ADVISORY = "blocking", "advisory"

REQUIREMENT = "requirement"
LANDOWNER, RECEIVER, NO_LINES = "landowner", "receiver", "no_lines"
IN_QUESTION, USE_BY, NO_RULE = "in_question", "use_by", "no_rule"
EDITION = 1  # of the gate's own rules; raised when the same facts would be answered otherwise


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a paper does not cover: a code, plain words, and the lots it is about (empty: all of them)."""

    code: str
    words: str
    lots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Near:
    """A paper of the right type that fails in one or two points."""

    paper: str
    type: str
    title: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found.

    Parameters
    ----------
    kind : str
        requirement, landowner, receiver, no_lines, in_question, use_by or no_rule.
    code, edition, title : str
        Of the requirement; the kind and “” otherwise.
    status : str
        met, missing, or notice (something to know, no paper is asked for).
    severity : str
        blocking or advisory.
    lots : tuple of str
        Lots it is about; empty when the question has none.
    wanted : tuple of tuple of str
        Sets of authorization types, one of each needed.
    met_by : tuple of str
        Codes of the papers that meet it or part of it.
    near : tuple of Near
        At most ten, nearest first; `near_left_off` more were left off.
    unverified : str
        Why the rule counts as not verified; “” when it is verified.
    may_contain : bool
        Whether it applies to some lot only by a class the lot may have.
    notes : tuple of str
        What else to know, in plain words.
    next_step : str
    """

    kind: str
    code: str
    title: str
    status: str
    severity: str
    edition: str = ""
    lots: tuple[str, ...] = ()
    wanted: tuple[tuple[str, ...], ...] = ()
    met_by: tuple[str, ...] = ()
    near: tuple[Near, ...] = ()
    near_left_off: int = 0
    unverified: str = ""
    may_contain: bool = False
    is_example: bool = False
    notes: tuple[str, ...] = ()
    next_step: str = ""


@dataclass(frozen=True, slots=True)
class Draw:
    """What the activity, once done, draws from the cap of a paper."""

    paper: str
    lot: str
    quantity: int
    unit: str


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer of the gate for one question. `always` stands under every answer."""

    verdict: str
    activity: str
    on: date
    findings: tuple[Finding, ...]
    draws: tuple[Draw, ...]
    always: str
    edition: int = EDITION
