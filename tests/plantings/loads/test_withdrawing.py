"""A load is withdrawn as one, where nothing rests on what it stored; verify and recount are clean afterwards."""

import pytest
from django.core.exceptions import ValidationError

from plantings.imports.kinds import KINDS
from plantings.imports.loading import sheet_load
from plantings.imports.withdrawing import load_take_back
from plantings.models import Block, CountedPlot, EntrySupply, Observation, Planting, PlotCount, Site, SurvivalTally, Tree, TreeTag
from plantings.selectors.census.recount import tally_differences
from registry.imports.sheets.plan import SheetRefused
from registry.models import AuditEntry, LedgerEntry, Load, LoadWithdrawal, Lot, Partner, Taxon
from registry.models.audit import stored_name
from registry.selectors.audit.verify_states import state_faults
from registry.selectors.loads.resting import hindrances, made_models, way_back
from registry.services.lots.ledger import ledger_enter
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


def load(lead, kind, text, **given):
    return sheet_load(actor=lead, kind=kind, content=text.encode(), filename=f"{kind}.csv", **given).load


def withdraw(lead, found, reason="the wrong file"):
    return load_take_back(actor=lead, load=found, reason=reason)


def is_clean(planting=None):
    return state_faults()[1] == [] and (planting is None or not tally_differences(planting)[2])


def test_plain_records_leave_and_the_trail_keeps_what_they_said(lead):
    partner = factories.partner(code="PT-1")
    found = load(lead, "site", "Site,Name,Partner\nST-1,Hollow,PT-1\nST-2,Ridge,PT-1\n")
    withdraw(lead, found)
    assert not Site.objects.exists() and Partner.objects.get() == partner
    entry = AuditEntry.objects.filter(verb="site.withdrawn").earliest("pk")
    assert entry.changes["name"] == ["Hollow", None] and entry.reason == f"load {found.pk} withdrawn: the wrong file"
    assert LoadWithdrawal.objects.get().entered_by == lead and Load.objects.get() == found
    assert is_clean()
    with pytest.raises(ValidationError, match="already withdrawn"):
        withdraw(lead, found)
    # the same file may come again
    assert load(lead, "site", "Site,Name,Partner\nST-1,Hollow,PT-1\n").counts["new"] == 1


def test_a_load_stays_while_something_rests_on_it(lead):
    factories.taxon(name="Juglans cinerea")
    found = load(lead, "lot", "Lot,Kind (seed/stock),Binomial,Origin,Outside origin\nL-1,seed,Juglans cinerea,outside,a gift\n")
    ledger_enter(actor=lead, lot=Lot.objects.get(), kind="acquired", quantity=9, on=factories.day(2019))
    with pytest.raises(ValidationError, match="ledger entry"):
        withdraw(lead, found)
    other = load(lead, "taxon", "Binomial,Role here\nJuglans nigra,native\n")
    changed = Taxon.objects.get(name="Juglans nigra")
    load(lead, "taxon", "Binomial,Common name\nJuglans nigra,black walnut\n", reason="missing")
    with pytest.raises(ValidationError, match="Juglans nigra was changed after the load"):
        withdraw(lead, other)
    with pytest.raises(ValidationError, match="Say why"):
        withdraw(lead, other, " ")
    assert Lot.objects.exists() and changed.pk and not LoadWithdrawal.objects.exists()


def test_loads_that_build_on_each_other_are_withdrawn_from_the_last(lead):
    first = load(lead, "taxon", "Binomial,Role here\nJuglans a,native\n")
    second = load(lead, "taxon", "Binomial,Role here\nJuglans a,donor\n", reason="list of 2024")
    with pytest.raises(ValidationError, match="was changed after the load"):
        withdraw(lead, first)
    withdraw(lead, second)
    withdraw(lead, first)
    assert not Taxon.objects.exists()


def test_changed_records_get_their_earlier_cells_again(lead):
    factories.taxon(name="Juglans a", role="native", common_name="")
    found = load(lead, "taxon", "Binomial,Common name,Role here\nJuglans a,walnut,donor\n", reason="list of 2024")
    withdraw(lead, found)
    taxon = Taxon.objects.get()
    assert (taxon.role, taxon.common_name) == ("native", "")
    assert AuditEntry.objects.filter(verb="taxon.changed").latest("pk").changes == {
        "common_name": ["walnut", ""],
        "role": ["donor", "native"],
    }


def test_moved_trees_and_cleared_lists_go_back(lead):
    planting = factories.planting(code="PL-1")
    tree, _other = factories.trees(planting, factories.stock_lot(), 2)
    row = f"PL-1,{planting.site.code},Coastal crew\n"
    found = [
        load(lead, "tree", f"Planting,Tag,Row,Position\nPL-1,{tree.tag},7,9\n", reason="it is elsewhere"),
        load(lead, "planting", "Planting,Site,Who plants\n" + row, reason="known now"),
    ]
    tree.refresh_from_db()
    planting.refresh_from_db()
    assert (tree.row, tree.position) == (7, 9) and planting.done_by == ["Coastal crew"]
    for one in reversed(found):
        withdraw(lead, one)
    tree.refresh_from_db()
    planting.refresh_from_db()
    assert (tree.row, tree.position) == (1, 1) and planting.done_by == []
    assert is_clean(planting)


