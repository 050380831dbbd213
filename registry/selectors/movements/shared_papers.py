"""Papers that several drafts of shipments would go under, and that are not enough for all of them.

Each draft alone reads “covered”; the gate refuses the one that leaves last. A draft says nothing of the paper it goes under, so the
gate is asked for all of them at once, and only where their lots could add up to more than is left.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass, replace

from django.db.models import prefetch_related_objects
from django.utils.translation import gettext

from registry.calc.shared.screen import list_words
from registry.choices import LotKind, ShipmentState
from registry.compliance.gate.answers import MISSING, Answer
from registry.compliance.gate.decide import decide
from registry.compliance.gate.facts import Facts, Question
from registry.models import Shipment, ShipmentLine
from registry.selectors.duties.duty_line import Duty
from registry.selectors.gate.facts import facts_of
from registry.selectors.gate.questions import shipment_questions
from registry.selectors.movements.papers import shipment_day
from registry.selectors.permits.as_of import version_on
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count

__all__ = ["draft_paper_duties", "shared_paper_duties"]

DRAFTS_ASKED_MAX = 50  # of one page; those that leave first


@dataclass(frozen=True, slots=True)
class _Draft:
    """A draft and what the gate says of it alone."""

    shipment: Shipment
    question: Question
    facts: Facts
    answer: Answer

    def needs(self, code):
        """How much of a paper's cap it draws."""
        return sum(draw.quantity for draw in self.answer.draws if draw.paper == code)


def draft_paper_duties(shipment, papers, answer, today):
    """A line for each paper that a draft shares with other drafts and that is not enough for all.

    `papers` are the ShipmentPapers of the draft, `answer` is what the gate says of it. One query where no other draft could go under
    them.
    """
    drawn = {draw.paper for draw in answer.draws} if answer else set()
    shared = [one.paper for one in papers if one.paper.one_consignment or one.paper.code in drawn]
    return shared_paper_duties(shared, today, shipment) if shared else []


def shared_paper_duties(papers, today, shipment=None):
    """A line for each of some papers that is not enough for the drafts that would go under it: all drafts, or those with one of them."""
    lines = _lines_of_drafts()
    if len({line["shipment"] for line in lines}) < 2:
        return []
    prefetch_related_objects(papers, "versions")
    chosen = _chosen_for([paper for paper in papers if paper.one_consignment])
    could = {paper: _could_go_under(paper, lines) | chosen[paper.pk] for paper in papers}
    could = {paper: keys for paper, keys in could.items() if len(keys) > 1 and (shipment is None or shipment.pk in keys)}
    asked = _asked(set().union(*could.values()), shipment, today)
    words = [_words(paper, [one for one in asked if one.shipment.pk in keys], chosen[paper.pk]) for paper, keys in could.items()]
    own = shipment.code if shipment else ""
    return [Duty("odd", text) for text, codes in words if text and (not own or own in codes)]


def _lines_of_drafts():
    lines = ShipmentLine.objects.filter(shipment__state=ShipmentState.DRAFT).order_by()
    return list(lines.values("shipment", "lot__code", "lot__kind", "form", "quantity", "draw_on"))


def _chosen_for(papers):
    """{key of a paper: the drafts it was chosen for}, without papers that have left with a shipment."""
    found, gone = defaultdict(set), set()
    if papers:
        states = (ShipmentState.DRAFT, ShipmentState.DISPATCHED)
        shipments = Shipment.objects.filter(state__in=states, authorizations__in=papers).order_by()
        for paper, shipment, state in shipments.values_list("authorizations", "pk", "state"):
            if state == ShipmentState.DRAFT:
                found[paper].add(shipment)
            else:
                gone.add(paper)
    for paper in gone:
        found.pop(paper, None)
    return found


