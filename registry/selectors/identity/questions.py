"""Reads about identity: what a question spreads to, which records carry the mark, which pools are affected besides.

The rule of the mark, as every page states it, is `RULE`.
"""

import datetime
from dataclasses import dataclass

from django.db.models import Count, Exists, F, IntegerField, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.screen import amount_words
from registry.choices import EvidenceOutcome
from registry.models import AuditEntry, IdentityEvidence, IdentityQuestion, Lot, PedigreeTree, PollenPool, PollenPoolMember
from registry.models.audit import stored_name
from registry.selectors.duties.duty_line import Duty
from registry.selectors.identity.descent import chunks, linked, lots_made_of, offspring, pools_joined

__all__ = [
    "OPEN",
    "PREFETCHED",
    "RULE",
    "Spread",
    "AffectedPool",
    "corrected_since",
    "evidence_of",
    "identity_field",
    "lots_in_question",
    "pollen_in_question",
    "question_duties",
    "question_lines",
    "question_path",
    "question_spread",
    "question_stored",
    "questions_listed",
    "questions_of",
    "questions_settling",
    "spread_differences",
    "affected_pools",
    "unanswered_contradictions",
    "with_question_mark",
]

RULE = (
    "A question marks the record itself; the trees that name it, or a tree so marked, as mother or father; the trees and lots of a "
    "pollen pool in question; the lots of marked trees; every lot raised, split or bulked from a marked lot; and a lot into which a "
    "marked part was put back. A pollen pool that a marked tree is a member of is not marked, nor are its lots: their father is the "
    "pool. They are listed as affected. The mark stays until every question that reaches a record is settled."
)
OPEN = Q(settled_on__isnull=True)
PREFETCHED = ("tree", "lot", "pool", "entered_by", "settled_by")
# how the rows of a list are reached by questions
_PATHS = {"lot": "questions", "pedigreetree": "questions", "pollenpool": "own_questions", "shipment": "lines__lot__questions"}


@dataclass(frozen=True, slots=True)
class Spread:
    """What a question marks: keys of trees and of lots, the record itself among them."""

    trees: frozenset
    lots: frozenset


def question_spread(question):
    """What a question marks by the rule, calculated again from the parents and origins on record."""
    own = frozenset({question.tree_id} - {None})
    pools = frozenset({question.pool_id} - {None})
    trees = own | offspring(own, pools)
    return Spread(trees, frozenset(lots_made_of(trees, pools, {question.lot_id} - {None})))


def question_stored(question):
    """What is stored as marked by a question."""
    trees = question.trees.through.objects.filter(identityquestion=question).values_list("pedigreetree", flat=True)
    lots = question.lots.through.objects.filter(identityquestion=question).values_list("lot", flat=True)
    return Spread(frozenset(trees), frozenset(lots))


def spread_differences():
    """(how many open questions were checked, [(what, stored, fresh)]): the stored marks checked against the rule."""
    found, checked = [], 0
    for question in IdentityQuestion.objects.filter(OPEN).select_related(*PREFETCHED):
        checked += 1
        stored, fresh = question_stored(question), question_spread(question)
        for name, marked, by_rule in (("trees", stored.trees, fresh.trees), ("lots", stored.lots, fresh.lots)):
            if marked != by_rule:
                found.append((f"question {question.pk} about {question.about}, {name}", _codes(name, marked), _codes(name, by_rule)))
    return checked, found


def _codes(name, keys):
    model = PedigreeTree if name == "trees" else Lot
    codes = sorted(linked(model.objects, "pk", set(sorted(keys)[:20]), "code"))
    return f"{len(keys):,}: {', '.join(codes)}{' …' if len(keys) > len(codes) else ''}"


# what a record is and where it came from; a note or a storage place says nothing about its identity
_OF_IDENTITY = frozenset(
    (
        "code", "taxon", "kind", "mother", "father", "pollen_pool", "parent", "origin", "outside_origin", "cross_type", "year",
        "backcrosses", "intercrosses", "generation_other", "source_of_resistance", "recurrent_line", "declared_source", "declared_line",
        "regulated_engineered", "orchard", "block", "plot", "row", "position", "planted_year",
        "flowering_year", "flowered_on", "outside_share", "outside_taxon", "outside_classes", "selfing_share",
    )
)  # fmt: skip
_OF_MEMBERS = ("pollenpool.members_changed", "pollenpool.gathered")


