"""The facts an answer of the gate rests on, read from the records into the plain values of `compliance.gate.facts`."""

import json
from collections import Counter, defaultdict
from dataclasses import replace
from datetime import date
from functools import lru_cache

from django.db.models import IntegerField, TextField
from django.db.models.functions import Cast, JSONArray

from registry.access.active import contact_on, is_active_on
from registry.choices import ShipmentState
from registry.compliance.duties import duties as pure_duties
from registry.compliance.gate.facts import Facts, Paper, Requirement, StateChange, Version
from registry.compliance.gate.rules import applied_rules
from registry.compliance.gate.words import DISPATCH, LANDOWNER_TYPES, NONE_NEEDED
from registry.models import (
    AgreementSignature,
    Authorization,
    AuthorizationStateRecord,
    AuthorizationVersion,
    Determination,
    PaperDocument,
    Person,
    RuleVerification,
    Shipment,
)
from registry.models import Requirement as RequirementRecord
from registry.selectors.duties.facts import paper_duties
from registry.selectors.gate.rule_fields import RULE_DAYS, RULE_FLAGS, RULE_LISTS, RULE_PLAIN
from registry.selectors.permits.covers import LIMITS
from registry.selectors.shared.raw_rows import raw_rows

__all__ = ["counted_once", "facts_of", "gate_facts", "papers_on_file", "rules_on_file"]

_DAYS = ("from_on", "starts_on", "ends_on")
_PLAIN = ("number", "cap_quantity", "cap_unit")


def counted_once(question, facts, already):
    """The facts as if this material had not drawn on its papers before, and what it had drawn, up to what is needed now.

    `already` is {(paper code, lot code): quantity}: what is planted was drawn when it was shipped, and counts once.
    """
    asked, drawn = Counter(), Counter()
    for line in question.lines:
        asked[line.lot] += line.quantity or 0
    already = {(paper, lot): min(quantity, asked[lot]) for (paper, lot), quantity in already.items()}
    for (paper, _lot), quantity in already.items():
        drawn[paper] += quantity
    papers = tuple(replace(paper, drawn=paper.drawn - drawn[paper.code]) if paper.code in drawn else paper for paper in facts.papers)
    return replace(facts, papers=papers), already


def gate_facts(question):
    """The rules that apply and the papers that could meet one of them. Eleven queries at most, whatever the number of either.

    Papers of types that no applying rule asks for are not read: they cannot change the answer.
    """
    (facts,) = facts_of([question])
    return facts


def facts_of(questions):
    """The facts for each of some questions: rules are read once, papers once for each day."""
    every, applying, types = rules_on_file(), [], defaultdict(set)
    for question in questions:
        rules = tuple(dict.fromkeys(applied.requirement for applied in applied_rules(every, question)))
        applying.append(rules)
        types[question.on] |= {code for rule in rules for wanted in rule.any_of for code in wanted}
        types[question.on] |= {NONE_NEEDED, *(LANDOWNER_TYPES if question.landowner_agreement_wanted else ())}
    papers = {on: _papers(wanted, on) for on, wanted in types.items()}
    pairs = zip(applying, questions, strict=True)
    return [Facts(_verified_then(rules, question.on), papers[question.on]) for rules, question in pairs]


def _verified_then(rules, on):
    """The rules with the verification that counts on a day. A rule repeats its last one, so only a day before that needs a look."""
    earlier = {rule.code for rule in rules if rule.verified_on and on < rule.verified_on}
    if not earlier:
        return rules
    names = ("verified_on", "verified_with", "verified_by", "review_by")
    rows = RuleVerification.objects.in_effect().filter(requirement__code__in=earlier, verified_on__lte=on).order_by("verified_on", "pk")
    rows = rows.values_list("requirement__code", "requirement__edition", *names)
    said = {(code, edition): dict(zip(names, values, strict=True)) for code, edition, *values in rows}
    return tuple(replace(rule, **said.get((rule.code, rule.edition), {})) for rule in rules)


def papers_on_file(types, on):
    """The papers of some types, as the gate reads them for a day."""
    return _papers(types, on)


def rules_on_file():
    """Every rule on file, of every day and edition."""
    said = _as_one_text(RULE_PLAIN, RULE_DAYS, RULE_LISTS)
    return tuple(_rule(text) for (text,) in raw_rows(RequirementRecord.objects.annotate(said=said).values_list("said")))


@lru_cache(maxsize=4096)
def _rule(text):
    values = _read(text, RULE_PLAIN, RULE_DAYS, RULE_LISTS)
    values |= {name: bool(values[name]) for name in RULE_FLAGS}  # SQLite hands over 0 and 1
    return Requirement(**values | {"any_of": tuple(map(tuple, values["any_of"]))})


