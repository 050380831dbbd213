"""Pollen pools: members, gathering by the status history, what rests on them. Common practice of seed orchards, no source; shares by hand."""

import datetime
from decimal import Decimal
from fractions import Fraction

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from registry.models import AuditEntry, PollenPool, PollenPoolMember
from registry.selectors.audit.record_hashes import HASHES
from registry.selectors.orchard.pools import pool_father, pool_flowering_day, pool_gathering, pool_impact
from registry.services.orchard.pools import pool_gather, pool_members_set, pool_save
from registry.services.orchard.tree_status import tree_status_set
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def signed_in(client, lead):
    client.force_login(lead)
    return client


def make_pool(year=2018, **fields):
    return PollenPool.objects.create(**{"code": f"POOL-{year}", "orchard": "Mill Brook", "block": "2", "flowering_year": year} | fields)


def orchard_tree(code, **fields):
    return factories.pedigree_tree(**{"code": code, "orchard": "Mill Brook", "block": "2", "backcrosses": 3, "intercrosses": 1} | fields)


def gather(lead, pool, reason=""):
    return pool_gather(actor=lead, pool=pool, shown=[tree.pk for tree in pool_gathering(pool).new], reason=reason)


def codes(trees):
    return [tree.code for tree in trees]


def test_the_day_of_flowering_is_1_june_unless_one_is_recorded():
    assert pool_flowering_day(make_pool()) == datetime.date(2018, 6, 1)
    assert pool_flowering_day(make_pool(2019, flowered_on=factories.day(2019, 5, 20))) == datetime.date(2019, 5, 20)


def test_gathering_takes_standing_trees_of_the_block_that_flowered(lead):
    orchard_tree("KW-1", first_flowering_year=2015)
    orchard_tree("KW-2", first_flowering_year=2018)
    orchard_tree("KW-3", first_flowering_year=2019)
    orchard_tree("KW-4")
    orchard_tree("KW-5", planted_year=2019)
    orchard_tree("KW-6", block="3")
    dead = orchard_tree("KW-7")
    tree_status_set(actor=lead, tree=dead, status="dead", on=factories.day(2017, 8), reason="canker")
    lost = orchard_tree("KW-8")
    tree_status_set(actor=lead, tree=lost, status="dead", on=None, reason="gone")
    found = pool_gathering(make_pool())
    assert codes(found.new) == ["KW-1", "KW-2", "KW-4"]
    assert (codes(found.too_young), codes(found.unknown_then), found.flowering_unknown) == (["KW-3"], ["KW-8"], 1)
    assert codes(pool_gathering(make_pool(2019, block="")).new) == ["KW-1", "KW-2", "KW-3", "KW-4", "KW-5", "KW-6"]


def test_roguing_changes_later_pools_and_never_earlier_ones(lead):
    trees = [orchard_tree(f"KW-{number}") for number in (1, 2)]
    before, after = make_pool(2018), make_pool(2020)
    gather(lead, before)
    tree_status_set(actor=lead, tree=trees[0], status="rogued", on=factories.day(2019, 3), reason="susceptible")
    gather(lead, after)
    assert codes(member.tree for member in before.members.all()) == ["KW-1", "KW-2"]
    assert codes(member.tree for member in after.members.all()) == ["KW-2"]
    again = pool_gathering(before)
    assert (codes(again.stay), again.new, again.absent) == (["KW-1", "KW-2"], (), ())  # the history still says it was alive then


def test_a_member_that_does_not_belong_is_named_and_left(lead):
    pool = make_pool()
    PollenPoolMember.objects.create(pool=pool, tree=orchard_tree("KW-9", block="7"))
    orchard_tree("KW-1")
    assert codes(pool_gathering(pool).absent) == ["KW-9"]
    gather(lead, pool)
    assert pool.members.count() == 2


def test_gathering_adds_only_trees_that_were_listed(lead):
    orchard_tree("KW-1")
    pool = make_pool()
    shown = [tree.pk for tree in pool_gathering(pool).new]
    orchard_tree("KW-2")
    with pytest.raises(ValidationError, match="changed since you opened this page"):
        pool_gather(actor=lead, pool=pool, shown=shown)
    assert not pool.members.exists()


def test_gathering_is_refused_for_weighted_pools_and_no_new_trees(lead):
    pool = make_pool()
    with pytest.raises(ValidationError, match="no tree to add"):
        gather(lead, pool)
    PollenPoolMember.objects.create(pool=pool, tree=orchard_tree("KW-1"), weight=3)
    orchard_tree("KW-2")
    with pytest.raises(ValidationError, match="have weights"):
        gather(lead, pool)


