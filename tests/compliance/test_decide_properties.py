"""What holds for every question, whatever the rules and papers."""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from registry.compliance.gate.answers import VERDICTS
from registry.compliance.gate.codec import dumps, loads
from registry.compliance.gate.decide import decide, relevant
from registry.compliance.gate.explain import explain
from registry.compliance.gate.facts import Facts, Line, Paper, Place, Question, Requirement, StateChange, Version
from registry.compliance.gate.words import ALWAYS, NEVER_BLOCKED
from tests.compliance.scene import answer, asked, line, paper

DAYS = [date(2026, 4, 20) + timedelta(days=n) for n in (-1, 0, 1)]
CLASSES, FORMS, TYPES = ("host", "donor"), ("seed", "bareroot"), ("permit", "licence", "agreement", "none_needed")
TAXA = ("Juglans cinerea", "Juglans ×bixbyi")
PATTERNS = ("US-WI", "US-MI", "US", "outside US-WI", "site:S1", "partner:P1")
PLACES = st.sampled_from([Place("US-WI", site="S1", partner="P1"), Place("US-MI", site="S2"), Place("US"), Place()])
RANKS = list(VERDICTS)


def some(values):
    return st.lists(st.sampled_from(values), unique=True, max_size=2).map(tuple)


few_days = st.sampled_from([None, *DAYS])
lines = st.builds(
    Line,
    lot=st.sampled_from("ABC"),
    taxa=some(TAXA),
    classes=some(CLASSES),
    may_classes=some(CLASSES),
    form=st.sampled_from(("", *FORMS)),
    quantity=st.sampled_from([None, 0, 40, 60, 100]),
    unit=st.sampled_from(["seeds", "plants"]),
    use_by=few_days,
    in_question=st.sampled_from(["", "doubted"]),
    draw_on=st.sampled_from([(), ("Q0",), ("Q1",)]),
)
questions = st.builds(
    Question,
    activity=st.sampled_from(["dispatch", "establish", "hold", "census_record"]),
    on=st.sampled_from(DAYS),
    lines=st.lists(lines, max_size=3).map(tuple),
    origin=PLACES,
    destination=PLACES,
    transit=st.lists(PLACES, max_size=2).map(tuple),
    receiver=st.sampled_from(["", "H. C."]),
    landowner_agreement_wanted=st.booleans(),
    people=some(["J. P.", "W. O."]),
)
versions = st.builds(
    Version,
    number=st.integers(0, 2),
    from_on=few_days,
    starts_on=st.sampled_from([None, DAYS[0]]),
    ends_on=st.sampled_from([None, DAYS[1]]),
    under=some(["R0", "R1"]),
    classes=some(CLASSES),
    taxa=some(TAXA),
    lots=some(["A", "B"]),
    forms=some(FORMS),
    activities=some(["dispatch", "establish"]),
    origins=some(PATTERNS),
    destinations=some(PATTERNS),
    transits=some(PATTERNS),
    sites=some(["S1"]),
    people=some(["J. P.", "W. O."]),
    cap_quantity=st.sampled_from([None, 50, 100, 200]),
    cap_unit=st.sampled_from(["seeds", "plants"]),
    cap_activities=some(["dispatch"]),
)
plain_versions = st.builds(
    Version, cap_quantity=st.sampled_from([None, 100, 200]), cap_unit=st.just("plants"), sites=st.sampled_from([(), ("S1",)])
)
papers = st.builds(
    Paper,
    code=st.just(""),
    type=st.sampled_from(TYPES),
    states=st.lists(st.builds(StateChange, st.sampled_from(DAYS[:2]), st.sampled_from(["in_force", "in_force", "suspended"])), min_size=1, max_size=2).map(tuple),
    versions=st.lists(versions | plain_versions, min_size=1, max_size=2, unique_by=lambda version: version.number).map(tuple),
    drawn=st.sampled_from([0, 30]),
    second_contact=st.sampled_from(["", "W. O."]),
    holder_left_on=st.sampled_from([None, None, DAYS[1]]),
    transferable=st.booleans(),
    documents_present=st.sampled_from([True, True, False]),
    duties_overdue=st.sampled_from([(), (), ("report",)]),
    review_by=few_days,
)  # fmt: skip
rules = st.builds(
    Requirement,
    code=st.just(""),
    edition=st.just("2026"),
    title=st.just("a rule"),
    activities=some(["dispatch", "establish"]),
    classes=some(CLASSES),
    forms=some(FORMS),
    taxa=some(TAXA),
    origins=some(PATTERNS),
    destinations=some(PATTERNS),
    transits=some(PATTERNS),
    from_on=st.sampled_from([None, DAYS[1]]),
    any_of=st.sampled_from([(), (("permit",),), (("permit", "licence"),), (("permit",), ("licence",))]),
    blocking=st.booleans(),
    verified_on=few_days,
    verified_with=st.just("office"),
    verified_by=st.just("I. C."),
    review_by=few_days,
)