def _as_one_text(plain, days, lists):
    """Columns as one text of JSON. Two thousand papers say much the same, and a text seen before need not be read again."""
    return Cast(JSONArray(*plain, *map(_text, (*days, *lists))), TextField())


def _read(text, plain, days, lists):
    """{name: value} of a text made by `_as_one_text` of the same names."""
    values = dict(zip((*plain, *days, *lists), json.loads(text), strict=True))
    return values | {name: _day(values[name]) for name in days} | {name: tuple(json.loads(values[name])) for name in lists}


def _papers(types, on):
    # days are read as text, and what belongs to a paper as sets: a converter or a sub-query for each row is what costs here
    rows = (
        Authorization.objects.filter(type__in=types)
        .order_by()  # the answer does not depend on the order
        .annotate(review_text=_text("review_by"), goes_on=Cast("transferable", IntegerField()))
        .annotate(once=Cast("one_consignment", IntegerField()))
        .values_list(
            "pk", "code", "type", "title", "drawn", "holder_body", "holder_person", "holder_account", "second_contact", "second_account",
            "goes_on", "review_text", "partner__code", "once",
        )
    )  # fmt: skip
    rows = raw_rows(rows)
    people = _people({key for row in rows for key in (row[7], row[9]) if key})
    states, versions, overdue = _states(types), _versions(types), _overdue(on)
    # an agreement signed on the landowner's page is on file by its wording and signature
    on_file = {
        *(pk for (pk,) in raw_rows(PaperDocument.objects.order_by().values_list("authorization"))),
        *(pk for (pk,) in raw_rows(AgreementSignature.objects.order_by().values_list("authorization"))),
    }
    used = _used_for({row[0] for row in rows if row[13]})
    papers = []
    for pk, code, kind, title, drawn, body, person, holder, second, second_account, goes_on, review_by, partner, once in rows:
        said = versions.get(pk, ())
        if partner and kind in LANDOWNER_TYPES:
            said = [_named(version, f"partner:{partner}") for version in said]
        papers.append(
            Paper(
                code, kind, title, tuple(states.get(pk, ())), tuple(said), drawn, body, person or (str(people[holder]) if holder else ""),
                contact_on(second, people[second_account], on) if second_account else second,
                _left_on(people[holder], on) if holder else None, bool(goes_on), pk in on_file,
                overdue.get(pk, ()), _day(review_by), partner or "", used.get(pk, "") if once else "",
            )
        )  # fmt: skip
    return tuple(papers)


def _used_for(papers):
    """{key of a paper for one consignment: code of the shipment that left under it or with it}."""
    if not papers:
        return {}
    left = Determination.objects.in_effect().filter(activity=DISPATCH, shipment__isnull=False, authorizations__in=papers)
    sent = Shipment.objects.filter(state=ShipmentState.DISPATCHED, authorizations__in=papers).order_by("-dispatched_on", "-pk")
    return dict([*sent.values_list("authorizations", "code"), *left.order_by("-pk").values_list("authorizations", "shipment__code")])


def _people(keys):
    """The accounts papers name, by key."""
    fields = ("username", "first_name", "last_name", "is_active", "left_on")
    return {person.pk: person for person in Person.objects.filter(pk__in=keys).only(*fields)}


def _left_on(holder, on):
    """The first day without the holder of a paper; `date.min` for one who has left on a day that is not recorded."""
    if is_active_on(holder, on):
        return holder.left_on
    return holder.left_on if holder.left_on and holder.left_on <= on else date.min


def _day(text):
    return date.fromisoformat(text) if text else None


def _states(types):
    found, known = defaultdict(list), {}
    rows = AuthorizationStateRecord.objects.filter(authorization__type__in=types).order_by("on", "pk")
    for paper, *key in raw_rows(rows.annotate(day=_text("on")).values_list("authorization", "day", "state")):
        key = tuple(key)
        if key not in known:
            known[key] = StateChange(date.fromisoformat(key[0]), key[1])
        found[paper].append(known[key])
    return found


def _versions(types):
    """{paper key: its versions}."""
    found = defaultdict(list)
    rows = AuthorizationVersion.objects.filter(authorization__type__in=types).order_by("number")
    for paper, said in raw_rows(rows.annotate(said=_as_one_text(_PLAIN, _DAYS, LIMITS)).values_list("authorization", "said")):
        found[paper].append(_version(said))
    return found


def _text(name):
    return Cast(name, TextField())


@lru_cache(maxsize=16_384)
def _version(text):
    return Version(**_read(text, _PLAIN, _DAYS, LIMITS))


def _named(version, code):
    """An agreement made with a partner holds for that partner where nobody typed the places it is for."""
    return version if version.destinations else replace(version, destinations=(code,))


def _overdue(on):
    """{paper key: titles of what is overdue under it on the day}."""
    return {paper: titles for paper, duties in paper_duties().items() if (titles := pure_duties.overdue_titles(duties, on))}