def corrected_since(question):
    """Whether the identity or the parents of a record changed since it was in question: by the audit trail.

    A record added on a later day was entered with what was known by then, and counts too.
    """
    about = question.about
    since = timezone.make_aware(datetime.datetime.combine(question.raised_on, datetime.time()))
    if question.entered_at and timezone.localdate(question.entered_at) == question.raised_on:
        since = question.entered_at
    entries = AuditEntry.objects.filter(record_type=stored_name(about), record_id=about.pk, at__gte=since)
    return any(
        verb in _OF_MEMBERS
        or (verb.endswith(".changed") and not _OF_IDENTITY.isdisjoint(changes))
        or (verb.endswith(".added") and timezone.localdate(at) > question.raised_on)
        for verb, changes, at in entries.values_list("verb", "changes", "at")
    )


# -- the mark of a record -------------------------------------------------------------------------


def question_path(model):
    """How questions reach the rows of a record type of the registry; blank for one that carries no mark."""
    return _PATHS.get(model._meta.model_name, "")


def with_question_mark(queryset, path):
    """Rows with `in_question`: whether an open question reaches them by `path`, without a query of its own."""
    rows = queryset.model._base_manager.filter(pk=OuterRef("pk"), **{f"{path}__isnull": False, f"{path}__settled_on__isnull": True})
    return queryset.annotate(in_question=Exists(rows))


def questions_of(record):
    """The questions that reach or reached a tree, lot or pool, the open ones first."""
    manager = record.own_questions if isinstance(record, PollenPool) else record.questions
    return manager.select_related(*PREFETCHED).order_by(F("settled_on").desc(nulls_first=True), "-raised_on", "-pk")


def unanswered_contradictions(evidence):
    """The entries of a queryset of evidence that contradict an identity, while no question about it is open and none was settled since.

    A settlement answers what was known when somebody entered it: evidence that came in later is unanswered, however early its day.
    """
    own = Q(tree=OuterRef("tree")) | Q(lot=OuterRef("lot")) | Q(pool=OuterRef("pool"))
    reached = Q(trees=OuterRef("tree")) | Q(lots=OuterRef("lot"))
    since = Q(settled_on__gte=OuterRef("on"), settled_at__gte=OuterRef("entered_at"))
    answered, reaching = IdentityQuestion.objects.filter(own & (OPEN | since)), IdentityQuestion.objects.filter(reached & OPEN)
    return evidence.filter(~Exists(answered), ~Exists(reaching), outcome=EvidenceOutcome.CONTRADICTS)


def pollen_in_question(pool):
    """(members of a pool that carry the mark, members it names). One query."""
    members = pool.members.annotate(
        doubtful=Exists(
            IdentityQuestion.trees.through.objects.filter(pedigreetree=OuterRef("tree"), identityquestion__settled_on__isnull=True)
        )
    )
    doubts = list(members.values_list("doubtful", flat=True))
    return sum(doubts), len(doubts)


def lots_in_question(lots=None):
    """Keys of the lots that carry the mark; of all lots when no queryset or keys are given. One query."""
    marked = IdentityQuestion.lots.through.objects.filter(identityquestion__settled_on__isnull=True)
    if lots is not None:
        marked = marked.filter(lot__in=lots)
    return set(marked.values_list("lot", flat=True))


def question_duties(lots):
    """One line for each open question that reaches any of these lots (keys), for the page of what carries them."""
    reached = {}
    for chunk in chunks(lots):
        through = IdentityQuestion.lots.through.objects.filter(lot__in=chunk, identityquestion__settled_on__isnull=True)
        for question, code in through.order_by("lot__code").values_list("identityquestion", "lot__code"):
            reached.setdefault(question, []).append(code)
    questions = IdentityQuestion.objects.filter(pk__in=reached).select_related(*PREFETCHED)
    return [_lots_duty(question, reached[question.pk]) for question in questions]


