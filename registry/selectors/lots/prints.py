"""The prints of a lot: container label, its life."""

from collections import defaultdict

from registry.calc.shared.screen import amount_words
from registry.choices import LotKind, LotOrigin
from registry.models import ShipmentLine
from registry.prints.document import Alert, Document, Facts, Table, TableColumn
from registry.prints.drafts import IN_QUESTION
from registry.prints.labels import Label
from registry.selectors.lots.handbook import handbook_row
from registry.selectors.lots.lot_steps import account_lines, lot_harvests, lot_treatments, storage_rows
from registry.selectors.lots.lot_words import (
    day_words,
    engineered_trees,
    handling_words,
    lot_words,
    mass_words,
    share_words,
    treatment_line,
)
from registry.selectors.lots.lots import lot_ancestors, lot_ledger
from registry.selectors.lots.seed_tests import lot_tests

__all__ = ["container_label", "family_lot", "life_document"]

_LEAST_SCALE = 0.8  # the smallest letters are then of 6 points

TREATED = "PESTICIDE-TREATED: NO FOOD"


def container_label(lot, scan):
    """The label of a container of a lot, the most urgent for a person opening the fridge first."""
    words = lot_words([lot])[lot.pk]
    handling = handling_words("", [words], ["seed" if lot.kind == LotKind.SEED else ""], None)
    plant_by = f"PLANT BY {day_words(lot.use_by)}" if lot.use_by else ""
    origin = f"mother {words.lineage.mother}" if lot.origin == LotOrigin.HARVEST else words.lineage.mother
    origin = " · ".join(part for part in (origin, words.when) if part)
    return Label(
        code=lot.code,
        scan=scan,
        title=words.what,
        lines=(handling, plant_by, "Count: ________  Mass: ________", origin, words.treated),
        alerts=(*([IN_QUESTION] if words.questions else []), *([TREATED] if words.pesticides else [])),
    )


# -- the history of a lot ---------------------------------------------------------------------------


def life_document(lot, *, scan, made_on, made):
    """All that is recorded about a lot: origin, harvest, tests, treatments, storage, account, shipments."""
    words = lot_words([lot])[lot.pk]
    ledger = lot_ledger(lot)
    handbook = handbook_row(lot.taxon.name)
    parts = [
        *([Alert(IN_QUESTION, words.questions)] if words.questions else []),
        Facts(_what_rows(lot, words, ledger), title="What it is", columns=2),
        _parents_table(lot),
        *_components_table(lot),
        *_harvest_table(lot),
        *_tests_table(lot, handbook),
        _treatments_table(lot),
        _storage_table(lot, handbook),
        _account_table(lot, ledger),
        _shipments_table(lot),
    ]
    parts, silent = [part for part in parts if not _is_empty(part)], [(part.title, part.empty) for part in parts if _is_empty(part)]
    if silent:
        parts.append(Facts(tuple(silent), title="Nothing recorded", columns=2))
    return Document(
        title=f"History of lot {lot.code}", made_on=made_on, parts=tuple(parts), subtitle=words.what, code=lot.code, scan=scan, made=made,
        least_scale=_LEAST_SCALE,
    )  # fmt: skip


def _is_empty(part):
    return isinstance(part, Table) and not part.rows


def _what_rows(lot, words, ledger):
    origins, made = [ancestor.code for ancestor in lot_ancestors(lot)], _made_of_it(lot, ledger)
    return (
        ("Species", words.what),
        ("Kind", lot.get_kind_display()),
        ("Origin", lot.get_origin_display()),
        ("Outside origin, as declared", lot.outside_origin) if lot.origin == LotOrigin.OUTSIDE else ("Family", words.lineage.family),
        *((("Raised or split from", ", ".join(origins)),) if origins else ()),
        *((("Raised or split from it", ", ".join(made)),) if made else ()),
        ("Ripening or sowing year", str(lot.year or "")),
        ("Generation", words.generation),
        ("Expected share", share_words(lot)),
        ("Source of resistance", words.lineage.source),
        ("Recurrent line", words.lineage.line),
        ("Regulated engineered parents", ", ".join(engineered_trees([lot])) or "none recorded"),
        ("On hand", amount_words(lot.balance, lot.unit) if ledger else ""),
        ("Stored at", lot.storage_place),
        ("Use by", day_words(lot.use_by)),
        *((("Closed on", day_words(lot.closed_on)),) if lot.closed_on else ()),
        *((("Note", lot.note),) if lot.note else ()),
    )


