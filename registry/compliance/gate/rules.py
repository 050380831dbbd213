"""Which of the rules on file apply to a question, to which of its lines, and how sure that is.

Source
------
Definition of this programme for all functions here: a rule that may apply counts as applying. Rules of a country are records with sources
of their own.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from registry.calc.shared.screen import list_words
from registry.compliance.gate.facts import Line, Question, Requirement
from registry.compliance.gate.places import NO, UNKNOWN, YES, matches, names_a_county
from registry.compliance.shared.earlier_taxa import as_epithets, named_before_6
from registry.compliance.shared.taxa import named, taxon_in


@dataclass(frozen=True, slots=True)
class Applied:
    """A rule that applies.

    Parameters
    ----------
    requirement : Requirement
    by_line : dict of int to frozenset of str
        Place of the line in the question, and the classes by which the rule takes it in (none: not by class).
        Empty when the question has no lines.
    may_contain : bool
        Whether it takes in some line only by a class that the line may have.
    notes : tuple of str
    to : int
        Through which of the places it goes to, counted as in `Question.destinations`.
    """

    requirement: Requirement
    by_line: dict[int, frozenset[str]]
    may_contain: bool = False
    notes: tuple[str, ...] = ()
    to: int = 0


def rule_applies(requirement: Requirement, question: Question, to: int = 0) -> Applied | None:
    """How a rule applies to a question, or None when it does not.

    Parameters
    ----------
    requirement : Requirement
    question : Question
    to : int
        Which of `Question.destinations` is looked at, from 0.

    Returns
    -------
    Applied or None

    Notes
    -----
    What is not known counts as taken in by the rule, and a note says so. A rule about transit applies only to
    places of transit that are given.

    Raises
    ------
    ValueError
        When a place pattern cannot be read.

    Examples
    --------
    >>> from datetime import date
    >>> from registry.compliance.gate.facts import Place
    >>> rule = Requirement("R1", "2026", "Walnut family", destinations=("US-MI",))
    >>> rule_applies(rule, Question("dispatch", date(2026, 4, 1), destination=Place("US-VT"))) is None
    True
    """
    if requirement.activities and question.activity not in requirement.activities:
        return None
    if (requirement.from_on and question.on < requirement.from_on) or (requirement.until_on and question.on > requirement.until_on):
        return None
    notes = _place_notes(requirement, question, to)
    if notes is None:
        return None
    if not question.lines:
        about_material = requirement.classes or requirement.forms or requirement.taxa
        return None if about_material else Applied(requirement, {}, notes=tuple(notes), to=to)
    by_line, may_contain = {}, False
    for place, line in enumerate(question.lines):
        found = _takes_in(requirement, line, question.edition)
        if found is None:
            continue
        by_line[place], only_may, more = found
        may_contain = may_contain or only_may
        notes += more
    return Applied(requirement, by_line, may_contain, tuple(dict.fromkeys(notes)), to) if by_line else None


def _place_notes(requirement: Requirement, question: Question, to: int) -> list[str] | None:
    notes = []
    for name, patterns, place in (
        ("origin", requirement.origins, question.origin),
        ("destination", requirement.destinations, question.destinations[to]),
    ):
        found = matches(patterns, place, question.edition) if patterns else YES
        if found == NO:
            return None
        if found == UNKNOWN and place.near:
            notes.append(f"The {name} lies too near {list_words(place.near)} to tell from its point, so the rule is taken to apply.")
        elif found == UNKNOWN:
            notes.append(f"The {name} is not known well enough, so the rule is taken to apply.")
        if place.county_typed and names_a_county(patterns):
            notes.append(f"The county {place.county} was typed and is not checked against an outline.")
    if requirement.transits:
        found = max((matches(requirement.transits, place, question.edition) for place in question.transit), default=NO)
        if found == NO:
            return None
        if found == UNKNOWN:
            notes.append("The route is not known well enough to tell, so the rule is taken to apply.")
    return notes


def _takes_in(requirement: Requirement, line: Line, edition: int) -> tuple[frozenset[str], bool, list[str]] | None:
    notes = []
    matched, only_may = frozenset(), False
    if requirement.classes:
        certain = frozenset(requirement.classes).intersection(line.classes)
        matched = certain | frozenset(requirement.classes).intersection(line.may_classes)
        if not matched:
            return None
        only_may = not certain
        if only_may:
            notes.append(f"Lot {line.lot} may contain {list_words(sorted(matched), 'and')}: the rule applies for that reason alone.")
    of_taxon = _named(requirement, line, edition) if requirement.taxa else YES
    for name, listed, known, hit in (
        ("form", requirement.forms, line.form, line.form in requirement.forms),
        ("taxon", requirement.taxa, line.taxa, of_taxon != NO),
    ):
        if listed and known and not hit:
            return None
        if listed and not known:
            notes.append(f"The {name} of lot {line.lot} is not given, so the rule is taken to apply.")
    if line.taxa and of_taxon == UNKNOWN:
        of_these = f"lot {line.lot} ({list_words(line.taxa, 'and')}) is one of {list_words(requirement.taxa)}"
        notes.append(f"Whether {of_these} is not known, so the rule is taken to apply.")
    return matched, only_may, notes


def _named(requirement: Requirement, line: Line, edition: int) -> int:
    if edition < 4:
        return YES if any(taxon_in(taxon, requirement.taxa) for taxon in line.taxa) else NO
    if edition < 7:
        names = map(as_epithets, (requirement.taxa, line.taxa, line.parent_taxa))
        return (named if edition == 6 else named_before_6)(*names)
    return named(requirement.taxa, line.taxa, line.parent_taxa)


def applied_rules(requirements: Iterable[Requirement], question: Question) -> list[Applied]:
    """The rules that apply, in order of code and edition; a rule once for each place through which it does.

    Examples
    --------
    >>> from datetime import date
    >>> rules = [Requirement("R2", "2026", "Second"), Requirement("R1", "2026", "First")]
    >>> [found.requirement.code for found in applied_rules(rules, Question("dispatch", date(2026, 4, 1)))]
    ['R1', 'R2']
    """
    places = range(len(question.destinations))
    found = filter(None, (rule_applies(requirement, question, to) for requirement in requirements for to in places))
    return sorted(found, key=lambda applied: (applied.requirement.code, applied.requirement.edition, applied.to))
