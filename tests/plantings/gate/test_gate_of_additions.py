"""The gate before a lot is added to an established planting."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from plantings.imports.kinds import KINDS
from plantings.imports.loading import sheet_load
from plantings.models import CountedPlot, PlantingEntry, Tree
from plantings.services.trees import TreeAsPlanted, counted_plot_add, tree_replace, trees_plant
from registry.calc.shared.part_dates import PartDate
from registry.imports.sheets.plan import SheetRefused
from registry.models import Determination
from tests import factories
from tests.registry.gate.gate_records import hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def today():
    return timezone.localdate()


@pytest.fixture
def standing(lead, today):
    """A planting of the programme's own land in Vermont, established ten days ago with a native lot of the own store."""
    rule(activities=["establish"])
    site = factories.site(partner=factories.partner(kind="own", region="US-VT"), jurisdiction="US-VT")
    planting = factories.planting(code="PL", site=site, supply="own_stock", planted_on=today - timedelta(days=10), state="planned")
    factories.trees(planting, factories.stock_lot(actor=lead, plants=50), 3, actor=lead)
    planting.state = "established"
    planting.save()
    return planting


def sister(lead, lot):
    """Another lot of the same mother."""
    return factories.seed_lot(actor=lead, seeds=2000, mother=lot.mother)


def new_tree(lot, day=None, tag="NEW"):
    return [TreeAsPlanted(tag, lot, block="9", row=9, position=1, planted_on=day)]


def ways(lead, standing, lot, day):
    """Every way a lot comes into an established planting."""
    tree = standing.trees.first()
    return {
        "tree": lambda **rest: trees_plant(actor=lead, planting=standing, trees=new_tree(lot, day), on=day, **rest),
        "plot": lambda **rest: counted_plot_add(actor=lead, planting=standing, code="D1", lot=lot, planted_count=40, on=day, **rest),
        "replacement": lambda **rest: tree_replace(actor=lead, tree=tree, tag="NEW", planted_on=day, lot=lot, **rest),
    }


@pytest.mark.parametrize("way", ["tree", "plot", "replacement"])
def test_a_restricted_lot_needs_its_paper_to_join_a_planting(lead, standing, today, way):
    lot = hybrid_lot(lead)
    with pytest.raises(ValidationError, match="Hybrids into Vermont"):
        ways(lead, standing, lot, today)[way]()
    assert not PlantingEntry.objects.filter(lot=lot).exists()
    assert lot.ledger.filter(kind="planted").count() == 0 and not Determination.objects.filter(carried_out=True).exists()


@pytest.mark.parametrize("way", ["tree", "plot", "replacement"])
def test_with_its_paper_a_lot_is_planted_and_drawn(lead, standing, today, way):
    paper, lot = permit(lead, cap_quantity=100, cap_unit="seeds", starts_on=today - timedelta(days=60), ends_on=None), hybrid_lot(lead)
    ways(lead, standing, lot, today)[way]()
    kept, count = Determination.objects.get(), {"plot": 40}.get(way, 1)
    paper.refresh_from_db()
    assert (kept.activity, kept.subject, kept.verdict, kept.asked_for, paper.drawn) == ("establish", "PL", "covered", today, count)
    assert [(line["lot"], line["quantity"]) for line in kept.question["lines"]] == [(lot.code, count)]


@pytest.mark.parametrize("way", ["tree", "plot", "replacement"])
def test_only_the_lead_overrides_and_the_reason_is_stored(lead, standing, today, way):
    coordinator, reason, lot = factories.person("coordinator"), "the office said yes by telephone, its letter follows", hybrid_lot(lead)
    with pytest.raises(ValidationError, match="Only the programme lead"):
        ways(coordinator, standing, lot, today)[way](override_reason=reason)
    ways(lead, standing, lot, today)[way](override_reason=reason)
    assert Determination.objects.get(carried_out=True).override_reason == reason


@pytest.mark.parametrize("way", ["tree", "plot", "replacement"])
def test_planting_more_than_30_days_ago_is_only_recorded(lead, standing, today, way):
    lot = hybrid_lot(lead)
    with pytest.raises(ValidationError, match="Hybrids into Vermont"):
        ways(lead, standing, lot, today - timedelta(days=30))[way]()
    ways(lead, standing, lot, today - timedelta(days=31))[way]()
    assert not Determination.objects.filter(carried_out=True).exists()


def test_a_year_that_may_be_within_those_days_needs_its_day(lead, standing, today):
    lot = hybrid_lot(lead)
    with pytest.raises(ValidationError, match=f"{today.year} says no day. The gate decides by the day"):
        ways(lead, standing, lot, PartDate(today.year))["replacement"]()
    standing.supply = "before_records"
    standing.save()
    ways(lead, standing, lot, PartDate(today.year - 2))["replacement"]()
    assert str(Tree.objects.get(tag="NEW").planted_on) == str(today.year - 2)


def test_what_leaves_the_ledger_of_a_lot_needs_its_day(lead, standing, today):
    known = PlantingEntry.objects.get(planting=standing).lot
    with pytest.raises(ValidationError, match="leaves the ledger of its lot on a day"):
        ways(lead, standing, known, PartDate(today.year - 2))["replacement"]()
    assert not Tree.objects.filter(tag="NEW").exists()