def _parents_table(lot):
    columns = (
        TableColumn("Parent", 1.2),
        TableColumn("Code", 1.8, face="code"),
        TableColumn("Species", 2.2, face="latin"),
        TableColumn("Generation", 1.2),
        TableColumn("Expected share", 3.2),
        TableColumn("Place and status", 3.4),
    )
    rows = [_parent_row(role, tree) for role, tree in _parents(lot)]
    pool = _pool(lot)
    if pool:
        members = pool.members.count()
        named = f"{amount_words(members, 'trees')} named" if members else "its trees are not named"
        rows.append(("pollen pool", pool.code, "", str(pool.flowering_year), named, f"{pool.orchard} {pool.block}".strip()))
    empty = {
        LotOrigin.BULK: "A bulk has no mother; its components are listed below.",
        LotOrigin.OUTSIDE: "Came from outside: no parent on record.",
    }
    return Table("Parents", columns, tuple(rows), empty=empty.get(lot.origin, "No parent recorded."))


def family_lot(lot):
    """The lot that names the parents: the harvest a lot was raised or split from."""
    ancestors = lot_ancestors(lot)
    return ancestors[0] if ancestors else lot


def _parents(lot):
    family = family_lot(lot)
    return [(role, tree) for role, tree in (("mother", family.mother), ("father", family.father)) if tree]


def _pool(lot):
    return family_lot(lot).pollen_pool


def _parent_row(role, tree):
    place = [tree.orchard, f"block {tree.block}" if tree.block else "", f"row {tree.row}, position {tree.position}" if tree.row else ""]
    where = ", ".join(part for part in place if part)
    return (role, tree.code, tree.taxon.name, tree.generation_code, share_words(tree), f"{where}; {tree.get_status_display()}".lstrip("; "))


def _components_table(lot):
    if lot.origin != LotOrigin.BULK:
        return []
    components = list(lot.components.select_related("component").order_by("bulked_on", "component__code"))
    total = sum(part.count for part in components)
    columns = (
        TableColumn("Lot", 2, face="code"),
        TableColumn("Mixed in", 1, "right"),
        TableColumn("Part", 1, "right"),
        TableColumn("On", 1),
        TableColumn("Why", 3),
    )
    rows = tuple(
        (
            part.component.code,
            amount_words(part.count, lot.unit),
            f"{100 * part.count / total:.0f} %",
            day_words(part.bulked_on),
            part.reason,
        )
        for part in components
    )
    return [Table("Components", columns, rows, empty="None entered yet.")]


def _harvest_table(lot):
    if lot.origin != LotOrigin.HARVEST:
        return []
    columns = (
        TableColumn("On", 1.4), TableColumn("Count", 1.3, "right"), TableColumn("Mass", 1, "right"), TableColumn("Fruits", 1, "right"),
        TableColumn("Picker", 2), TableColumn("Containers", 1.2, "right"), TableColumn("Labels in and out", 1.3), TableColumn("Held by", 2),
    )  # fmt: skip
    rows = tuple(
        (
            day_words(facts.entry.on), amount_words(facts.entry.quantity, lot.unit), mass_words(facts.entry.mass_g),
            f"{facts.fruits or ''}", facts.picker, str(facts.containers), "yes" if facts.labels_inside_and_outside else "no", facts.holder,
        )
        for facts in lot_harvests(lot)
        if not hasattr(facts.entry, "reversed_by")
    )  # fmt: skip
    return [Table("Harvest", columns, rows, empty="None entered; the account below has what came in.")]