def _could_go_under(paper, lines):
    """The drafts that may go under a paper by lot, form and unit, where together they may need more than it has; none otherwise."""
    versions = list(paper.versions.all())
    quantities = Counter()
    for line in lines:
        if any(_could_cover(paper, version, line) for version in versions):
            quantities[line["shipment"]] += line["quantity"]
    caps = [version.cap_quantity for version in versions if version.cap_quantity is not None]
    is_short = bool(caps) and quantities.total() > min(caps) - paper.drawn
    return set(quantities) if paper.one_consignment or is_short else set()


def _could_cover(paper, version, line):
    named = (not version.lots or line["lot__code"] in version.lots) and (not version.forms or line["form"] in version.forms)
    if not named or version.cap_quantity is None:
        return named and paper.one_consignment
    unit = "seeds" if line["lot__kind"] == LotKind.SEED else "plants"
    return unit == version.cap_unit and (not line["draw_on"] or paper.code in line["draw_on"])


def _asked(keys, shipment, today):
    """The drafts with what the gate says of each, in the order in which they leave."""
    if not keys:
        return []
    drafts = Shipment.objects.filter(pk__in=keys).select_related("receiver")
    drafts = sorted(drafts, key=lambda draft: (draft != shipment, shipment_day(draft, today), draft.code))[:DRAFTS_ASKED_MAX]
    drafts.sort(key=lambda draft: (shipment_day(draft, today), draft.code))
    questions = shipment_questions([(draft, shipment_day(draft, today)) for draft in drafts])
    read = zip(drafts, questions, facts_of(questions), strict=True)
    return [_Draft(draft, question, facts, decide(question, facts)) for draft, question, facts in read]


def _words(paper, drafts, chosen):
    """(words, codes of the drafts) where a paper is not enough for all of its drafts; "" where it is."""
    if paper.one_consignment:
        going = [one for one in drafts if one.shipment.pk in chosen or paper.code in _went_under(one.answer)]
        if len(going) > 1 and (len(chosen) > 1 or _falls_short(going, paper, chosen)):
            return _once_words(paper, going), {one.shipment.code for one in going}
    going = [one for one in drafts if one.needs(paper.code)]
    said = version_on(paper.versions.all(), going[-1].question.on) if len(going) > 1 else None
    if said is None or said.cap_quantity is None:
        return "", set()
    left, total = max(0, said.cap_quantity - paper.drawn), sum(one.needs(paper.code) for one in going)
    if total <= left or not _falls_short(going, paper, chosen):
        return "", set()
    each = [f"{one.shipment.code} ({local_count(one.needs(paper.code))})" for one in going]
    words = gettext("Drafts %(drafts)s go under %(paper)s, which has %(left)s left: together they need %(more)s more than it has.")
    words %= {
        "drafts": list_words(each, gettext("and")), "paper": paper.code, "left": local_amount(left, said.cap_unit),
        "more": local_count(total - left),
    }  # fmt: skip
    return words, {one.shipment.code for one in going}


def _once_words(paper, going):
    words = gettext("Drafts %(drafts)s go under %(paper)s, which holds for one consignment: the first to leave uses it up.")
    return words % {"drafts": list_words([one.shipment.code for one in going], gettext("and")), "paper": paper.code}


def _falls_short(drafts, paper, chosen):
    """Whether a draft lacks something once those before it have left: another paper may cover it then."""
    drawn, used_for = Counter(), ""
    for one in drafts:
        papers = tuple(
            replace(
                fact, drawn=fact.drawn + drawn[fact.code], used_for=used_for or fact.used_for if fact.code == paper.code else fact.used_for
            )
            for fact in one.facts.papers
        )
        answer = decide(one.question, replace(one.facts, papers=papers))
        if _missing(answer) - _missing(one.answer):
            return True
        for draw in answer.draws:
            drawn[draw.paper] += draw.quantity
        if paper.one_consignment and (one.shipment.pk in chosen or paper.code in _went_under(answer)):
            used_for = used_for or one.shipment.code
    return False


def _missing(answer):
    return {(finding.code, finding.edition) for finding in answer.findings if finding.status == MISSING}


def _went_under(answer):
    return {code for finding in answer.findings for code in finding.met_by}