def test_more_of_a_planted_lot_does_not_go_through_the_gate(lead, standing, today):
    lot = PlantingEntry.objects.get(planting=standing).lot
    trees_plant(actor=lead, planting=standing, trees=new_tree(lot, today))
    planned = factories.planting(site=standing.site, supply="own_stock", state="planned", planted_on=None)
    ledger_day = factories.day(2019, 4)
    trees_plant(actor=lead, planting=planned, trees=new_tree(hybrid_lot(lead)), on=ledger_day)
    assert not Determination.objects.exists()


def test_lots_of_one_sheet_are_decided_together(lead, standing, today):
    permit(lead, starts_on=today - timedelta(days=60), ends_on=None)
    first = hybrid_lot(lead)
    second, old = sister(lead, first), sister(lead, first)
    days = [(first, 5), (first, 2), (second, 2), (old, 40)]
    rows = [TreeAsPlanted(f"N{n}", lot, planted_on=today - timedelta(days=back)) for n, (lot, back) in enumerate(days)]
    trees_plant(actor=lead, planting=standing, trees=rows)
    kept = Determination.objects.get()
    assert kept.asked_for == today - timedelta(days=2)
    assert sorted((line["lot"], line["quantity"]) for line in kept.question["lines"]) == sorted([(first.code, 2), (second.code, 1)])


def refused(kind, row, actor):
    """What a sheet of one row is refused with."""
    fields = KINDS[kind].sheet_fields()
    header, cells = (
        ",".join(f'"{cell}"' for cell in line) for line in zip(*((fields[n].column_name, row.get(n, "")) for n in fields), strict=True)
    )
    with pytest.raises(SheetRefused) as stop:
        sheet_load(actor=actor, kind=kind, content=f"{header}\n{cells}\n".encode(), filename=f"{kind}.csv")
    return [str(problem) for problem in stop.value.plan.problems]


@pytest.mark.parametrize(
    ("kind", "row"),
    [
        ("tree", {"tag": "N1"}),
        ("tree", {"tag": "N1", "replaces": "T01001"}),
        ("counted_plot", {"code": "D1", "planted_count": "9"}),
    ],
)
def test_a_refused_sheet_says_what_stops_it_and_who_can_override(lead, standing, today, kind, row):
    lot = hybrid_lot(lead)
    day = {} if kind == "counted_plot" else {"planted_on": today.isoformat()}
    said = " ".join(refused(kind, {"planting": "PL", "lot": lot.code} | row | day, lead))
    assert "The gate stops it. Hybrids into Vermont" in said and "a separate planned planting" in said and "Give the reason" not in said


# -- on screen -------------------------------------------------------------------------------------------


def screens(standing, lot, day):
    return [
        ("tree_add", (), {"planting": "PL", "tag": "NEW", "lot": lot.code, "role": "test", "planted_on": day, "note": "by the gate"}),
        ("countedplot_add", (), {"planting": "PL", "code": "D1", "lot": lot.code, "role": "test", "planted_count": "7", "on": day}),
        ("tree_replace", (standing.trees.first().pk,), {"tag": "NEW", "planted_on": day, "lot": lot.code, "note": "frost"}),
    ]


@pytest.mark.parametrize("number", [0, 1, 2])
def test_the_screen_shows_the_stop_and_offers_the_lead_an_override(client, lead, standing, today, number):
    lot = hybrid_lot(lead)
    name, args, data = screens(standing, lot, today.isoformat())[number]
    address = reverse(name, args=args)
    client.force_login(factories.person("coordinator"))
    page = client.post(address, data).content.decode()
    assert "Hybrids into Vermont" in page and "Only the programme lead can override" in page and 'name="override_reason"' not in page
    assert f'value="{lot.code}"' in page and f'value="{today.isoformat()}"' in page
    client.force_login(lead)
    assert 'name="override_reason"' not in client.get(address).content.decode()
    assert 'name="override_reason"' not in client.post(address, data | {"lot": "NO-SUCH"}).content.decode()
    page = client.post(address, data).content.decode()
    assert 'name="override_reason"' in page and 'class="gate gate-stopped"' in page
    answer = client.post(address, data | {"override_reason": "the office said yes by telephone"})
    assert answer.status_code == 302
    assert Tree.objects.filter(tag="NEW").exists() or CountedPlot.objects.filter(code="D1").exists()
    page = client.get(reverse("planting_detail", args=[standing.pk])).content.decode()
    assert "Overridden by" in page and "the office said yes by telephone" in page


@pytest.mark.parametrize("number", [0, 1])
def test_a_lot_new_to_a_planting_needs_its_day(client, lead, standing, number):
    client.force_login(lead)
    lot = hybrid_lot(lead)
    name, args, data = screens(standing, lot, "")[number]
    page = client.post(reverse(name, args=args), data).content.decode()
    assert f"Lot {lot.code} is new to PL" in page and "Say when this one was planted" in page
    known = PlantingEntry.objects.get(planting=standing).lot
    assert client.post(reverse(name, args=args), data | {"lot": known.code}).status_code == 302
