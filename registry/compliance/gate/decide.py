"""The gate: a question and the facts in, one answer out. Nothing restricted moves or is planted without the paper that covers it."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from registry.calc.shared.screen import day_words
from registry.calc.shared.verified import ASK_AUTHORITY, unverified_words
from registry.compliance.gate import answers, words
from registry.compliance.gate.answers import ADVISORY, BLOCKING, LANDOWNER, MET, MISSING, NEAR_SHOWN, NOTICE, Answer, Cover, Finding, Near
from registry.compliance.gate.facts import Facts, Line, Place, Question, Requirement
from registry.compliance.gate.matching import Bench, Match, nearness
from registry.compliance.gate.papers import is_of_a_body
from registry.compliance.gate.rules import Applied, applied_rules
from registry.compliance.gate.steps import landowner_step, next_step

_KINDS = (
    answers.NO_LINES,
    answers.RECEIVER,
    LANDOWNER,
    answers.IN_QUESTION,
    answers.REQUIREMENT,
    answers.NO_RULE,
    answers.USE_BY,
    answers.ARRIVAL,
    answers.ACTING_FOR,
)
_LANDOWNER_RULE = Requirement(LANDOWNER, "", "Agreement with the landowner", any_of=(words.LANDOWNER_TYPES,))


def decide(question: Question, facts: Facts) -> Answer:
    """Answer whether the rules on file are met by the papers on file, and what is missing.

    Parameters
    ----------
    question : Question
    facts : Facts

    Returns
    -------
    Answer
        The same for the same question and facts, in whatever order their lines, rules and papers are.

    Raises
    ------
    ValueError
        When two papers have one code, two versions of a paper one number, two requirements one code and edition (or the
        code “landowner”), the activity is not known, the day is
        a moment instead of a day, a quantity is below 0, or a place pattern cannot be read.

    Notes
    -----
    Where something is not known, the rule applies and the paper does not cover. A line must be covered by one paper as a whole; it is
    never split between two. The answer is never a permission: `Answer.always` says so.

    Source
    ------
    Cover test of the trade: every needed authority covers material, form, quantity left, origin, transit, destination,
    date and holder (common practice, no source).

    Examples
    --------
    >>> from datetime import date
    >>> decide(Question("publish_location", date(2026, 4, 1)), Facts()).verdict
    'check'
    """
    return _run(question, facts)[0]


def relevant(question: Question, facts: Facts) -> Facts:
    """The facts the answer rests on, in order of code: enough to be answered the same again, and small enough to store.

    Raises
    ------
    ValueError
        As for `decide`.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> from datetime import date
    >>> rules = (Requirement("R1", "2026", "About pollen", forms=("pollen",)), Requirement("R2", "2026", "About all"))
    >>> [rule.code for rule in relevant(Question("dispatch", date(2026, 4, 1)), Facts(rules)).requirements]
    ['R2']
    """
    _, rules, codes = _run(question, facts)
    papers = sorted((paper for paper in facts.papers if paper.code in codes), key=lambda paper: paper.code)
    return Facts(tuple(dict.fromkeys(applied.requirement for applied in rules)), tuple(papers))


def _run(question: Question, facts: Facts) -> tuple[Answer, list[Applied], set[str]]:
    problems = _problems(question, facts)
    if problems:
        raise ValueError("\n".join(problems))
    question = _in_order(question)
    rules = applied_rules(facts.requirements, question)
    wants = [(applied, _wanted(applied.requirement)) for applied in rules]
    if question.landowner_agreement_wanted:
        every_line = {place: frozenset() for place in range(len(question.lines))}
        wants.append((Applied(_LANDOWNER_RULE, every_line), _LANDOWNER_RULE.any_of))
    bench = Bench(question, facts.papers, wants)
    used: set[str] = set()
    by_rule: dict[tuple[str, str], tuple[list[Applied], list[Match]]] = {}
    for (applied, _), matches in zip(wants, bench.matches, strict=True):
        every, found = by_rule.setdefault((applied.requirement.code, applied.requirement.edition), ([], []))
        every.append(applied)
        found += matches
    findings = [_finding(bench, every, matches, used) for every, matches in by_rule.values()]
    findings += [
        *_about_lines(question),
        *_about_receiver(question),
        *_without_rule(question, rules),
        *_about_arrival(bench),
        *_about_body(bench),
    ]
    if question.activity in words.NEVER_BLOCKED:
        findings = [replace(finding, severity=ADVISORY) for finding in findings]
    findings.sort(key=_order)
    verdict = _verdict(question, findings)
    draws = bench.draws(match for matches in bench.matches for match in matches)
    return Answer(verdict, question.activity, question.on, tuple(findings), draws, words.ALWAYS), rules, used


def _problems(question: Question, facts: Facts) -> list[str]:
    found = []
    if question.activity not in words.ACTIVITIES:
        found.append(f"Activity “{question.activity}” is not known. Use one of {', '.join(words.ACTIVITIES)}.")
    if isinstance(question.on, datetime):
        found.append("The day of the question is a moment. Give the local calendar day of the place (local_day makes it).")
    for line in question.lines:
        if line.quantity is not None and line.quantity < 0:
            found.append(f"Lot {line.lot}: the quantity {line.quantity} is below 0. Give 0 or more.")
    if any(rule.code == LANDOWNER for rule in facts.requirements):
        found.append(f"A requirement has the code {LANDOWNER}, which the gate uses itself. Give it another.")
    for paper in facts.papers:
        if len(paper.versions) > 1 and len({version.number for version in paper.versions}) < len(paper.versions):
            found.append(f"Two versions of paper {paper.code} have one number. Give each its own.")
    codes = [paper.code for paper in facts.papers]
    if len(set(codes)) < len(codes):
        found += [f"Two papers have the code {code}. Give each its own." for code in _twice(codes)]
    editions = [(rule.code, rule.edition) for rule in facts.requirements]
    if len(set(editions)) < len(editions):
        found += [f"Requirement {code}, edition {edition}, is given twice. Remove one." for code, edition in _twice(editions)]
    return found


def _twice(values: Iterable) -> list:
    return sorted(value for value, count in Counter(values).items() if count > 1)


def _in_order(question: Question) -> Question:
    """The question with its lines and places of transit in one order."""
    return replace(
        question,
        lines=tuple(sorted((_line_in_order(line) for line in question.lines), key=_line_key)),
        transit=tuple(sorted(question.transit, key=_place_key)),
        also_to=tuple(sorted(question.also_to, key=_place_key)),
    )


def _place_key(place: Place) -> tuple:
    return (place.code, place.county, place.site, place.partner)


def _line_in_order(line: Line) -> Line:
    return replace(line, **{name: tuple(sorted(getattr(line, name))) for name in ("taxa", "parent_taxa", "classes", "may_classes")})


def _line_key(line: Line) -> tuple:
    known = (line.quantity is not None, line.quantity or 0, line.use_by is not None, line.use_by.toordinal() if line.use_by else 0)
    return (line.lot, line.form, line.unit, *known, line.taxa, line.classes, line.may_classes, line.in_question, sorted(line.draw_on))


def _wanted(requirement: Requirement) -> tuple[tuple[str, ...], ...]:
    if requirement.any_of or not requirement.blocking:
        return tuple(sorted({tuple(sorted(set(types))) for types in requirement.any_of}))
    return ((words.NONE_NEEDED,),)


def _finding(bench: Bench, every: list[Applied], matches: list[Match], used: set[str]) -> Finding:
    """What is found about a rule, which may apply through several places."""
    rule, question = every[0].requirement, bench.question
    near: dict[str, Near] = {}
    came_near: set[str] = set()
    for match in matches:
        shown, codes = bench.near(match, NEAR_SHOWN)
        came_near.update(codes)
        for found in shown:
            near.setdefault(found.paper, found)
    covered = _covered(question, matches)
    used.update(covered, came_near)
    missing = [match for match in matches if not match.is_met]
    status = NOTICE if not matches else MISSING if missing else MET
    is_landowner = rule.code == LANDOWNER
    # before edition 4 a rule verified later counted for an earlier day too
    day = question.on if question.edition >= 4 else max(question.on, rule.verified_on or question.on)
    unverified = "" if is_landowner else unverified_words(rule, day, ASK_AUTHORITY)
    wanted = {code for match in matches for code in match.types}
    nearest = sorted(near.values(), key=lambda found: nearness(found.type, _codes(found), len(found.reasons), wanted))
    return Finding(
        kind=LANDOWNER if is_landowner else answers.REQUIREMENT,
        code=rule.code,
        title=rule.title,
        status=status,
        severity=BLOCKING if rule.blocking else ADVISORY,
        edition=rule.edition,
        lots=tuple(sorted({question.lines[place].lot for applied in every for place in applied.by_line})),
        wanted=tuple(dict.fromkeys(match.types for match in matches)),
        met_by=tuple(sorted(covered)),
        covered=tuple(Cover(code, tuple(sorted(lots))) for code, lots in sorted(covered.items())),
        near=tuple(nearest[:NEAR_SHOWN]),
        near_left_off=len(came_near) - len(nearest[:NEAR_SHOWN]),
        unverified=unverified,
        may_contain=any(applied.may_contain for applied in every),
        is_example=rule.is_example,
        notes=tuple(dict.fromkeys(note for applied in every for note in applied.notes)),
        next_step=landowner_step(bench, status, nearest) if is_landowner else next_step(bench, status, missing, unverified),
    )


def _codes(near: Near) -> set[str]:
    return {reason.code for reason in near.reasons}


def _covered(question: Question, matches: list[Match]) -> dict[str, set[str]]:
    """{code of a paper: lots that go under it}."""
    covered: dict[str, set[str]] = {}
    for match in matches:
        for item in match.covering:
            candidate, (place, _person) = match.chosen(item), item
            if candidate is not None:
                covered.setdefault(candidate.paper.code, set()).update(() if place is None else (question.lines[place].lot,))
    return covered


def _about_lines(question: Question) -> list[Finding]:
    found = []
    if not question.lines and question.activity in (words.DISPATCH, words.ESTABLISH):
        step = "List each lot with its form and quantity."
        found.append(Finding(answers.NO_LINES, answers.NO_LINES, "No material is listed", MISSING, BLOCKING, next_step=step))
    nothing = [line for line in question.lines if line.quantity == 0] if question.edition >= 4 else []
    if nothing:
        step = "Enter how many, or take the lot out."
        found.append(_of_lots(answers.NO_LINES, "The quantity is 0", MISSING, BLOCKING, nothing, (), step))
    doubted = [line for line in question.lines if line.in_question]
    if doubted:
        notes = tuple(sorted({f"Lot {line.lot}: {line.in_question}" for line in doubted}))
        severity = BLOCKING if question.activity in words.MOVES_MATERIAL else ADVISORY
        step = "Settle the identity of these lots first. No paper can be matched with a lot in question."
        found.append(_of_lots(answers.IN_QUESTION, "Identity in question", MISSING, severity, doubted, notes, step))
    late = [line for line in question.lines if line.use_by is not None and line.use_by < question.on]
    if late:
        notes = tuple(sorted({f"Lot {line.lot}: use by {day_words(line.use_by)}" for line in late if line.use_by}))
        step = "Test the lots before they are used, or set a new date with a reason."
        found.append(_of_lots(answers.USE_BY, "The use-by date has passed", NOTICE, ADVISORY, late, notes, step))
    return found + _about_use_by_on_arrival(question)


def _about_use_by_on_arrival(question: Question) -> list[Finding]:
    """Lots whose use-by date passes on the way. Up to edition 8 nothing was said of them."""
    arrives_on = question.arrives_on
    if question.edition < 9 or arrives_on is None:
        return []
    late = [line for line in question.lines if line.use_by is not None and question.on <= line.use_by < arrives_on]
    if not late:
        return []
    notes = tuple(
        sorted(
            {f"Lot {line.lot}: use by {day_words(line.use_by)}, and it arrives on {day_words(arrives_on)}" for line in late if line.use_by}
        )
    )
    step = "Send it so that it arrives in time, or test the lots and set a new date with a reason."
    return [_of_lots(answers.USE_BY, "The use-by date passes before it arrives", NOTICE, ADVISORY, late, notes, step)]


def _about_receiver(question: Question) -> list[Finding]:
    if question.activity != words.DISPATCH or question.receiver.strip():
        return []
    step = "Name the person who receives the shipment."
    return [Finding(answers.RECEIVER, answers.RECEIVER, "No receiver is named", MISSING, BLOCKING, next_step=step)]


def _about_arrival(bench: Bench) -> list[Finding]:
    """Papers that end before a shipment arrives: those it goes under, and from edition 9 those that only are not in order yet."""
    arrives_on = bench.question.arrives_on
    if arrives_on is None:
        return []
    ending = {candidate.paper.code: candidate.version.ends_on for candidate in bench.chosen()}
    if bench.question.edition >= 9:
        ending |= {code: version.ends_on for code, version in bench.out_of_order().items()}
    late = {code: ends_on for code, ends_on in sorted(ending.items()) if ends_on is not None and bench.question.on <= ends_on < arrives_on}
    if not late:
        return []
    notes = tuple(f"{code} ends on {day_words(ends_on)}, and it arrives on {day_words(arrives_on)}" for code, ends_on in late.items())
    step = "Send it so that it arrives in time, or ask the authority whether the paper holds on the way."
    title = "It arrives after the last day of a paper"
    return [Finding(answers.ARRIVAL, answers.ARRIVAL, title, NOTICE, ADVISORY, notes=notes, next_step=step)]


def _about_body(bench: Bench) -> list[Finding]:
    """Papers of a body it goes under, while nobody knows for which body it is done. Up to edition 6 nothing was said of them."""
    question = bench.question
    if question.edition < 7 or question.acting_for:
        return []
    chosen = {one.paper.code: one for one in bench.chosen() if is_of_a_body(one.paper, one.version, question)}
    if not chosen:
        return []
    notes = tuple(f"{code} is held by {one.paper.holder_body}" for code, one in sorted(chosen.items()))
    title = "Whether a paper is the programme's own cannot be told: the programme has no name here"
    step = "Enter the name of the programme in its settings, as its papers write it, and ask again."
    return [Finding(answers.ACTING_FOR, answers.ACTING_FOR, title, NOTICE, ADVISORY, notes=notes, next_step=step)]


def _without_rule(question: Question, rules: list[Applied]) -> list[Finding]:
    if question.activity in words.NEVER_BLOCKED:
        return []
    ruled = {place for applied in rules for place in applied.by_line}
    bare = [line for place, line in enumerate(question.lines) if place not in ruled]
    if (question.lines and not bare) or (not question.lines and rules):
        return []
    title, step = (
        "No rule on file applies: that is not a permission",
        "Ask the authority, and enter the answer as a rule or a determination.",
    )
    return [_of_lots(answers.NO_RULE, title, NOTICE, ADVISORY, bare, (), step)]


def _of_lots(kind: str, title: str, status: str, severity: str, lines: list[Line], notes: tuple[str, ...], step: str) -> Finding:
    lots = tuple(sorted({line.lot for line in lines}))
    return Finding(kind, kind, title, status, severity, lots=lots, notes=notes, next_step=step)


def _order(finding: Finding) -> tuple:
    rank = (MISSING, NOTICE, MET).index(finding.status)
    return (rank, finding.severity != BLOCKING, _KINDS.index(finding.kind), finding.code, finding.edition)


def _verdict(question: Question, findings: list[Finding]) -> str:
    if question.activity in words.NEVER_BLOCKED:
        return answers.RECORDED
    if any(finding.status == MISSING and finding.severity == BLOCKING for finding in findings):
        return answers.STOP
    if any(finding.status != MET or finding.unverified for finding in findings):
        return answers.CHECK
    return answers.COVERED
