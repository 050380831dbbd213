"""What an entry must agree with: the origin of the lot, its year and mother, the seeds sown, the pollen. Common practice, no source."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from plantings.imports.loading import sheet_load
from registry.imports.sheets.plan import SheetRefused
from registry.models import Lot, PollenPool
from registry.services.lots.harvests import harvest_enter
from registry.services.lots.ledger import ledger_enter, ledger_reverse, lot_bulk, lot_split
from registry.services.lots.sowing import lot_raise, lot_sow
from registry.services.orchard.tree_status import tree_status_set
from registry.services.shared.records import record_save
from tests import factories

pytestmark = pytest.mark.django_db
DAY = factories.day(2019)
LEDGER = 'Lot,Entry number,Entry,"Quantity (seeds or plants, without sign)",Date\n'


@pytest.fixture
def lead():
    return factories.person("lead")


def lot_of(origin, lead):
    seed = factories.seed_lot(actor=lead, seeds=100, code="SEED")
    if origin == "bulk":
        lot = factories.stock_lot(kind="seed", origin="bulk", outside_origin="", code="LOT")
        lot_bulk(actor=lead, bulk=lot, component=seed, count=50, on=DAY)
    elif origin == "split":
        lot = lot_split(actor=lead, lot=seed, part=Lot(code="LOT"), count=50, on=DAY)
    elif origin == "sown":
        lot = lot_sow(actor=lead, lot=seed, stock=Lot(code="LOT", year=2019), count=50, on=DAY).counterpart
    elif origin == "outside":
        lot = factories.stock_lot(kind="seed", code="LOT")
    else:
        lot = factories.seed_lot(code="LOT")
    return Lot.objects.get(pk=lot.pk)


@pytest.mark.parametrize(
    ("origin", "kind", "words"),
    [
        ("bulk", "harvested", "Only components add to it"),
        ("bulk", "acquired", "Only components add to it"),
        ("split", "acquired", "filled from the lot it is a part of"),
        ("split", "harvested", "filled from the lot it is a part of"),
        ("sown", "acquired", "Enter the plants that were raised"),
        ("sown", "sown", "Only a seed lot can be sown"),
        ("outside", "harvested", "Enter what was received from outside"),
        ("outside", "raised", "Enter what was received from outside"),
        ("harvest", "acquired", "Enter the picking of its mother tree"),
    ],
)
def test_a_lot_is_filled_only_in_the_way_its_origin_says(client, lead, origin, kind, words):
    lot = lot_of(origin, lead)
    before = lot.balance
    with pytest.raises(ValidationError, match=words):
        ledger_enter(actor=lead, lot=lot, kind=kind, quantity=1_000, on=DAY)
    with pytest.raises(SheetRefused, match=words):
        content = f"{LEDGER}LOT,1,{kind},1000,2019-10-01\n".encode()
        sheet_load(kind="ledger", content=content, filename="ledger.csv", actor=lead)
    client.force_login(lead)
    offered = client.get(reverse("ledger_add", args=[lot.pk])).context["form"].fields["kind"].choices
    assert kind not in [value for value, _label in offered]
    assert Lot.objects.get(pk=lot.pk).balance == before


@pytest.mark.parametrize(("origin", "kind"), [("harvest", "harvested"), ("outside", "acquired"), ("sown", "raised")])
def test_each_origin_has_its_own_way_in(lead, origin, kind):
    lot = lot_of(origin, lead)
    ledger_enter(actor=lead, lot=lot, kind=kind, quantity=10, on=DAY)
    assert Lot.objects.get(pk=lot.pk).balance == 10


def test_a_harvested_stock_lot_takes_plants_raised_or_received(lead):
    lot = factories.stock_lot(origin="harvest", outside_origin="", mother=factories.pedigree_tree(), year=2018)
    for kind in ("raised", "acquired"):
        ledger_enter(actor=lead, lot=lot, kind=kind, quantity=10, on=DAY)
    assert Lot.objects.get(pk=lot.pk).balance == 20


# -- year and mother -----------------------------------------------------------------------------


def test_a_harvest_of_another_year_is_refused(lead):
    lot = factories.seed_lot(code="S26", year=2026)
    with pytest.raises(ValidationError, match="Years are never mixed"):
        ledger_enter(actor=lead, lot=lot, kind="harvested", quantity=5, on=factories.day(2020))
    with pytest.raises(SheetRefused, match="Years are never mixed"):
        content = f"{LEDGER}S26,1,harvested,5,2020-10-01\n".encode()
        sheet_load(kind="ledger", content=content, filename="ledger.csv", actor=lead)


def test_a_tree_that_was_gone_before_the_year_bore_no_seed_in_it(lead):
    mother = factories.pedigree_tree(code="GONE")
    tree_status_set(actor=lead, tree=mother, status="rogued", on=factories.day(2000, 5), reason="weak form")
    lot = factories.seed_lot(mother=mother, year=2026)
    with pytest.raises(ValidationError, match="GONE is rogued since 1 May 2000: no seed of it can have ripened in 2026"):
        ledger_enter(actor=lead, lot=lot, kind="harvested", quantity=5, on=factories.day(2026))
    with pytest.raises(ValidationError, match="GONE is rogued"):
        harvest_enter(actor=lead, lot=lot, on=factories.day(2026), count=5, picker="x")
    early = factories.seed_lot(mother=mother, year=1999)
    ledger_enter(actor=lead, lot=early, kind="harvested", quantity=5, on=factories.day(1999))


@pytest.mark.parametrize(
    "steps",
    [
        [("rogued", factories.day(2019, 12))],  # the year it was felled
        [("dead", factories.day(2013, 5)), ("standing", factories.day(2013, 7))],  # leafed out after all
        [("dead", factories.day(2018, 5)), ("standing", factories.day(2019, 7))],
        [("dead", None)],  # nobody knows the day
    ],
)
def test_a_tree_that_may_have_been_alive_may_have_borne(lead, steps):
    mother = factories.pedigree_tree()
    for status, on in steps:
        tree_status_set(actor=lead, tree=mother, status=status, on=on, reason="seen")
    lot = factories.seed_lot(mother=mother, year=2019)
    ledger_enter(actor=lead, lot=lot, kind="harvested", quantity=5, on=DAY)


# -- sowing and raising --------------------------------------------------------------------------


@pytest.fixture
def sown(lead):
    seed = factories.seed_lot(actor=lead, seeds=100, code="SEED")
    return lot_sow(actor=lead, lot=seed, stock=Lot(code="P", year=2019), count=20, on=DAY)


def test_no_more_plants_than_seeds_by_hand_and_by_sheet(lead, sown):
    stock = sown.counterpart
    with pytest.raises(ValidationError, match="20 seeds were sown into P by 1 Nov 2019 and 0 plants"):
        ledger_enter(actor=lead, lot=stock, kind="raised", quantity=1_000, on=factories.day(2019, 11))
    with pytest.raises(SheetRefused, match="more plants than seeds"):
        sheet_load(kind="ledger", content=f"{LEDGER}P,1,raised,21,2019-11-01\n".encode(), filename="l.csv", actor=lead)


def test_no_plant_comes_up_before_the_sowing(lead, sown):
    with pytest.raises(ValidationError, match="P was sown on 1 Oct 2019; no plant can have come up before") as refused:
        lot_raise(actor=lead, lot=sown.counterpart, count=5, on=DAY - datetime.timedelta(1))
    assert set(refused.value.message_dict) == {"on"}


def test_seed_sown_later_does_not_cover_plants_counted_earlier(lead, sown):
    stock = sown.counterpart
    lot_sow(actor=lead, lot=sown.lot, stock=stock, count=20, on=factories.day(2020, 5))
    with pytest.raises(ValidationError, match="20 seeds were sown into P by 1 Dec 2019"):
        lot_raise(actor=lead, lot=stock, count=30, on=factories.day(2019, 12))
    lot_raise(actor=lead, lot=stock, count=30, on=factories.day(2020, 6))


def test_a_sowing_whose_plants_are_entered_is_not_reversed(lead, sown):
    stock = sown.counterpart
    plants = lot_raise(actor=lead, lot=stock, count=12, on=factories.day(2019, 11))
    with pytest.raises(ValidationError, match="12 plants raised in P are entered.*Reverse the plants first"):
        ledger_reverse(actor=lead, entry=sown, reason="other bed")
    ledger_reverse(actor=lead, entry=plants, reason="other bed")
    ledger_reverse(actor=lead, entry=sown, reason="other bed")
    with pytest.raises(ValidationError, match="The sowing into P was reversed, so no plant can come from it"):
        lot_raise(actor=lead, lot=stock, count=500, on=factories.day(2019, 11))


def test_a_sowing_is_reversed_if_another_covers_the_plants(lead, sown):
    stock = sown.counterpart
    second = lot_sow(actor=lead, lot=sown.lot, stock=stock, count=5, on=DAY)
    lot_raise(actor=lead, lot=stock, count=12, on=factories.day(2019, 11))
    ledger_reverse(actor=lead, entry=second, reason="other bed")


def test_by_sheet_too_a_stock_lot_takes_seed_of_its_own_lot_only(lead, sown):
    factories.seed_lot(actor=lead, seeds=30, code="OTHER")
    header = LEDGER.strip() + ",Other lot\n"
    for row, words in (
        ("OTHER,1,sown,5,2019-10-01,P", "the mothers can no longer be told apart"),
        ("P,2,raised,5,2019-10-02,OTHER", "was not raised from"),
    ):
        with pytest.raises(SheetRefused, match=words):
            sheet_load(kind="ledger", content=f"{header}{row}\n".encode(), filename="l.csv", actor=lead)


# -- the cross -----------------------------------------------------------------------------------


def pool(year, code="POOL"):
    return PollenPool.objects.create(code=code, orchard="O", flowering_year=year)


@pytest.mark.parametrize(
    ("cross", "father", "year_of_pool", "field", "words"),
    [
        ("self", "other", None, "father", "The mother of a selfed lot is also its father"),
        ("self", None, 2026, "pollen_pool", "The mother of a selfed lot is also its father"),
        ("open", "other", None, "father", "The father of an open pollination is not known"),
        ("controlled", None, None, "cross_type", "has a father or a pollen pool"),
        ("open", None, 2017, "pollen_pool", "seed of 2026 flowered in 2025 or 2026"),
        ("polymix", None, 2027, "pollen_pool", "after the seed ripened in 2026"),
    ],
)
def test_a_cross_that_contradicts_itself_is_refused(lead, cross, father, year_of_pool, field, words):
    lot = new_harvest(cross, factories.pedigree_tree() if father else None, year_of_pool)
    with pytest.raises(ValidationError, match=words) as refused:
        record_save(actor=lead, obj=lot)
    assert set(refused.value.message_dict) == {field}


@pytest.mark.parametrize(
    ("cross", "father", "year_of_pool"),
    [("self", None, None), ("open", None, 2026), ("open", None, 2025), ("controlled", "other", None), ("controlled", None, 2017),
     ("polymix", None, None), ("unknown", None, None), ("unknown", "other", None)],
)  # fmt: skip
def test_a_possible_cross_is_stored(lead, cross, father, year_of_pool):
    record_save(actor=lead, obj=new_harvest(cross, factories.pedigree_tree() if father else None, year_of_pool))


def new_harvest(cross, father, year_of_pool):
    mother = factories.pedigree_tree(code="M")
    return Lot(
        code="S26-M", kind="seed", origin="harvest", year=2026, mother=mother, taxon=mother.taxon, cross_type=cross, father=father,
        pollen_pool=pool(year_of_pool) if year_of_pool else None,
    )  # fmt: skip


def test_a_contradictory_lot_can_still_be_moved_to_another_store(lead):
    lot = factories.seed_lot(cross_type="controlled")
    lot.storage_place = "cold room 2"
    record_save(actor=lead, obj=lot)
    lot.cross_type, lot.father = "self", factories.pedigree_tree()
    with pytest.raises(ValidationError, match="The mother of a selfed lot is also its father"):
        record_save(actor=lead, obj=lot)


def test_the_form_asks_once_about_an_odd_mother_or_pollen_pool(client, lead):
    client.force_login(lead)
    mother = factories.pedigree_tree(code="M", status="dead", status_reason="found dead")
    data = {"mother": "M", "on": "2020-10-01", "count": "5", "picker": "x", "containers": "1", "cross_type": "controlled"}
    data["pollen_pool"] = pool(2017).code
    page = client.post(reverse("harvest_add"), data)
    said = page.context["form"].errors["parents_are_right"][0]
    assert set(page.context["form"].errors) == {"parents_are_right"}
    assert "POOL is of 2017; the seed ripened in 2020" in said and "M is recorded as dead, since an unknown day" in said
    assert 'type="checkbox" name="parents_are_right"' in page.content.decode()
    client.post(reverse("harvest_add"), data | {"parents_are_right": "on"})
    assert Lot.objects.get().mother == mother


@pytest.mark.parametrize("route", ["harvest_add", "lot_add"])
def test_a_mistyped_pollen_pool_is_not_also_said_to_be_missing(client, lead, route):
    client.force_login(lead)
    mother = factories.pedigree_tree(code="M")
    data = {"mother": "M", "on": "2020-10-01", "count": "5", "picker": "x", "containers": "1", "cross_type": "controlled"}
    data |= {"pollen_pool": "POOOL", "origin": "harvest", "kind": "seed", "taxon": mother.taxon_id, "year": "2020", "code": "S"}
    assert set(client.post(reverse(route), data).context["form"].errors) == {"pollen_pool"}
    assert set(client.post(reverse(route), data | {"pollen_pool": ""}).context["form"].errors) == {"cross_type"}


# -- use-by --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("storage_class", "said"), [(None, True), ("unknown", True), ("recalcitrant", False), ("intermediate", False), ("orthodox", False)]
)
def test_the_lot_page_says_when_the_shorter_life_is_assumed(client, lead, storage_class, said):
    client.force_login(lead)
    lot = factories.seed_lot(actor=lead, seeds=5, use_by=factories.day(2019, 6, 30))
    if storage_class:
        factories.handbook_row(binomial=lot.taxon.name, storage_class=storage_class)
    facts = {label: value for label, value, _url in client.get(reverse("lot_detail", args=[lot.pk])).context["facts"]}
    assert ("The storage class is not known: the shorter life is assumed" in facts["Use by"]) == said
    assert facts["Use by"].startswith("30 Jun 2019, passed")