def _lots_duty(question, codes):
    through = "" if question.lot and [question.lot.code] == codes else f", through {_about(question)}"
    text = f"Identity of {_some(codes)} in question{through}: {question.reason}"
    return Duty("odd", text, question.raised_on, reverse("identityquestion_detail", args=[question.pk]))


def _some(codes):
    shown = ", ".join(codes[:3])
    return f"lot {shown}" if len(codes) == 1 else f"lots {shown}{f' and {len(codes) - 3} more' if len(codes) > 3 else ''}"


def _about(question):
    return f"{question.about._meta.verbose_name} {question.about}"


def question_lines(user, lines_max):
    """Lines of Today: the open questions with how far they reach, the latest first. One query."""
    questions = IdentityQuestion.objects.for_user(user).filter(OPEN).order_by("-raised_on", "-pk")
    for question in questions_listed(questions)[:lines_max]:
        text = (
            f"Identity of {_about(question)} in question; it marks {amount_words(question.trees_count, 'trees')} of the pedigree "
            f"and {amount_words(question.lots_count, 'lots')}"
        )
        yield Duty("odd", text, question.raised_on, reverse("identityquestion_detail", args=[question.pk]))


def questions_listed(queryset):
    """Questions with their records and `trees_count`, `lots_count`: how many they mark."""
    trees = _count(IdentityQuestion.trees.through)
    return queryset.select_related(*PREFETCHED).annotate(trees_count=trees, lots_count=_count(IdentityQuestion.lots.through))


def _count(through):
    counted = through.objects.filter(identityquestion=OuterRef("pk")).order_by().values("identityquestion").annotate(n=Count("pk"))
    return Coalesce(Subquery(counted.values("n"), output_field=IntegerField()), 0)


def evidence_of(record):
    """The evidence about the identity of a record, the newest first."""
    return IdentityEvidence.objects.filter(**{identity_field(record): record}).select_related("entered_by")


def identity_field(record):
    """The field of a question or of evidence that names a tree, a lot or a pool."""
    return {PedigreeTree: "tree", Lot: "lot", PollenPool: "pool"}[type(record)]


def questions_settling(question):
    """What settling a question takes the mark off: ((trees, lots) that lose it, (trees, lots) that keep it for another question)."""
    lose, keep = [], []
    for through, field in ((IdentityQuestion.trees.through, "pedigreetree"), (IdentityQuestion.lots.through, "lot")):
        marked = through.objects.filter(identityquestion=question)
        others = through.objects.filter(identityquestion__settled_on__isnull=True).exclude(identityquestion=question)
        kept = marked.filter(**{f"{field}__in": others.values(field)}).count()
        lose.append(marked.count() - kept)
        keep.append(kept)
    return tuple(lose), tuple(keep)


# -- affected, though not marked -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AffectedPool:
    """A pollen pool that trees of a set are members of: `members` of it are, of `named` it names."""

    pool: PollenPool
    members: int
    named: int
    lots: int

    @property
    def words(self):
        who = "one" if self.members == 1 else f"{self.members:,}"
        return f"affected as {who} of {self.named:,} pollen parents it names; {amount_words(self.lots, 'lots')} of this pool, not marked"


def affected_pools(trees):
    """The pools any of these trees (keys) is a member of, in order of their codes. Three queries for a few hundred trees."""
    keys = pools_joined(trees)
    found = []
    for chunk in chunks(keys):
        found.extend(PollenPool.objects.filter(pk__in=chunk))
    named, members = {}, {}
    for pool, tree in linked(PollenPoolMember.objects, "pool", keys, "pool", "tree"):
        named[pool] = named.get(pool, 0) + 1
        members[pool] = members.get(pool, 0) + (tree in trees)
    lots = {}
    for pool in linked(Lot.objects, "pollen_pool", keys, "pollen_pool"):
        lots[pool] = lots.get(pool, 0) + 1
    return [
        AffectedPool(pool, members[pool.pk], named[pool.pk], lots.get(pool.pk, 0)) for pool in sorted(found, key=lambda pool: pool.code)
    ]
