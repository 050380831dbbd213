"""All sheets of the invented programme as rows, made from its description and a seed.

`material` and `orchard` make the trees and what is known of them; `people`, `places` and `layout` say which tree is planted where;
`lives` and `census` what became of it; `lots` and `flow` are worked back from that; `seedlots` is what was done with the seed;
`standards`, `land` and `rules` what the programme goes by. Plain Python without the site, and without a clock.
"""

from plantings.imports.demo.programme import (
    census,
    duties,
    flow,
    land,
    layout,
    lots,
    material,
    orchard,
    people,
    places,
    rules,
    seedlots,
    standards,
)
from plantings.imports.demo.programme.description import SEED


def demo_rows(seed=SEED):
    """[(name of a sheet, rows)] in the order they are loaded; a row is {field of the sheet: cell}. The same seed gives the same rows."""
    planted = layout.planted_trees(seed)
    visits = census.Census(seed, planted)
    moved = flow.Flow(seed, planted, visits.replaced)
    ledger = moved.ledger + seedlots.ledger()
    trees = [tree.sheet_row() for rows in (*planted.values(), *visits.replaced.values()) for tree in rows]
    return [
        ("taxon", material.TAXA),
        ("handbook", standards.handbook()),
        ("programme_setting", standards.settings()),
        ("pollen_pool", material.pools() + orchard.recent_pools()),
        ("pedigree_tree", material.founders() + material.orchard_trees(seed) + orchard.check_trees()),
        ("pollen_pool_member", orchard.pool_members(seed)),
        ("rating_scale", orchard.scales()),
        ("rating", orchard.ratings(seed)),
        ("decision", orchard.decisions()),
        ("tree_status", orchard.statuses()),
        ("lot", lots.lots() + seedlots.lots()),
        ("ledger", ledger),
        ("lot_split", seedlots.splits()),
        ("lot_component", moved.components()),
        ("harvest", seedlots.harvests(seed, ledger)),
        ("seed_test", seedlots.tests(seed, ledger)),
        ("treatment", seedlots.treatments()),
        ("storage", seedlots.storage(seed)),
        ("measured_share", orchard.shares()),
        ("identity_evidence", orchard.evidence()),
        ("partner", people.partners()),
        ("person", people.people()),
        ("caution", []),
        ("agreement_text", land.agreement_texts()),
        ("material_class", rules.material_classes()),
        ("rule", rules.rules()),
        ("rule_verification", rules.verifications()),
        ("authorization", people.papers()),
        ("authorization_version", people.paper_versions()),
        ("authorization_state", people.paper_states()),
        ("agreement_signature", land.agreement_signatures()),
        ("duty", duties.duties()),
        ("duty_done", duties.done()),
        ("shipment", moved.shipments + duties.planned_shipments()),
        ("receipt", moved.receipts),
        ("site", places.sites()),
        ("planting", places.plantings()),
        ("block", places.blocks()),
        ("tree", trees),
        ("counted_plot", flow.counted_plots()),
        ("leftover", moved.leftovers),
        ("measurement", standards.measurements()),
        ("protocol", standards.protocols()),
        ("round", visits.rounds),
        ("census", visits.rows),
        ("plot_count", visits.plot_counts),
        ("self_sown", census.self_sown()),
        ("receipt_late", duties.late_receipts()),
        ("leftover_late", duties.late_leftovers()),
        ("ledger_late", moved.late_ledger),
        ("census_late", visits.late_rows),
    ]
