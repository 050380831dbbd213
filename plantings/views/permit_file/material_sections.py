"""The sections of a permit file about the material: its quantities, and every item by lot, place and fate."""

from collections import defaultdict

from django.utils import timezone

from plantings.calc.census.measurements import FLOWERS
from plantings.selectors.permit_file.fates import Fates
from registry.calc.shared.screen import amount_words, day_words, moment_words
from registry.choices import DrawKind
from registry.prints.permit_file import FileColumn, FileSection

_FATE_WORDS = (
    "alive", "by resprout", "dead", "presumed dead", "not found", "seen but state unclear", "position not located", "not visited",
    "no census yet", "removed"
)  # fmt: skip
_FATE_LABELS = dict(zip(Fates._fields, _FATE_WORDS, strict=True))
MIXED = (
    "A lot in a planting may have come in more than one shipment. Which tree came in which is not recorded, so fates are those of "
    "the entry as a whole."
)


def number_column(label, weight=0.7, only=""):
    return FileColumn(label, weight, "number", only)


def by_unit(rows):
    """(seeds, plants) of (unit, quantity) pairs."""
    total = defaultdict(int)
    for unit, quantity in rows:
        total[unit] += quantity
    return total["seeds"], total["plants"]


def account_section(file):
    """The quantities of a paper: its cap, what was shipped and planted, and the fate of it."""
    return FileSection(
        "account", "Quantities",
        (FileColumn("What", 4), number_column("Seeds", 1), number_column("Plants", 1), FileColumn("From", 4)),
        (*_cap_rows(file), *_way_rows(file.items), *_fate_rows(file.items)),
        note=as_of_words(file),
    )  # fmt: skip


def as_of_words(file):
    """'As of 25 Nov 2026, 09:30 EST; fates by rounds opened 1 Sep 2024 to 1 Sep 2026.' A round that is not complete is named after it."""
    moment = f"As of {moment_words(timezone.localtime(file.now), zone=True)}"
    opened = sorted(entry.as_of for entry in file.items.entries if entry.as_of)
    if not opened:
        return f"{moment}; no census round has records yet."
    first, last = (f"{day_words(day)}" for day in (opened[0], opened[-1]))
    words = f"{moment}; fates by rounds opened {first if first == last else f'{first} to {last}'}."
    names = ", ".join(sorted({f"{entry.planting} {entry.round}" for entry in file.items.entries if entry.not_complete}))
    if not names:
        return words
    return f"{words} Trees that nobody has looked at in a round that is not complete are among the unaccounted: {names}."


def _cap_rows(file):
    paper = file.paper
    if paper.cap_quantity is None:
        return [("It sets no cap", None, None, "the paper")]

    def row(words, quantity, source):
        pair = (quantity, None) if paper.cap_unit == "seeds" else (None, quantity)
        return (words if paper.cap_unit in ("seeds", "plants") else f"{words} ({paper.cap_unit})", *pair, source)

    drawn, over = file.drawn, paper.drawn - paper.cap_quantity
    before = [row("– before these records began", drawn[DrawKind.OPENING], "draws on the paper")] if drawn[DrawKind.OPENING] else []
    return [
        row("Issued: the cap", paper.cap_quantity, "the paper"),
        row("Drawn from it", paper.drawn, "draws on the paper"),
        *before,
        row("– when shipped", drawn[DrawKind.SHIPPED], "draws on the paper"),
        row("– when planted", drawn[DrawKind.PLANTED], "draws on the paper"),
        row("– given back to the cap", -drawn[DrawKind.RETURNED], "draws on the paper"),
        row("Left of the cap", max(0, -over), "cap less draws"),
        *([row("Over the cap", over, "draws less cap")] if over > 0 else []),
    ]


def _way_rows(items):
    lines = [
        ("Shipped", "sent", "shipments that left"),
        ("Received", "received", "receipts"),
        ("– sound", "sound", "receipts"),
        ("– sprouted", "sprouted", "receipts"),
        ("– spoiled", "spoiled", "receipts"),
        ("Short", "short", "shipped less received, where there is a receipt"),
        ("Without a receipt yet", "under_way", "shipments that left"),
        ("Left over, returned", "returned", "leftovers"),
        ("Left over, destroyed", "destroyed", "leftovers"),
        ("Left over, still held", "held", "leftovers"),
        ("Received, but neither planted nor reported", "unreported", "receipts less plantings and leftovers"),
    ]
    rows = [(words, *by_unit((line.unit, getattr(line, name)) for line in items.lines), source) for words, name, source in lines]
    planted = by_unit((entry.unit, entry.under) for entry in items.entries)
    return [*rows[:7], ("Planted", *planted, "supply of the plantings"), *rows[7:]]


