"""Papers matched with what the rules ask for: which cover which line, caps summed over all lines, and which came near."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from registry.compliance.gate.answers import LANDOWNER, Draw, Near, Reason
from registry.compliance.gate.facts import Paper, Question, Version
from registry.compliance.gate.lines import class_reason, is_capped, left, line_reasons
from registry.compliance.gate.papers import (
    NEAR_POINTS,
    OF_STANDING,
    Point,
    acts_alone,
    general_points,
    names_place,
    person_reason,
    purpose_reason,
    version_on,
    with_whom_reason,
)
from registry.compliance.gate.rules import Applied
from registry.compliance.gate.words import NONE_NEEDED

Item = tuple[int | None, str | None]  # place of the line in the question, and who does it


@dataclass(frozen=True, slots=True)
class Candidate:
    """A paper that may cover, and in what it fails whatever the line."""

    paper: Paper
    version: Version
    points: tuple[Point, ...]
    codes: tuple[str, ...]  # of these points
    capped: bool


@dataclass(slots=True)
class Match:
    """One set of types wanted by one rule: for each item the papers that cover it, those without a cap first."""

    applied: Applied
    types: tuple[str, ...]
    covering: dict[Item, list[Candidate]] = field(default_factory=dict)

    @property
    def is_met(self) -> bool:
        return all(self.covering.values())

    def chosen(self, item: Item) -> Candidate | None:
        """The paper an item goes under: one without a cap before one with a cap, then the first in order of code."""
        return min(self.covering[item], key=lambda candidate: (candidate.capped, candidate.paper.code), default=None)


def candidates_by_type(papers: Iterable[Paper], types: frozenset[str], question: Question) -> dict[str, list[Candidate]]:
    """Papers of the types wanted that fail in no more than `NEAR_POINTS` general points, by type.

    Source
    ------
    As `decide`: the cover test of the trade (common practice, no source).
    """
    found: defaultdict[str, list[Candidate]] = defaultdict(list)
    cache: dict = {}
    for paper in papers:
        if paper.type not in types:
            continue
        version = version_on(paper, question.on)
        points = general_points(paper, version, question, cache)
        if len(points) <= NEAR_POINTS:
            version = version or Version()
            codes = tuple([code for code, _ in points])
            found[paper.type].append(Candidate(paper, version, tuple(points), codes, is_capped(version, question)))
    return found


def nearness(type: str, codes: Iterable[str], faults: int, wanted: Iterable[str]) -> tuple[bool, bool, int]:
    """How near a paper came, lowest first: of a type the rule names, then about this and only out of order, then in few points.

    Parameters
    ----------
    type : str
        Of the paper.
    codes : iterable of str
        Codes of its reasons.
    faults : int
        How many reasons there are.
    wanted : iterable of str
        Types a rule asks for.

    Returns
    -------
    (bool, bool, int)
        A sort key, the nearest lowest.

    Source
    ------
    Definition of this programme.
    """
    return type not in wanted, not OF_STANDING.issuperset(codes), faults


class Bench:
    """All matches of one question. Each paper is judged by itself, so that adding a paper never takes cover away.

    A paper with a cap must hold the sum of all lines that no paper without a cap covers and that it could be
    used for; when the sum is more than is left, it covers none of them.
    """

    def __init__(self, question: Question, papers: Iterable[Paper], wants: list[tuple[Applied, tuple[tuple[str, ...], ...]]]) -> None:
        self.question = question
        self._asked_at = [replace(question, destination=place, also_to=()) for place in question.destinations]
        types = frozenset(code for _, sets in wants for wanted in sets for code in wanted) | {NONE_NEEDED}
        self._line_reasons: dict[tuple, tuple[Reason, ...]] = {}
        self._covering: dict[tuple, dict[Item, list[Candidate]]] = {}
        self._near: dict[tuple, tuple[list[Near], list[str]]] = {}
        papers = tuple(papers)
        self._candidates = [candidates_by_type(papers, types, one) for one in self._asked_at]
        self.papers: dict[str, Paper] = {}  # those shown as near, by code
        self._has_under = any(one.version.under for by_type in self._candidates for candidates in by_type.values() for one in candidates)
        self.matches = [[self._match(applied, wanted) for wanted in sets] for applied, sets in wants]
        self._drawn_on = self._lines_by_cap()
        for match in self._all():
            for item, covering in match.covering.items():
                match.covering[item] = [candidate for candidate in covering if not self._is_over(candidate)]

    def _all(self):
        return (match for matches in self.matches for match in matches)

    def _of_types(self, match: Match) -> list[Candidate]:
        is_landowner = match.applied.requirement.code == LANDOWNER
        types = set(match.types) if is_landowner else {*match.types, NONE_NEEDED}
        found = [candidate for code in types for candidate in self._candidates[match.applied.to].get(code, ())]
        return [one for one in found if names_place(one.version, self.question.destination)] if is_landowner else found

    def asked_at(self, match: Match) -> Question:
        """The question as if it went to the place alone through which the rule applies."""
        return self._asked_at[match.applied.to]

    def _match(self, applied: Applied, wanted: tuple[str, ...]) -> Match:
        match = Match(applied, wanted)
        key = self._same(match)
        if key not in self._covering:
            candidates = [candidate for candidate in self._of_types(match) if not candidate.points]
            items = [(place, person) for place in applied.by_line or (None,) for person in self.question.people or (None,)]
            self._covering[key] = {item: [one for one in candidates if not self._against(one, applied, item)] for item in items}
        match.covering.update(self._covering[key])
        return match

    def _same(self, match: Match) -> tuple:
        """What is equal for two rules that the same papers cover: most rules ask the same of the same lines."""
        code = match.applied.requirement.code
        return match.types, match.applied.to, tuple(match.applied.by_line.items()), code if self._has_under or code == LANDOWNER else ""

    def _against(self, candidate: Candidate, applied: Applied, item: Item) -> tuple[Reason, ...]:
        """Why a paper does not cover one item under one rule, besides its general points and the sum of all lines."""
        place, person = item
        version, reasons = candidate.version, ()
        if place is not None:
            reasons = self._against_line(candidate, place, applied.by_line[place])
        if self.question.people:
            reasons += person_reason(candidate.paper, version, self.question, person)
        code = applied.requirement.code
        if code == LANDOWNER:
            reasons += with_whom_reason(candidate.paper, version, self.question) + purpose_reason(version, self.question)
        if version.under and code not in version.under and code != LANDOWNER:
            reasons += (Reason("under", f"it was issued under {', '.join(sorted(version.under))}"),)
        return reasons

    def _against_line(self, candidate: Candidate, place: int, matched: frozenset[str]) -> tuple[Reason, ...]:
        """Why a paper does not cover one line. Papers with equal wording and no cap are checked once."""
        version = candidate.version
        # the versions live as long as this bench does, so that their id can be the key
        key = (candidate.paper.code if candidate.capped else id(version), place, matched)
        if key not in self._line_reasons:
            line = self.question.lines[place]
            reasons = line_reasons(candidate.paper, version, line, candidate.capped, self.question.edition)
            self._line_reasons[key] = reasons + class_reason(version, line, matched)
        return self._line_reasons[key]

    def _lines_by_cap(self) -> dict[str, set[int]]:
        """{code of a paper with a cap: places of the lines that no paper without one covers and that it could be used for}."""
        lines: defaultdict[str, set[int]] = defaultdict(set)
        for match in self._all():
            for (place, _), covering in match.covering.items():
                if place is not None and all(candidate.capped for candidate in covering):
                    for candidate in covering:
                        lines[candidate.paper.code].add(place)
        return dict(lines)

    def _asked(self, candidate: Candidate, also: Iterable[int] = ()) -> int:
        """How much the lines that may be drawn on a paper ask of its cap; `also` are places of further lines."""
        places = self._drawn_on.get(candidate.paper.code, set()).union(also)
        return sum(self.question.lines[place].quantity or 0 for place in places)

    def _is_over(self, candidate: Candidate) -> bool:
        return candidate.capped and self._asked(candidate) > left(candidate.paper, candidate.version)

    def _cap_reason(self, candidate: Candidate, also: Iterable[int] = ()) -> tuple[Reason, ...]:
        rest, asked = left(candidate.paper, candidate.version), self._asked(candidate, also)
        if not candidate.capped or asked <= rest:
            return ()
        return (Reason("quantity", f"{rest} {candidate.version.cap_unit} are left of its cap, {asked} are needed"),)

    def chosen(self) -> list[Candidate]:
        """Every paper some item goes under."""
        found = (match.chosen(item) for match in self._all() for item in match.covering)
        return [candidate for candidate in found if candidate is not None]

    def out_of_order(self) -> dict[str, Version]:
        """What those papers say that came near and are about this, but are not in order; by code. After every `near`."""
        shown = (near for found, _codes in self._near.values() for near in found)
        codes = {near.paper for near in shown if OF_STANDING.issuperset(reason.code for reason in near.reasons)}
        return {code: version_on(self.papers[code], self.question.on) or Version() for code in sorted(codes)}

    def near(self, match: Match, most: int) -> tuple[list[Near], list[str]]:
        """Papers that came near covering what is not covered, in order of `nearness`, then those that ended last, then by code.

        Returns the `most` nearest, and the codes of all of them in that order: words are found only for those shown.
        """
        key = self._same(match)
        if key not in self._near:
            self._near[key] = self._find_near(match, most)
        return self._near[key]

    def _find_near(self, match: Match, most: int) -> tuple[list[Near], list[str]]:
        open_items = [item for item, covering in match.covering.items() if not covering]
        alike: dict[tuple, tuple[dict[Item, tuple[Reason, ...]], tuple[bool, bool, int]]] = {}
        found = []
        for candidate in self._of_types(match) if open_items else ():
            codes = candidate.codes
            partner = candidate.paper.partner if match.applied.requirement.code == LANDOWNER else ""
            key = (candidate.paper.type, id(candidate.version), codes, acts_alone(candidate.paper, self.question), partner)
            if candidate.capped or key not in alike:
                by_item = self._reasons_by_item(candidate, match, open_items)
                against = {reason for reasons in by_item.values() for reason in reasons}
                every_code = {*codes, *(reason.code for reason in against)}
                alike[key] = by_item, nearness(candidate.paper.type, every_code, len(codes) + len(against), match.types)
            by_item, near = alike[key]
            if by_item and not self._is_about_elsewhere(candidate, by_item):
                ends_on = candidate.version.ends_on.toordinal() if candidate.version.ends_on else 0
                found.append((near, -ends_on, candidate.paper.code, candidate, by_item))
        found.sort(key=lambda row: row[:3])
        self.papers |= {one.paper.code: one.paper for *_, one, _ in found[:most]}
        shown = [
            Near(one.paper.code, one.paper.type, one.paper.title, self._merged(one, by_item, match)) for *_, one, by_item in found[:most]
        ]
        return shown, [code for _, _, code, _, _ in found]

    def _is_about_elsewhere(self, candidate: Candidate, by_item: dict[Item, tuple[Reason, ...]]) -> bool:
        """Whether it is a determination about another place: that says nothing here, and was named up to edition 3."""
        if candidate.paper.type != NONE_NEEDED or self.question.edition < 4:
            return False
        codes = {*candidate.codes, *(reason.code for reasons in by_item.values() for reason in reasons)}
        return not codes.isdisjoint(("origin", "transit", "destination"))

    def _reasons_by_item(self, candidate: Candidate, match: Match, items: list[Item]) -> dict[Item, tuple[Reason, ...]]:
        """Why a paper does not cover each item it came near; those it is too far from are left out.

        A cap that is too small is named beside whatever else fails, since nobody should find it only once that is mended. Up to
        edition 8 it was named alone.
        """
        by_item, about = (
            {},
            [place for place in self._places(items) if not self._against_line(candidate, place, match.applied.by_line[place])],
        )
        for item in items:
            reasons = self._against(candidate, match.applied, item)
            if len(reasons) + len(candidate.points) > NEAR_POINTS:
                continue
            if self.question.edition >= 9:
                by_item[item] = reasons + (self._cap_reason(candidate, about) if item[0] in about else ())
            else:
                by_item[item] = reasons if candidate.points or reasons else self._cap_reason(candidate)
        return by_item

    @staticmethod
    def _places(items: Iterable[Item]) -> list[int]:
        return sorted({place for place, _person in items if place is not None})

    def _merged(self, candidate: Candidate, by_item: dict[Item, tuple[Reason, ...]], match: Match) -> tuple[Reason, ...]:
        lots_of: defaultdict[tuple[str, str], set[int]] = defaultdict(set)
        for (place, _), reasons in by_item.items():
            for reason in reasons:
                lots_of[reason.code, reason.words].add(place)
        every = set(match.applied.by_line) or {None}
        merged = [Reason(code, words()) for code, words in candidate.points]
        for (code, words), places in lots_of.items():
            lots = () if places == every else tuple(sorted({self.question.lines[place].lot for place in places}))
            merged.append(Reason(code, words, lots))
        return tuple(sorted(merged, key=lambda reason: (reason.code, reason.words, reason.lots)))

    def draws(self, matches: Iterable[Match]) -> tuple[Draw, ...]:
        """What the lines under these matches draw from caps, each line once a paper."""
        drawn = set()
        for match in matches:
            for item in match.covering:
                candidate = match.chosen(item)
                if candidate is not None and candidate.capped and item[0] is not None:
                    drawn.add((candidate.paper.code, item[0], candidate.version.cap_unit))
        lines = self.question.lines
        return tuple(Draw(code, lines[place].lot, lines[place].quantity or 0, unit) for code, place, unit in sorted(drawn))