def test_changing_a_pool_that_lots_name_needs_a_reason(lead):
    tree, pool = orchard_tree("KW-1"), make_pool()
    factories.seed_lot(mother=tree, pollen_pool=pool)
    pool.outside_share = Decimal("0.1")
    for change in (
        lambda reason: pool_save(actor=lead, pool=pool, reason=reason),
        lambda reason: gather(lead, pool, reason),
        lambda reason: pool_members_set(actor=lead, pool=pool, weights={tree.pk: Decimal(2)}, reason=reason),
    ):
        with pytest.raises(ValidationError, match="Say why it is changed"):
            change(" ")
        change("counted again")
    entries = AuditEntry.objects.filter(record_type="pollenpool", record_id=pool.pk)
    assert [entry.reason for entry in entries] == ["counted again"] * 3
    assert PollenPoolMember.objects.get().weight == 2


def test_a_pool_without_lots_or_trees_needs_no_reason(lead):
    orchard_tree("KW-1")
    pool = make_pool()
    gather(lead, pool)
    assert pool.members.count() == 1


def test_all_members_have_weights_or_none_and_changes_are_recorded(lead):
    one, two, pool = orchard_tree("KW-1"), orchard_tree("KW-2"), make_pool()
    gather(lead, pool)
    with pytest.raises(ValidationError, match="1 of 2 members would have no weight: KW-2. Give every member a weight, or none"):
        pool_members_set(actor=lead, pool=pool, weights={one.pk: Decimal(3)})
    with pytest.raises(ValidationError, match="weight of KW-1 is not above 0"):
        pool_members_set(actor=lead, pool=pool, weights={one.pk: Decimal(0), two.pk: Decimal(1)})
    pool_members_set(actor=lead, pool=pool, weights={one.pk: Decimal(30), two.pk: Decimal(10)}, basis="catkins counted")
    assert set(pool.members.values_list("weight", "basis")) == {(30, "catkins counted"), (10, "catkins counted")}
    three = orchard_tree("KW-3")
    pool_members_set(actor=lead, pool=pool, weights={one.pk: Decimal(25)}, removed=[two.pk], added=(three, Decimal(5)))
    changes = AuditEntry.objects.order_by("-pk").first().changes
    assert changes.pop(HASHES)  # what `verify` compares
    assert changes == {"KW-1": ["weight 30", "weight 25"], "KW-2": ["weight 10", "taken out"], "KW-3": ["", "weight 5"]}
    with pytest.raises(ValidationError, match="Nothing has changed"):
        pool_members_set(actor=lead, pool=pool, weights={})
    with pytest.raises(ValidationError, match="KW-3 is a member already"):
        pool_members_set(actor=lead, pool=pool, weights={}, added=(three, Decimal(5)))


def test_a_tree_that_descends_from_a_pool_cannot_be_in_it(lead):
    pool = make_pool()
    child = orchard_tree("KW-2", mother=orchard_tree("KW-1", block="9"), pollen_pool=pool)
    with pytest.raises(ValidationError, match="KW-2 descends from this pool"):
        pool_members_set(actor=lead, pool=pool, weights={}, added=(child, None), reason="flowered early")
    with pytest.raises(ValidationError, match="KW-2 descends from this pool"):
        gather(lead, pool, "first look")


def test_the_expected_father_is_the_mean_over_the_mothers(lead):
    one, two, three = (orchard_tree(f"KW-{number}") for number in (1, 2, 3))
    pool = make_pool(outside_share=Decimal("0.2"), outside_taxon=factories.taxon(), selfing_share=Decimal("0.1"))
    gather(lead, pool)
    for mother in (one, two):
        factories.seed_lot(mother=mother, pollen_pool=pool)
    father = pool_father(pool).father
    # of each of two mothers 1/10 self, 1/5 outside, 7/20 each of the two others
    assert father.trees == {one.pk: Fraction(9, 40), two.pk: Fraction(9, 40), three.pk: Fraction(7, 20)}
    assert father.outside == {pool.outside_taxon.name: Fraction(1, 5)}


def test_without_a_lot_the_selfing_share_has_no_tree(lead):
    tree, pool = orchard_tree("KW-1"), make_pool(selfing_share=Decimal("0.25"))
    gather(lead, pool)
    assert pool_father(pool).father.trees == {tree.pk: Fraction(3, 4)}
    assert pool_father(pool).father.outside == {"unknown": Fraction(1, 4)}


def test_a_pool_of_which_only_some_weights_are_known_says_so():
    pool = make_pool()
    for number, weight in ((1, 3), (2, None), (3, None)):
        PollenPoolMember.objects.create(pool=pool, tree=orchard_tree(f"KW-{number}"), weight=weight)
    assert pool_father(pool).problem == "2 of 3 members have no weight: KW-2, KW-3. Give every member a weight, or none."