def _fate_rows(items):
    entries = items.entries
    others = by_unit((entry.unit, entry.planted - entry.under) for entry in entries)
    rows = [("Planted in the same entries, from elsewhere", *others, "supply of the plantings")] if any(others) else []
    words = (
        ("Alive at the last round", "alive"), ("– of them by resprout", "resprout"), ("Dead", "dead"), ("Presumed dead", "presumed_dead"),
        ("Unaccounted at the last round", "unaccounted"), ("– not found", "not_found"),
        ("– seen but state unclear", "unclear"), ("– position not located", "not_located"),
        ("– not visited", "not_visited"), ("No census yet", "unseen"), ("Removed", "removed"),
    )  # fmt: skip
    for label, name in words:
        rows.append((label, *by_unit((entry.unit, getattr(entry.fates, name)) for entry in entries), "census"))
    if unknown := sum(entry.unknown_plots for entry in entries):
        rows.append((f"Not in these numbers: {amount_words(unknown, 'plots')} of an unknown number planted", None, None, "counted plots"))
    if codes := sorted({entry.planting for entry in entries if entry.trees_left_out}):
        rows.append(
            (f"Only those on record are in these numbers, of an unknown number planted: {', '.join(codes)}", None, None, "plantings")
        )
    return rows


def fate_words(fates):
    """'alive 12, dead 3': what there is, in the order of the fates."""
    counts = {label: getattr(fates, name) for name, label in _FATE_LABELS.items() if name != "resprout"}
    return ", ".join(f"{label} {count:,}" for label, count in counts.items() if count)


def lots_section(file):
    lives = sorted(file.lots.values(), key=lambda life: life.lot.code)
    return FileSection(
        "lots", "Material",
        (FileColumn("Lot", 1.6, "code"), FileColumn("Species", 1.5, "latin"), FileColumn("Mother × father", 2.2),
         FileColumn("Harvest", 1.5),
         FileColumn("By way of", 1.9), FileColumn("Unit", 0.7), number_column("Made"), number_column("Destroyed", 1.15),
         number_column("In it now", 0.8)),
        tuple(
            (life.lot.code, life.lot.taxon.name, life.parents, life.harvest, life.way, life.lot.unit, life.gained, life.destroyed,
             life.lot.balance)
            for life in lives
        ),
        note="“Made” is harvested, raised or received from outside; the figures are for the entire lot, not for this paper alone.",
        empty="No lots under this paper.", route="lot_detail", keys=tuple(life.lot.pk for life in lives),
    )  # fmt: skip


def chain_section(file):
    """Each item from its mother to the ground: one row for what a line of a shipment supplied to a planting."""
    items = file.items
    lines, entries = {line.pk: line for line in items.lines}, {entry.pk: entry for entry in items.entries}
    supplied = {supply.line for supply in items.supplies}
    pairs = [(lines.get(supply.line), entries[supply.entry], supply) for supply in items.supplies]
    pairs += [(line, None, None) for line in items.lines if line.pk not in supplied]
    rows, keys = [], []
    for line, entry, supply in pairs:
        life = file.lots[line.lot_pk if line else entry.lot_pk]
        path = " → ".join(filter(None, (life.harvest, life.way)))
        rows.append((life.lot.code, life.parents, path, *_sent(line, supply), *_planted(entry, supply)))
        keys.append(life.lot.pk)
    columns = (
        FileColumn("Lot", 1.4, "code"), FileColumn("Mother × father", 1.7), FileColumn("Harvest and way", 2.1),
        FileColumn("Shipment", only="file"), FileColumn("Left on", kind="date", only="file"), number_column("Shipped", only="file"),
        number_column("Received", only="file"), FileColumn("Shipment", 1.8, only="read"), FileColumn("Planting", only="file"),
        FileColumn("Planted on", kind="date", only="file"), FileColumn("Planting", 1.4, only="read"), number_column("Planted", 0.8),
        FileColumn("Fates of the entry", 1.8),
    )  # fmt: skip
    return FileSection(
        "chain", "The chain of each item", columns, tuple(rows), note=MIXED, empty="Nothing shipped or planted under this paper.",
        route="lot_detail", keys=tuple(keys),
    )  # fmt: skip