def test_a_generation_that_was_not_known_is_not_known_again(lead):
    lot = factories.seed_lot(code="S-1")
    Lot.objects.filter(pk=lot.pk).update(backcrosses=None, intercrosses=None, generation_other="")
    found = load(lead, "lot", "Lot,Generation\nS-1,B2F2\n", reason="read on the bag")
    lot.refresh_from_db()
    assert lot.generation_code == "B2F2"
    withdraw(lead, found)
    lot.refresh_from_db()
    assert lot.generation is None


def test_ledger_entries_get_their_opposites(lead):
    lot = factories.stock_lot(code="L-1", kind="seed")
    head = 'Lot,Entry number,Entry,"Quantity (seeds or plants, without sign)",Date\n'
    found = load(lead, "ledger", head + "L-1,1,acquired,400,2019-05-01\nL-1,2,discarded,100,2019-06-01\n")
    withdraw(lead, found)
    lot.refresh_from_db()
    assert lot.balance == 0 and LedgerEntry.objects.count() == 4
    assert set(LedgerEntry.objects.exclude(reverses=None).values_list("reason", flat=True)) == {
        f"load {found.pk} withdrawn: the wrong file"
    }


def planted(lead):
    lot = factories.stock_lot(actor=lead, plants=40, code="L")
    planting = factories.planting(code="P", supply="own_stock")
    return planting, lot


def test_trees_and_plots_leave_with_their_supply_and_tallies(lead):
    planting, lot = planted(lead)
    factories.trees(planting, lot, 2, actor=lead)
    census = factories.census_round(planting)
    found = load(lead, "tree", "Planting,Tag,Lot,Block,Row,Position\nP,A1,L,B,1,1\nP,A2,L,B,1,2\n")
    plots = load(lead, "counted_plot", "Planting,Plot,Lot,Planted (count)\nP,D1,L,10\n")
    lot.refresh_from_db()
    assert lot.balance == 40 - 2 - 2 - 10
    withdraw(lead, plots)
    withdraw(lead, found)
    lot.refresh_from_db()
    assert lot.balance == 38 and Tree.objects.count() == 2 and not CountedPlot.objects.exists()
    assert not Block.objects.filter(code="B").exists() and EntrySupply.objects.count() == 1
    assert SurvivalTally.objects.filter(round=census).count() <= 1 and is_clean(planting)
    lines = load(lead, "tree", "Planting,Tag,Lot,Block,Row,Position\nP,A1,L,B,1,1\n")
    factories.observe(census, {Tree.objects.get(tag="A1"): "A"}, actor=lead)
    with pytest.raises(ValidationError, match="observation"):
        withdraw(lead, lines)


def test_a_planting_loaded_with_its_trees_leaves_without_a_trace_in_verify(lead):
    site = factories.site(code="ST-9")
    factories.stock_lot(code="L")
    planting = load(lead, "planting", f"Planting,Site,Planted on,State,Supply\nQ,{site.code},2019-04-20,established,before_records\n")
    trees = load(lead, "tree", "Planting,Tag,Lot\nQ,A1,L\nQ,A2,L\n")
    with pytest.raises(ValidationError, match="rests on it"):
        withdraw(lead, planting)
    withdraw(lead, trees)
    assert is_clean()
    withdraw(lead, planting)
    assert not Planting.objects.filter(code="Q").exists() and is_clean()


def test_census_records_are_rejected_and_corrected_back(lead):
    planting, lot = planted(lead)
    first, second = factories.trees(planting, lot, 2, actor=lead)
    census = factories.census_round(planting)
    factories.observe(census, {first: "A"}, actor=lead)
    day = census.opens_on.isoformat()
    text = f"Planting,Season,Tag,Status,Observed on\nP,{census.label},{first.tag},D,{day}\nP,{census.label},{second.tag},A,{day}\n"
    found = load(lead, "census", text, reason="the paper sheet")
    assert found.counts["new"] == 1 and found.counts["changed"] == 1
    withdraw(lead, found)
    assert Observation.objects.counting().get().tree == first
    assert Observation.objects.counting().get().status == "A"
    assert Observation.objects.count() == 4 and is_clean(planting)


def test_counts_of_plots_are_rejected(lead):
    planting, lot = planted(lead)
    load(lead, "counted_plot", "Planting,Plot,Lot,Planted (count)\nP,D1,L,10\n")
    census = factories.census_round(planting)
    day = census.opens_on.isoformat()
    found = load(lead, "plot_count", f"Planting,Season,Plot,Alive (count),Observed on\nP,{census.label},D1,7,{day}\n")
    withdraw(lead, found)
    assert not PlotCount.objects.counting().exists() and PlotCount.objects.exists() and is_clean(planting)