def coded(letter):
    return lambda found: tuple(replace(one, code=f"{letter}{place}") for place, one in enumerate(found))


facts = st.builds(Facts, st.lists(rules, max_size=3).map(coded("R")), st.lists(papers, max_size=4).map(coded("Q")))


def standing(found):
    """How far each requirement is from being met; lower is better."""
    return {(one.kind, one.code, one.edition): ("met", "notice", "missing").index(one.status) for one in found.findings}


@settings(max_examples=100, deadline=None)
@given(questions, facts, papers)
def test_one_more_paper_never_makes_the_answer_worse(question, kept, more):
    without = decide(question, kept)
    with_it = decide(question, replace(kept, papers=(*kept.papers, replace(more, code="P0"))))
    assert RANKS.index(with_it.verdict) <= RANKS.index(without.verdict)
    before, after = standing(without), standing(with_it)
    assert before.keys() == after.keys()
    assert all(after[key] <= before[key] for key in before)


@settings(max_examples=75, deadline=None)
@given(questions, facts, st.randoms(use_true_random=False))
def test_the_answer_does_not_depend_on_the_order_of_anything(question, kept, random):
    def shuffled(values):
        return tuple(random.sample(values, len(values)))

    mixed_lines = [
        replace(one, classes=shuffled(one.classes), may_classes=shuffled(one.may_classes), taxa=shuffled(one.taxa))
        for one in question.lines
    ]
    mixed = replace(question, lines=shuffled(mixed_lines), people=shuffled(question.people), transit=shuffled(question.transit))
    mixed_rules = [
        replace(one, classes=shuffled(one.classes), any_of=shuffled(one.any_of), origins=shuffled(one.origins)) for one in kept.requirements
    ]
    mixed_papers = [
        replace(
            one, versions=shuffled([replace(v, classes=shuffled(v.classes), destinations=shuffled(v.destinations)) for v in one.versions])
        )
        for one in kept.papers
    ]
    assert decide(mixed, Facts(shuffled(mixed_rules), shuffled(mixed_papers))) == decide(question, kept)


@settings(max_examples=75, deadline=None)
@given(questions, facts)
def test_a_stored_determination_is_answered_the_same_again(question, kept):
    found = decide(question, kept)
    small = relevant(question, kept)
    assert (loads(dumps(question)), loads(dumps(kept)), loads(dumps(found))) == (question, kept, found)
    assert decide(loads(dumps(question)), loads(dumps(kept))) == loads(dumps(found))
    assert decide(loads(dumps(question)), loads(dumps(small))) == found
    assert relevant(question, small) == small


@settings(max_examples=100, deadline=None)
@given(questions, facts)
def test_every_answer_ends_with_the_authority(question, kept):
    found = decide(question, kept)
    told = explain(found)
    assert told[-1] == ALWAYS
    assert all(any(one.next_step in line for line in told) for one in found.findings)
    assert all(any(near.paper in line for line in told) for one in found.findings for near in one.near)


@settings(max_examples=75, deadline=None)
@given(
    st.lists(st.lists(st.tuples(st.sampled_from("AB"), st.integers(0, 60)), min_size=1, max_size=3), max_size=8),
    st.integers(0, 150),
    st.integers(0, 150),
    st.booleans(),
)
def test_no_sequence_of_covered_shipments_takes_more_than_the_caps(shipments, cap, second_cap, is_second_for_one_lot):
    caps = {"P-1": cap, "P-2": second_cap}
    drawn, shipped = Counter(), 0
    for lots in shipments:
        lines = tuple(line(lot=lot, quantity=quantity) for lot, quantity in lots)
        papers = [
            paper("P-1", cap_quantity=cap, cap_unit="plants", drawn=drawn["P-1"]),
            paper("P-2", cap_quantity=second_cap, cap_unit="plants", drawn=drawn["P-2"], lots=("A",) if is_second_for_one_lot else ()),
        ]
        found = answer(asked(lines=lines), papers=papers)
        if found.verdict == "covered":
            shipped += sum(quantity for _, quantity in lots)
            for draw in found.draws:
                drawn[draw.paper] += draw.quantity
    assert sum(drawn.values()) == shipped <= cap + second_cap
    assert all(drawn[code] <= caps[code] for code in caps)


@settings(max_examples=100, deadline=None)
@given(questions, facts)
def test_only_papers_on_file_and_in_force_meet_a_rule(question, kept):
    by_code = {paper.code: paper for paper in kept.papers}
    for one in decide(question, kept).findings:
        for code in one.met_by:
            assert [change.state for change in sorted(by_code[code].states, key=lambda change: change.on) if change.on <= question.on][
                -1
            ] == "in_force"


@settings(max_examples=50, deadline=None)
@given(questions, facts)
def test_what_must_be_recorded_is_never_stopped(question, kept):
    for activity in NEVER_BLOCKED:
        assert decide(replace(question, activity=activity), kept).verdict == "recorded"