def _sent(line, supply):
    """Shipment, day, shipped, received, and the same in words."""
    if line is None:
        return (supply.source, None, None, None, supply.source)
    received = f"{line.received:,} received" if line.arrived else "no receipt"
    words = f"{_dated(line.shipment, line.dispatched_on)}: {line.sent:,} sent, {received}"
    return (line.shipment, line.dispatched_on, line.sent, line.received if line.arrived else None, words)


def _planted(entry, supply):
    """Planting, day, the same in words, how many, and what became of the entry."""
    if entry is None:
        return ("", None, "not planted", None, "")
    return (entry.planting, entry.planted_on, _dated(entry.planting, entry.planted_on), supply.count, fate_words(entry.fates))


def _dated(code, on):
    return f"{code}, {day_words(on)}" if on else code


def _numbers_planted(entry):
    """What is under the paper, and planted in all; blank, not 0, where nobody knows any number."""
    return (None, None) if entry.unknown_plots and not entry.planted else (entry.under, entry.planted)


def _fates_of(entry):
    unknown = f"{amount_words(entry.unknown_plots, 'plots')} of an unknown number planted" if entry.unknown_plots else ""
    left_out = "some planted trees are not on record" if entry.trees_left_out else ""
    return ", ".join(filter(None, (fate_words(entry.fates), unknown, left_out)))


def places_section(file, position):
    """What is planted where, by lot. `position` gives the words of a site's position as the reader may know it."""
    entries = file.items.entries
    rows = tuple(
        (entry.planting, entry.planted_on, entry.site.code, entry.site.name, entry.site.partner.name, entry.site.jurisdiction,
         f"{entry.site.code} {entry.site.name}, {entry.site.partner.name}, {entry.site.jurisdiction}".rstrip(", "), position(entry.site),
         entry.lot,
         entry.role, entry.unit, *_numbers_planted(entry), entry.unknown_plots or None, entry.round, entry.as_of, *entry.fates,
         _fates_of(entry))
        for entry in entries
    )  # fmt: skip
    columns = (
        FileColumn("Planting", 1.5, "code"), FileColumn("Planted on", 1, "date"), FileColumn("Site", only="file"),
        FileColumn("Name", only="file"), FileColumn("Partner", only="file"), FileColumn("Region", only="file"),
        FileColumn("Site", 2, only="read"), FileColumn("Position", 1.2), FileColumn("Lot", 1.6, "code"), FileColumn("Role", 0.7),
        FileColumn("Unit", only="file"), number_column("Under this paper", 0.9), number_column("Planted in all", 0.95),
        number_column("Plots of an unknown number", only="file"), FileColumn("As of round", 1),
        FileColumn("Round opened", kind="date", only="file"),
        *(number_column(label.capitalize(), only="file") for label in _FATE_WORDS), FileColumn("Fates", 1.8, only="read"),
    )  # fmt: skip
    return FileSection(
        "places", "Where it is planted, by lot and fate", columns, rows,
        note=f"{amount_words(file.plantings, 'plantings')}. {MIXED} “Under this paper” counts what of the entry came under it.",
        empty="Nothing planted under this paper.", route="planting_detail", keys=tuple(entry.planting_pk for entry in entries),
    )  # fmt: skip


def flowering_section(file):
    kinds = [code for code, _label, _about in FLOWERS.classes]
    rows = tuple(
        (one.entry.planting, one.round, one.opened, one.entry.lot, one.looked, *(one.seen.get(kind, 0) for kind in kinds), one.first_time)
        for one in file.flowering
    )
    columns = (
        FileColumn("Planting", 1.4, "code"), FileColumn("Round", 1.1), FileColumn("Opened", 0.9, "date"),
        FileColumn("Lot", 1.4, "code"),
        number_column("Looked for", 0.9), *(number_column(label) for _code, label, _about in FLOWERS.classes),
        number_column("First seen in flower", 1),
    )  # fmt: skip
    return FileSection(
        "flowering", "Flowering", columns, rows,
        note="Trees whose record of the round says whether flowers or fruit were looked for, by what was seen. The other trees are not "
        "known to be without.",
        empty="Nobody has recorded whether these trees flower.", route="planting_detail",
        keys=tuple(one.entry.planting_pk for one in file.flowering),
    )  # fmt: skip