def test_trees_carry_their_earlier_tags_again(lead):
    planting = factories.planting(code="P")
    first, second = factories.trees(planting, factories.stock_lot(), 2)
    head, old = "Planting,Old tag,New tag,Day of the new tag\n", first.tag
    found = load(lead, "retag", f"{head}P,{second.tag},C9,2022-05-03\nP,{old},B9,2022-05-03\nP,B9,B10,2022-05-04\n")
    later = load(lead, "retag", f"{head}P,B10,B11,2022-06-01\n")
    with pytest.raises(ValidationError, match="got another new tag after the load"):
        withdraw(lead, found)
    withdraw(lead, later)
    withdraw(lead, found)
    assert set(planting.trees.values_list("tag", flat=True)) == {first.tag, second.tag}
    assert not TreeTag.objects.exists() and is_clean(planting)


def test_what_is_not_taken_back_says_what_to_do_instead(lead):
    headers, example = KINDS["caution"].template_rows()
    text = ",".join(f'"{cell}"' for cell in headers) + "\n" + ",".join(f'"{cell}"' for cell in example) + "\n"
    found = load(lead, "caution", text)
    with pytest.raises(ValidationError, match="stays on file. Somebody may have read or signed the wording. Enter the next one"):
        withdraw(lead, found)


def test_every_kind_of_sheet_says_what_withdrawing_does():
    """Kinds by what becomes of their records; the sheets of ledgers and of parts of lots share the ledger."""
    ways = {}
    for kind, sheet in KINDS.items():
        ways.setdefault(way_back(sheet.model).partition(".")[0], []).append(kind)
    assert ways == {
        "leaves the records": [
            "taxon", "handbook", "programme_setting", "pollen_pool", "pedigree_tree", "pollen_pool_member", "rating_scale", "lot",
            "lot_component", "partner", "material_class", "rule", "authorization", "duty", "site", "planting", "block", "tree", "retag",
            "counted_plot", "round",
        ],
        "is withdrawn, or gets the earlier values that it had corrected": [
            "rating", "decision", "tree_status", "harvest", "seed_test", "treatment", "storage", "measured_share", "identity_evidence",
        ],
        "gets its opposite": ["ledger", "lot_split"],
        "is rejected": ["census", "plot_count"],
        "stays on file": [
            "person", "caution", "agreement_text", "rule_verification", "authorization_version", "authorization_state",
            "agreement_signature", "duty_done", "shipment", "receipt", "leftover", "measurement", "protocol", "self_sown",
            "second_measurement",
        ],
    }  # fmt: skip


def test_a_load_with_any_record_that_stays_says_so_in_words(lead):
    upload = load(lead, "taxon", "Binomial,Role here\nJuglans a,native\n").upload
    kept = [model for model in made_models() if way_back(model).startswith("stays on file. ")]
    assert {model.__name__ for model in kept} >= {"AuthorizationDraw", "MeasurementWords", "Protocol", "Receipt", "Review"}
    for model in kept:
        one = Load(upload=upload, stored={stored_name(model): [[1, 2]]})
        assert hindrances(one, [])[0].words.startswith("2 records of the kind “"), model


def test_an_identifier_that_was_withdrawn_is_refused_with_what_to_do(lead):
    """Such rows were passed over as known, and the load was reported as a success."""
    planting, lot = planted(lead)
    [tree] = factories.trees(planting, lot, 1, actor=lead)
    load(lead, "counted_plot", "Planting,Plot,Lot,Planted (count)\nP,D1,L,10\n")
    census = factories.census_round(planting)
    day, uuid = census.opens_on.isoformat(), "6f0f6b1e-3a0b-4d0c-9a63-6a1f0e8f2c11"
    sheets = {
        "census": (Observation, "Planting,Season,Tag,Status,Observed on,Record identifier\n", f"P,{census.label},{tree.tag},D,{day},"),
        "plot_count": (
            PlotCount, "Planting,Season,Plot,Alive (count),Observed on,Record identifier\n", f"P,{census.label},D1,7,{day},",
        ),
    }  # fmt: skip
    for kind, (model, head, row) in sheets.items():
        withdraw(lead, load(lead, kind, f"{head}{row}{uuid}\n"))
        with pytest.raises(SheetRefused) as refused:
            load(lead, kind, f"{head}{row}{uuid}\n")
        assert str(refused.value.plan.problems[0]) == (
            f"row 2, column 'Record identifier': '{uuid}' is of a record that was withdrawn with its load; clear the identifier cells of this "
            "row, and it is stored as a new record"
        )
        assert load(lead, kind, f"{head}{row}\n").counts["new"] == 1
        assert model.objects.counting().count() == 1
    assert is_clean(planting)