def test_the_impact_of_a_pool_counts_all_descendants():
    pool = make_pool()
    lot = factories.seed_lot(mother=orchard_tree("KW-1"), pollen_pool=pool)
    factories.stock_lot(origin="sown", parent=lot, outside_origin="")
    child = orchard_tree("KW-2", mother=lot.mother, pollen_pool=pool)
    grandchild = orchard_tree("KW-3", mother=child)
    factories.seed_lot(mother=grandchild)
    reach = pool_impact(pool)
    assert (codes(reach.lots), codes(reach.trees), reach.more_lots, reach.more_trees) == ([lot.code], ["KW-2"], 2, 1)
    assert not pool_impact(make_pool(2020))


# -- pages -------------------------------------------------------------------------------------


def text(response):
    return " ".join(response.content.decode().split())


def test_the_page_of_a_pool_says_father_members_and_lots(signed_in, lead):
    trees = [orchard_tree(f"KW-{number}") for number in (1, 2)]
    pool = make_pool(outside_share=Decimal("0.25"))
    gather(lead, pool)
    lot = factories.seed_lot(mother=trees[0], pollen_pool=pool)
    page = text(signed_in.get(reverse("pollenpool_detail", args=[pool.pk])))
    for words in (
        "3/4 (0.75)",
        "outside pollen, not known",
        "1/4 (0.25)",
        lot.code,
        "counted as not known",
        "because no day is recorded",
    ):
        assert words in page


def test_gathering_on_the_page(signed_in):
    trees = [orchard_tree(f"KW-{number}") for number in (1, 2)]
    pool = make_pool()
    url = reverse("pollenpool_gather", args=[pool.pk])
    page = signed_in.get(url)
    assert "2 have no first flowering year" in text(page)
    assert "Add 2 trees" in text(page)
    shown = page.context["form"]["shown"].value()
    assert signed_in.post(url, {"shown": shown}).status_code == 302
    assert set(pool.members.values_list("tree", flat=True)) == {tree.pk for tree in trees}
    assert "There is nothing to add" in text(signed_in.get(url))


def test_the_members_page_names_what_it_affects_and_asks_why(signed_in, lead):
    tree, pool = orchard_tree("KW-1"), make_pool()
    gather(lead, pool)
    lot = factories.seed_lot(mother=tree, pollen_pool=pool)
    url = reverse("pollenpool_members", args=[pool.pk])
    page = text(signed_in.get(url))
    assert "1 lot depends on this pool" in page
    assert lot.code in page
    refused = signed_in.post(url, {f"weight_{tree.pk}": "12.5", "basis": "catkins"})
    assert refused.status_code == 200
    assert "12.5" in text(refused)
    assert signed_in.post(url, {f"weight_{tree.pk}": "12.5", "basis": "catkins", "reason": "counted"}).status_code == 302
    assert pool.members.get().weight == Decimal("12.5")


def test_changing_a_pool_names_what_it_affects(signed_in):
    tree, pool = orchard_tree("KW-1"), make_pool()
    lot = factories.seed_lot(mother=tree, pollen_pool=pool)
    url = reverse("pollenpool_edit", args=[pool.pk])
    assert lot.code in text(signed_in.get(url))
    fields = {"code": pool.code, "orchard": pool.orchard, "block": "2", "flowering_year": 2018, "outside_share": "0.1"}
    assert signed_in.post(url, fields | {"reason": ""}).status_code == 200
    wrong = signed_in.post(url, fields | {"reason": "declared", "flowered_on": "2019-05-20"})
    assert "The day is in 2019, but the pool flowered in 2018" in text(wrong)
    assert signed_in.post(url, fields | {"reason": "declared"}).status_code == 302


def queries(client, url):
    with CaptureQueriesContext(connection) as captured:
        assert client.get(url).status_code == 200
    return len(captured)


@pytest.mark.parametrize("route", ["pollenpool_detail", "pollenpool_members", "pollenpool_gather", "pollenpool_diversity"])
def test_pages_of_a_pool_cost_a_fixed_number_of_queries(signed_in, lead, route):
    pool = make_pool()

    def add(numbers):
        for number in numbers:
            tree = orchard_tree(f"KW-{number}", mother=factories.pedigree_tree(), father=factories.pedigree_tree())
            factories.seed_lot(mother=tree, pollen_pool=pool)
        gather(lead, pool, "more of them")

    add(range(2))
    url = reverse(route, args=[pool.pk])
    few = queries(signed_in, url)
    add(range(2, 9))
    assert queries(signed_in, url) == few
