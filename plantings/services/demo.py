"""What the demo has beside its sheets: accounts with passwords, documents of papers, a shipment the gate let go, stored answers."""

from plantings.choices import ReviewState
from plantings.models import CensusRound, Observation
from plantings.selectors.overview.demo import DEMO_LOADED
from plantings.services.census.reviews import records_review
from registry.calc.shared.screen import day_words
from registry.choices import AuthorizationType, ShipmentState
from registry.models import AgreementSignature, Authorization, Person, Shipment
from registry.selectors.gate.determinations import gate_ask
from registry.selectors.gate.questions import shipment_question
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.gate.determinations import determination_store
from registry.services.movements.shipments import shipment_dispatch
from registry.services.people.people import person_save
from registry.services.permits.authorizations import document_add

__all__ = ["demo_answers_store", "demo_dispatch", "demo_documents_add", "demo_lead_make", "demo_reviews_add"]

# one paper whose document is still missing, so that the gate and the lists have something to say
_NOT_SCANNED = "EX-NONE-VT"

_REVIEWED_BLOCKS = ("1", "2")
_ASKED = "is the shelter still up? the height is that of its rim"
_REJECTED = "the tag in the note is that of the tree beside it"


@write
def demo_lead_make(**fields):
    """Make the account that loads the demo, and record that these records are the demo's."""
    lead = Person(**fields)
    person_save(actor=lead, person=lead)
    audit_record(actor=lead, verb=DEMO_LOADED, obj=lead)
    return lead


@write
def demo_documents_add(actor):
    """File a text as the document of every paper that an office issued, and a copy of what was signed; a draft has none."""
    own = (AuthorizationType.LANDOWNER, AuthorizationType.CONSENT)
    for paper in Authorization.objects.exclude(type__in=own).exclude(code=_NOT_SCANNED).order_by("pk"):
        lines = (paper.title, paper.issuer, paper.issuer_reference, paper.covers, paper.conditions, "Invented for the demo. Not law.")
        content = "\n\n".join(filter(None, lines)).encode()
        document_add(actor=actor, paper=paper, content=content, filename=f"{paper.code}.txt", title=f"Text of {paper.code} (invented)")
    for signature in AgreementSignature.objects.select_related("authorization", "text").order_by("signed_on", "pk"):
        paper, text = signature.authorization, signature.text
        signed = f"Signed by {signature.signed_by} on {day_words(signature.signed_on)}. Invented for the demo. Not law."
        document_add(
            actor=actor, paper=paper, content=f"{text.title}\n\n{text.body}\n\n{signed}".encode(), dated=signature.signed_on,
            filename=f"{paper.code}-{text.version}.txt", title=f"Signed copy, version {text.version} (invented)",
        )  # fmt: skip


@write
def demo_dispatch(actor, code):
    """Dispatch a shipment of the demo on its planned day: the gate answers, and its answer is stored with what was drawn."""
    shipment = Shipment.objects.get(code=code)
    shipment_dispatch(actor=actor, shipment=shipment, on=shipment.planned_on)


@write
def demo_reviews_add(actor):
    """Review a part of the last round: two blocks accepted, one record asked back, one rejected. The rest waits."""
    for item in CensusRound.objects.filter(review_tally__unread__gt=0).order_by("pk"):
        unread = list(Observation.objects.unread().filter(round=item, tree__block__code__in=_REVIEWED_BLOCKS).order_by("tree__walk_number"))
        alive = [record for record in unread if record.status == "A"]
        decided = {ReviewState.ASKED_BACK: ([alive[3]], _ASKED), ReviewState.REJECTED: ([alive[8]], _REJECTED)}
        decided[ReviewState.ACCEPTED] = ([record for record in unread if record not in (alive[3], alive[8])], "")
        for state, (records, reason) in decided.items():
            records_review(actor=actor, observations=records, state=state, reason=reason)


@write
def demo_answers_store(actor):
    """Store what the gate answers about every planned shipment on its planned day."""
    for shipment in Shipment.objects.filter(state=ShipmentState.DRAFT).exclude(planned_on=None).order_by("pk"):
        asked = gate_ask(shipment_question(shipment, shipment.planned_on))
        determination_store(actor=actor, asked=asked, subject=shipment.code, shipment=shipment)
