"""What the gate answers."""

from dataclasses import dataclass
from datetime import date

# From best to worst. None of them is a permission.
RECORDED, COVERED, CHECK, STOP = "recorded", "covered", "check", "stop"
VERDICTS = {
    RECORDED: "recorded whatever the papers say",
    COVERED: "the papers on file cover what the rules on file ask for",
    CHECK: "nothing on file stops it, but something must be checked first",
    STOP: "stopped until what is missing is on file",
}
MET, NOTICE, MISSING = "met", "notice", "missing"
BLOCKING, ADVISORY = "blocking", "advisory"

REQUIREMENT = "requirement"
LANDOWNER, RECEIVER, NO_LINES = "landowner", "receiver", "no_lines"
IN_QUESTION, USE_BY, NO_RULE, ARRIVAL, ACTING_FOR = "in_question", "use_by", "no_rule", "arrival", "acting_for"
NEAR_SHOWN = 10  # papers named that came near; more are counted
EDITION = 9  # of the gate's own rules and words; raised when the same facts would be answered otherwise or told in other words


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
class Cover:
    """Lots that go under a paper; none when the question has none."""

    paper: str
    lots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found.

    Parameters
    ----------
    kind : str
        requirement, landowner, receiver, no_lines, in_question, use_by, arrival, acting_for or no_rule.
    code, edition, title : str
        Of the requirement; the kind and “” otherwise.
    status : str
        met, missing, or notice (something to know; no paper is needed).
    severity : str
        blocking or advisory.
    lots : tuple of str
        Lots it is about; empty when the question has none.
    wanted : tuple of tuple of str
        Sets of authorization types, one of each needed.
    met_by : tuple of str
        Codes of the papers that meet it or part of it.
    covered : tuple of Cover
        The lots under each of these papers. Answers of edition 1 do not say.
    near : tuple of Near
        At most `NEAR_SHOWN`, in order of `matching.nearness`; `near_left_off` more were left off.
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
    covered: tuple[Cover, ...] = ()


@dataclass(frozen=True, slots=True)
class Draw:
    """What the activity, once done, draws from the cap of a paper."""

    paper: str
    lot: str
    quantity: int
    unit: str


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer of the gate for one question. `always` is printed under every answer."""

    verdict: str
    activity: str
    on: date
    findings: tuple[Finding, ...]
    draws: tuple[Draw, ...]
    always: str
    edition: int = EDITION


def decided(answer: Answer) -> tuple:
    """What was decided, without its wording: equal for two answers that decide the same.

    Compared are the verdict, the activity and day, and what is drawn; of each finding its kind, code, edition, status,
    severity, lots, the types wanted, the papers that meet it, whether the rule was unverified, an example or applied by a
    class the material may have, and the papers that came near with the codes and lots of their reasons, in whatever order.
    Where more came near than are named, only their number is compared. Not compared are titles, reasons, notes and next
    steps as they are worded.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> from dataclasses import replace
    >>> said = Finding(REQUIREMENT, "R-1", "A rule", MISSING, BLOCKING, next_step="Get a permit.")
    >>> now = replace(said, next_step="Ask for a permit.")
    >>> before, after = (Answer(STOP, "hold", date(2026, 4, 1), (one,), (), "") for one in (said, now))
    >>> decided(before) == decided(after), decided(before) == decided(replace(after, verdict=CHECK))
    (True, False)
    """
    return answer.verdict, answer.activity, answer.on, tuple(map(_found, answer.findings)), answer.draws


def _found(finding: Finding) -> tuple:
    near = frozenset((one.paper, frozenset((reason.code, reason.lots) for reason in one.reasons)) for one in finding.near)
    names = ("kind", "code", "edition", "status", "severity", "lots", "wanted", "met_by", "may_contain", "is_example")
    plain = tuple(getattr(finding, name) for name in names)
    return *plain, bool(finding.unverified), len(finding.near) + finding.near_left_off, near if not finding.near_left_off else None
