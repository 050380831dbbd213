"""The prints of a shipment: packing list, draft for a phytosanitary certificate."""

from django.utils.translation import gettext, gettext_noop

from registry.calc.shared.screen import amount_words
from registry.choices import AuthorizationState, LotOrigin, TreatmentKind
from registry.compliance.gate.answers import STOP
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
from registry.selectors.pedigree.lineage import NOT_STATED, OUTSIDE
from registry.selectors.permits.local_papers import paper_state, paper_type
from registry.selectors.shared.local_units import local_amount, local_unit
from registry.selectors.shared.local_words import local_day, local_list

__all__ = ["HYBRID_LINE", "COPIES", "health_document", "packing_document", "packing_lines", "paper_words"]

COPIES = (gettext_noop("FOR INSIDE THE BOX"), gettext_noop("FOR THE OUTSIDE OF THE BOX"))
STOPPED = gettext_noop("The gate stops this shipment as it is recorded")
HYBRID_LINE = gettext_noop("Test material, not for sale or gift.")
_STOPPED_LINE = gettext_noop("Do not send it. The page of the shipment says what is missing.")


def _columns():
    return (
        TableColumn(gettext("Lot"), 2.4, face="code"),
        TableColumn(gettext("What it is"), 2.8, face="latin"),
        TableColumn(gettext("Mother"), 1.6),
        TableColumn(gettext("Form"), 1.4),
        TableColumn(gettext("Count"), 1.4, "right"),
        TableColumn(gettext("Mass"), 1.1, "right"),
        TableColumn(gettext("Harvested or raised"), 1.8),
        TableColumn(gettext("Use by"), 1.4),
    )


def _treated():
    return (
        TableColumn(gettext("Lot"), 2, face="code"), TableColumn(gettext("Given to"), 2), TableColumn(gettext("Treatment"), 6),
    )  # fmt: skip


def paper_words(paper, lots=()):
    """A paper as it is named on a packing list: type, issuer's reference, issuer; its state if not in force; its lots if not all."""
    state = "" if paper.state == AuthorizationState.IN_FORCE else paper_state(paper)
    words = f"{paper_type(paper)} {paper.issuer_reference or paper.code} ({paper.issuer})"
    return ", ".join(filter(None, (words, state, f"{local_unit(len(lots), 'lots')} {local_list(lots, gettext('and'))}" if lots else "")))


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
        about = gettext("about %(mass)s") % {"mass": estimate} if estimate else ""
        masses[line.pk] = mass_words(weighed.get(line.pk)) or about
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
        (gettext("To"), ", ".join(part for part in (shipment.receiver.name, receiver_address) if part)),
        (gettext("From"), sender),
        (gettext("Left on") if shipment.dispatched_on else gettext("Planned for"), local_day(left)),
        (gettext("Carrier"), shipment.carrier),
        (gettext("In all"), shipment_words(balances)),
        (gettext("Papers it goes under"), "; ".join(papers)),
    )
    questions = lot_question_words(items)
    use_by = min((item.lot.use_by for item in items if item.lot.use_by), default=None)
    handling = handling_words(shipment.handling, items, forms, use_by)
    parts = [
        *([Alert(gettext(IN_QUESTION), questions)] if questions else []),
        *([Alert(gettext(STOPPED), (gettext(_STOPPED_LINE),))] if _is_stopped(shipment, answer) else []),
        Banner(handling or gettext("No handling instructions recorded. Ask the sender how to store it before you put it away.")),
        Facts(rows, blank=gettext("none recorded")),
        Table(
            gettext("Contents"),
            _columns(),
            tuple(_row(balance.line, words, masses) for balance in balances),
            empty=gettext("No lot yet."),
        ),
        Table(
            gettext("Treatments"),
            _treated(),
            tuple((item.lot.code, *pair) for item in items for pair in item.treatments),
            empty=gettext("None recorded."),
        ),
        Notes(gettext("Cautions"), tuple(_cautions(items))),
        ByHand((gettext("Packed and counted by, on"), gettext("Received and counted by, on"))),
    ]
    return Document(
        title=gettext("Packing list %(shipment)s") % {"shipment": shipment.code},
        made_on=made_on,
        parts=tuple(parts),
        subtitle=gettext("State: %(state)s") % {"state": shipment.get_state_display()},
        code=shipment.code,
        scan=scan,
        made=made,
        copies=tuple(gettext(copy) for copy in COPIES),
    )


def _is_stopped(shipment, answer):
    return not shipment.dispatched_on and answer is not None and answer.verdict == STOP


def _row(line, words, masses):
    item = words[line.lot_id]
    return (
        gettext("%(lot)s (in question)") % {"lot": line.lot.code} if item.questions else line.lot.code,
        item.what,
        gettext(item.lineage.mother) if item.lineage.mother in (NOT_STATED, OUTSIDE) else item.lineage.mother,
        line.get_form_display(),
        local_amount(line.quantity, line.lot.unit),
        masses[line.pk],
        item.when,
        local_day(line.lot.use_by),
    )


def _cautions(items):
    engineered = engineered_trees([item.lot for item in items]) if items else []
    if engineered:
        trees = ", ".join(engineered)
        words = gettext("Descends from regulated engineered trees (%(trees)s). Keep it closed; its permit says what may be done with it.")
        yield words % {"trees": trees}
    if any(item.hybrid for item in items):
        yield gettext(HYBRID_LINE)
    for product in dict.fromkeys(product for item in items for product in item.pesticides):
        words = gettext("Treated with %(product)s: read its label before opening, wear what it says, not for food or feed.")
        yield words % {"product": product or gettext("a pesticide")}
    yield gettext("Count on arrival and enter a receipt: box, temperature, sound, sprouted, spoiled, short.")
    yield gettext("Which papers must travel with this box is not decided here. Check with the local authority.")


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
    treatment, unsure = item.treatment, "" if item.is_sure else "day not recorded, may be after it left that lot"
    temperature = "" if treatment.temperature_c is None else f"{treatment.temperature_c:g} °C"
    minutes = "" if treatment.minutes is None else f"{treatment.minutes:g} min"
    return {
        "date": day_words(treatment.started_on),
        "treatment": f"{treatment.get_kind_display()}, lot {item.lot}",
        "chemical": treatment.product,
        "duration": ", ".join(part for part in (minutes, temperature) if part),
        "information": ", ".join(part for part in (f"operator {treatment.operator}", treatment.note, unsure) if part),
    }