def _tests_table(lot, handbook):
    if lot.kind != LotKind.SEED:
        return []
    columns = (
        TableColumn("On", 1.1),
        TableColumn("Test", 1.1),
        TableColumn("Result", 3.4),
        TableColumn("Judgement", 4.6),
        TableColumn("By", 1.1),
    )
    rows = tuple(
        (
            day_words(result.test.tested_on),
            result.test.get_kind_display(),
            result.headline,
            result.warning or result.judgement,
            result.test.tested_by,
        )
        for result in lot_tests(lot, handbook)
        if result.superseded_by is None
    )
    return [Table("Tests", columns, rows, empty="Not tested.")]


def _treatments_table(lot):
    columns = (TableColumn("Treatment", 6), TableColumn("What is odd", 2.6), TableColumn("By", 1.2))
    rows = tuple(
        (treatment_line(row.treatment), " ".join(row.warnings), row.treatment.operator) for row in lot_treatments(lot) if not row.completed
    )  # fmt: skip
    return Table("Treatments", columns, rows, empty="None entered.")


def _storage_table(lot, handbook):
    columns = (
        TableColumn("On", 1.2), TableColumn("Stored at", 2), TableColumn("°C", 0.7, "right"), TableColumn("Feels", 0.9),
        TableColumn("Sprouted (%)", 1, "right"), TableColumn("Mouldy (%)", 1, "right"), TableColumn("Note", 3), TableColumn("By", 1.3),
    )  # fmt: skip
    rows = tuple(
        (
            day_words(record.on), record.place, _number(record.temperature_c), record.get_feel_display(), _number(record.sprouted_percent),
            _number(record.mouldy_percent), " ".join([*warnings, record.note]).strip(), record.by,
        )
        for record, warnings in storage_rows(lot, handbook)
    )  # fmt: skip
    return Table("Storage", columns, rows, empty="No storage checks.")


def _number(value):
    return "" if value is None else f"{value:g}"


def _account_table(lot, ledger):
    account, lots = account_lines(row.entry for row in ledger), _other_lots(ledger)
    columns = (
        TableColumn("What", 1.6), TableColumn(f"In or out ({lot.unit})", 1.2, "right"), TableColumn("Entries", 0.7, "right"),
        TableColumn("To or from lot", 4, face="code"),
    )  # fmt: skip
    rows = [(line.kind, _signed(line.quantity), str(line.entries), ", ".join(lots.get(line.kind, ()))) for line in account.lines]
    if rows:
        rows.append(("on hand", f"{account.on_hand:,}", "", ""))
    return Table("Account", columns, tuple(rows), empty="No ledger entries.")


def _other_lots(ledger):
    """{kind of entry, in words: codes of the lots at the other end}, of entries that were not reversed."""
    found = defaultdict(list)
    for row in ledger:
        entry = row.entry
        if entry.counterpart and row.reversal is None and entry.reverses_id is None:
            found[entry.get_kind_display()].append(entry.counterpart.code)
    return {kind: list(dict.fromkeys(codes)) for kind, codes in found.items()}


def _made_of_it(lot, ledger):
    """Lots that name it as the one they were raised or split from, and that its ledger does not name."""
    named = {code for codes in _other_lots(ledger).values() for code in codes}
    return [code for code in lot.raised_lots.order_by("code").values_list("code", flat=True) if code not in named]


def _signed(count):
    return f"{count:+,}".replace("-", "−")


def _shipments_table(lot):
    lines = ShipmentLine.objects.filter(lot=lot).select_related("shipment__receiver").order_by("shipment__dispatched_on", "shipment__code")
    columns = (
        TableColumn("Shipment", 1.6, face="code"), TableColumn("To", 3), TableColumn("Left on", 1.2), TableColumn("Form", 1.5),
        TableColumn("Count", 1.3, "right"), TableColumn("State", 1.2),
    )  # fmt: skip
    rows = tuple(
        (
            line.shipment.code, line.shipment.receiver.name, day_words(line.shipment.dispatched_on), line.get_form_display(),
            amount_words(line.quantity, lot.unit), line.shipment.get_state_display(),
        )
        for line in lines
    )  # fmt: skip
    return Table("Shipments", columns, rows, empty="None.")
