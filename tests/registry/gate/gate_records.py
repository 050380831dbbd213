"""Rules, papers, lots and drafts of shipments for the tests of the gate."""

from datetime import date

from registry.models import (
    MaterialClass,
    Requirement,
)
from tests import factories

DAY = date(2026, 4, 6)


def hybrid_lot(lead, seeds=2000, **fields):
    """Seed of a mother whose father is a donor tree."""
    donor = factories.taxon(name="Juglans ailantifolia", role="donor")
    father = factories.pedigree_tree(taxon=donor, generation_other="donor")
    mother = factories.pedigree_tree(father=father, **fields)
    return factories.seed_lot(actor=lead, seeds=seeds, mother=mother)


def rule(**fields):
    values = {
        "code": "EX-R1", "edition": "2026", "title": "Hybrids into Vermont", "source": "invented for this test", "activities": ["dispatch"],
        "classes": ["hybrid"], "destinations": ["US-VT"], "any_of": [["permit"]], "verified_on": date(2026, 1, 1),
        "verified_with": "office", "verified_by": "us",
    } | fields  # fmt: skip
    MaterialClass.objects.get_or_create(code="hybrid", defaults={"title": "Hybrid of a donor", "rule": "donor_ancestry"})
    return Requirement.objects.create(**values)


def permit(lead, limits=None, with_document=True, **fields):
    from registry.services.permits.authorizations import document_add

    values = {"actor": lead, "state": "in_force", "starts_on": date(2026, 1, 1), "ends_on": date(2026, 12, 31)} | fields
    paper = factories.authorization(limits={"destinations": ["US-VT"]} | (limits or {}), **values)
    if with_document:
        document_add(actor=lead, paper=paper, content=f"%PDF-1.7 {paper.code}".encode(), filename="permit.pdf", title="Permit")
    return paper


def draft(lead, lot, quantity=100, **fields):
    receiver = factories.partner(kind="nursery", region="US-VT")
    values = {"receiver": receiver, "receiving_person": "A. Receiver"} | fields
    return factories.shipment(actor=lead, lots=[(lot, "seed", quantity)], **values)
