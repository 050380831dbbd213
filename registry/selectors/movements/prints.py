"""The prints of a shipment: packing list, draft for a phytosanitary certificate."""

from registry.calc.shared.screen import amount_words
from registry.choices import AuthorizationState, LotOrigin, TreatmentKind
from registry.compliance.gate.answers import STOP
from registry.compliance.gate.words import lots_words
from registry.models import LedgerEntry
from registry.prints.document import Alert, Banner, ByHand, Document, Facts, Notes, Table, TableColumn
from registry.prints.drafts import IN_QUESTION, health_draft
from registry.selectors.lots.lot_words import (
    day_words,
    engineered_trees,
    handling_words,
    lot_question_words,
    lot_words,
    mass_words,
)
from registry.selectors.lots.treated import treatments_behind
from registry.selectors.movements.papers import shipment_papers, shipment_said
from registry.selectors.movements.shipments import shipment_lines, shipment_words

__all__ = ["HYBRID_LINE", "COPIES", "health_document", "packing_document", "packing_lines", "paper_words"]

COPIES = ("FOR INSIDE THE BOX", "FOR THE OUTSIDE OF THE BOX")
STOPPED = "The gate stops this shipment as it is recorded"
HYBRID_LINE = "Test material, not for sale or gift."
_STOPPED_LINE = "Do not send it. The page of the shipment says what is missing."
_COLUMNS = (
    TableColumn("Lot", 2.4, face="code"),
    TableColumn("What it is", 2.8, face="latin"),
    TableColumn("Mother", 1.6),
    TableColumn("Form", 1.4),
    TableColumn("Count", 1.4, "right"),
    TableColumn("Mass", 1.1, "right"),
    TableColumn("Harvested or raised", 1.8),
    TableColumn("Use by", 1.4),
)
_TREATED = (TableColumn("Lot", 2, face="code"), TableColumn("Given to", 2), TableColumn("Treatment", 6))


def paper_words(paper, lots=()):
    """A paper as it is named on a packing list: type, issuer's reference, issuer; its state if not in force; its lots if not all."""
    state = "" if paper.state == AuthorizationState.IN_FORCE else paper.get_state_display()
    words = f"{paper.get_type_display()} {paper.issuer_reference or paper.code} ({paper.issuer})"
    return ", ".join(filter(None, (words, state, lots_words(lots) if lots else "")))


def packing_lines(shipment):
    """(balances of the lines, {lot's key: LotWords}, {line's key: mass in words})."""
    balances = shipment_lines(shipment)
    words = lot_words({balance.line.lot_id: balance.line.lot for balance in balances}.values())
    weighed = {}
    lines = [balance.line.pk for balance in balances]
    entries = LedgerEntry.objects.in_effect().filter(shipment_line__in=lines, mass_g__isnull=False)
    for line, mass_g in entries.order_by().values_list("shipment_line", "mass_g"):
        weighed[line] = weighed.get(line, 0) + mass_g
    masses = {}
    for balance in balances:
        line, each = balance.line, words[balance.line.lot_id].grams_each
        estimate = mass_words(each * line.quantity) if each else ""
        masses[line.pk] = mass_words(weighed.get(line.pk)) or (f"about {estimate}" if estimate else "")
    return balances, words, masses


def packing_document(shipment, *, sender, receiver_address, scan, made_on, made):
    """The packing list of a shipment: one copy for inside the box, one for the outside.

    `sender` is printed as given; `receiver_address` is blank for somebody who may not read contacts.
    """
    balances, words, masses = packing_lines(shipment)
    items, forms = list(words.values()), [balance.line.form for balance in balances]
    answer = shipment_said(shipment, made_on)
    papers = [paper_words(one.paper, one.lots) for one in shipment_papers(shipment, answer, shipment.dispatched_on or made_on)]
    left = shipment.dispatched_on or shipment.planned_on
    rows = (
        ("To", ", ".join(part for part in (shipment.receiver.name, receiver_address) if part)),
        ("From", sender),
        ("Left on" if shipment.dispatched_on else "Planned for", day_words(left)),
        ("Carrier", shipment.carrier),
        ("In all", shipment_words(balances)),
        ("Papers it goes under", "; ".join(papers)),
    )
    questions = lot_question_words(items)
    use_by = min((item.lot.use_by for item in items if item.lot.use_by), default=None)
    handling = handling_words(shipment.handling, items, forms, use_by)
    parts = [
        *([Alert(IN_QUESTION, questions)] if questions else []),
        *([Alert(STOPPED, (_STOPPED_LINE,))] if _is_stopped(shipment, answer) else []),
        Banner(handling or "No handling instructions recorded. Ask the sender how to store it before you put it away."),
        Facts(rows, blank="none recorded"),
        Table("Contents", _COLUMNS, tuple(_row(balance.line, words, masses) for balance in balances), empty="No lot yet."),
        Table("Treatments", _TREATED, tuple((item.lot.code, *pair) for item in items for pair in item.treatments), empty="None recorded."),
        Notes("Cautions", tuple(_cautions(items))),
        ByHand(("Packed and counted by, on", "Received and counted by, on")),
    ]
    return Document(
        title=f"Packing list {shipment.code}", made_on=made_on, parts=tuple(parts), subtitle=f"State: {shipment.get_state_display()}",
        code=shipment.code, scan=scan, made=made, copies=COPIES,
    )  # fmt: skip


