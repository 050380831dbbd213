"""A small programme for the tests of the read-only interface, and the tokens of its people."""

import datetime

from django.urls import reverse
from django.utils import timezone

from registry.services.people.tokens import token_issue
from tests import factories
from tests.people import everyone
from tests.plantings.survival.survival_examples import counted, planting_on


def small_programme():
    """{name: person}: two sites, tagged trees with heights, checks, seed sown in place, and an open round."""
    people = everyone()
    lead = people["lead"]
    mine, other = factories.site(code="MINE", name="Old <b>hill</b>", partner=people["landowner"].partner), factories.site(code="OTHER")
    lot = factories.stock_lot(actor=lead, plants=900, declared_source="=Heron", code="LOT-A")
    native = factories.stock_lot(actor=lead, plants=900, generation_other="native", code="NATIVE")
    tagged = planting_on(mine)
    trees = factories.trees(tagged, lot, 12, actor=lead)
    factories.trees(tagged, lot, 2, role="buffer", row=3, actor=lead)
    checks = factories.trees(tagged, native, 6, role="check", row=2, actor=lead)
    one, two = factories.census_round(tagged, 1), factories.census_round(tagged, 2)
    factories.observe(one, dict(zip(trees, ["A"] * 9 + ["NF", "SU", "NL"], strict=True)), actor=lead)
    factories.observe(one, dict.fromkeys(checks, "A"), actor=lead)
    later = dict(zip(trees, ["A", "A", "AR", "A", "A", "A", "A", "NF", "NF", "NF", "A", "A"], strict=True))
    factories.observe(two, {tree: status for tree, status in later.items() if status == "NF"}, actor=lead)
    factories.observe(two, {tree: status for tree, status in later.items() if status != "NF"}, height_cm=120, actor=lead)
    factories.observe(two, {checks[0]: "D"}, cause="canker", actor=lead)
    factories.observe(two, dict.fromkeys(checks[1:], "A"), actor=lead)
    counted(planting_on(other), lot, 40, 31, season=2)
    counted(planting_on(other), native, 40, 22, role="check", season=2)
    counted(planting_on(other), factories.seed_lot(seeds=100, code="SEED"), 60, 21, season=2)
    return people


def token_of(person, actor, days=30):
    """(token, secret) for a person."""
    return token_issue(actor=actor, person=person, purpose="a script", ends_on=timezone.localdate() + datetime.timedelta(days=days))


def ask(client, name, secret, **query):
    """The answer to a program that sends a token, without the cookies of anybody."""
    client.logout()
    return client.get(reverse(f"api_{name}"), query, headers={"Authorization": f"Bearer {secret}"})