def _is_stopped(shipment, answer):
    return not shipment.dispatched_on and answer is not None and answer.verdict == STOP


def _row(line, words, masses):
    item = words[line.lot_id]
    return (
        line.lot.code + (" (in question)" if item.questions else ""),
        item.what,
        item.lineage.mother,
        line.get_form_display(),
        amount_words(line.quantity, line.lot.unit),
        masses[line.pk],
        item.when,
        day_words(line.lot.use_by),
    )


def _cautions(items):
    engineered = engineered_trees([item.lot for item in items]) if items else []
    if engineered:
        trees = ", ".join(engineered)
        yield f"Descends from regulated engineered trees ({trees}). Keep it closed; its permit says what may be done with it."
    if any(item.hybrid for item in items):
        yield HYBRID_LINE
    for product in dict.fromkeys(product for item in items for product in item.pesticides):
        yield f"Treated with {product or 'a pesticide'}: read its label before opening, wear what it says, not for food or feed."
    yield "Count on arrival and enter a receipt: box, temperature, sound, sprouted, spoiled, short."
    yield "Which papers must travel with this box is not decided here. Check with the local authority."


# -- phytosanitary certificate --------------------------------------------------------------------


def health_document(shipment, *, sender, receiver_address, scan, made_on, made):
    """The draft of the data for a phytosanitary certificate; what is not recorded stays blank."""
    balances, words, masses = packing_lines(shipment)
    lines = [balance.line for balance in balances]
    facts = {
        "exporter": sender,
        "consignee": ", ".join(part for part in (shipment.receiver.name, receiver_address) if part),
        "marks": "; ".join([f"shipment {shipment.code}", *(f"lot {line.lot.code}" for line in lines)]),
        "origin": "; ".join(dict.fromkeys(filter(None, (_place(line.lot) for line in lines)))),
        "conveyance": shipment.carrier,
        "produce": "; ".join(_produce(line, masses) for line in lines),
        "botanical_name": "; ".join(dict.fromkeys(words[line.lot_id].what for line in lines)),
    }
    lots = {line.lot_id: line.lot for line in lines}
    treated = [item for pk, items in treatments_behind(lots.values()).items() for item in items if item.kind == lots[pk].kind]
    shown = [
        _treatment_facts(item) for item in dict.fromkeys(treated) if item.treatment.kind not in (TreatmentKind.WARM, TreatmentKind.COLD)
    ]
    return health_draft(
        facts, shown, title=f"Draft data for a phytosanitary certificate, {shipment.code}", code=shipment.code, scan=scan, made_on=made_on,
        made=made, questions=lot_question_words(words.values()),
    )  # fmt: skip


def _place(lot):
    if lot.mother and lot.mother.orchard:
        return f"orchard {lot.mother.orchard}{f', block {lot.mother.block}' if lot.mother.block else ''}"
    return f"{lot.outside_origin} (as declared)" if lot.origin == LotOrigin.OUTSIDE else ""


def _produce(line, masses):
    parts = (line.get_form_display(), f"lot {line.lot.code}", amount_words(line.quantity, line.lot.unit), masses[line.pk])
    return ", ".join(part for part in parts if part)


def _treatment_facts(item):
    treatment = item.treatment
    temperature = "" if treatment.temperature_c is None else f"{treatment.temperature_c:g} °C"
    minutes = "" if treatment.minutes is None else f"{treatment.minutes:g} min"
    return {
        "date": day_words(treatment.started_on),
        "treatment": f"{treatment.get_kind_display()}, lot {item.lot}",
        "chemical": treatment.product,
        "duration": ", ".join(part for part in (minutes, temperature) if part),
        "information": ", ".join(part for part in (f"operator {treatment.operator}", treatment.note) if part),
    }
