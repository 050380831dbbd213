"""The permission table: which role may do which action. Reviewed like a contract.

An action that is not listed for a role is refused (403). Which *rows* a role may touch is the other
half, declared on each record type as SCOPE (see `scoping.py`).
"""

from types import MappingProxyType

LEAD = "lead"
COORDINATOR = "coordinator"
MANAGER = "manager"
VOLUNTEER = "volunteer"
LANDOWNER = "landowner"
AUDITOR = "auditor"

ROLES = MappingProxyType(
    {
        LEAD: "Programme lead",
        COORDINATOR: "Coordinator",
        MANAGER: "Orchard or nursery manager",
        VOLUNTEER: "Volunteer (person)",
        LANDOWNER: "Landowner contact",
        AUDITOR: "Auditor",
    }
)

_STAFF = frozenset({LEAD, COORDINATOR})
_OFFICE = _STAFF | {MANAGER}
_READERS = _OFFICE | {AUDITOR}
_EVERYONE = frozenset(ROLES)

ACTIONS = MappingProxyType(
    {
        "today.view": _EVERYONE,
        "help.view": _EVERYONE,
        "code.find": _EVERYONE,
        "trace.view": _READERS,
        "taxon.view": _READERS,
        "taxon.edit": _OFFICE,
        "pedigree.view": _READERS,
        "pedigree.edit": _OFFICE,
        "orchard.view": _READERS,
        "status.enter": _OFFICE,
        "rating.enter": _OFFICE,
        "decision.enter": _OFFICE,
        "share.enter": _OFFICE,
        "identity.view": _READERS,
        "evidence.enter": _OFFICE,
        "question.raise": _OFFICE,
        "question.settle": _STAFF,
        "lot.view": _READERS,
        "lot.edit": _OFFICE,
        "lot.close": _OFFICE,
        "ledger.enter": _OFFICE,
        "seedtest.enter": _OFFICE,
        "treatment.enter": _OFFICE,
        "storage.enter": _OFFICE,
        "handbook.view": _READERS,
        "handbook.edit": _OFFICE,
        "growing.view": _READERS,
        "paper.issue": _OFFICE,
        "issued.view": _READERS,
        "setting.view": _READERS,
        "setting.edit": frozenset({LEAD}),
        "partner.view": _READERS | {LANDOWNER},
        "partner.contact": _STAFF | {AUDITOR, LANDOWNER},
        "partner.edit": _STAFF,
        "shipment.view": _READERS | {LANDOWNER},
        "shipment.edit": _OFFICE,
        "shipment.dispatch": _STAFF,
        "receipt.enter": _STAFF | {LANDOWNER},
        "leftover.enter": _STAFF,
        "authorization.view": _READERS,
        "authorization.edit": _STAFF,
        "document.view": _STAFF | {AUDITOR},
        "rule.view": _READERS,
        "rule.edit": _STAFF,
        "rule.verify": _STAFF,
        "gate.ask": _OFFICE | {AUDITOR},
        "gate.override": frozenset({LEAD}),
        "determination.view": _READERS,
        "duty.view": _READERS | {VOLUNTEER},
        "duty.edit": _STAFF,
        "duty.done": _OFFICE | {VOLUNTEER},
        "incident.view": _READERS,
        "incident.enter": _OFFICE,
        "calendar.feed": _READERS | {VOLUNTEER},
        "permitfile.view": _STAFF | {AUDITOR},
        "link.edit": _STAFF,
        "landnotice.view": _READERS,
        "landnotice.edit": _STAFF,
        "caution.view": _EVERYONE,
        "caution.edit": _STAFF,
        "site.view": _EVERYONE,
        "site.edit": _STAFF,
        "planting.view": _EVERYONE,
        "planting.edit": _STAFF,
        "tree.view": _EVERYONE,
        "tree.edit": _STAFF,
        "round.view": _EVERYONE,
        "round.edit": _STAFF,
        "census.enter": _STAFF | {VOLUNTEER},
        "observation.correct": _STAFF,
        "survival.view": _READERS | {LANDOWNER},
        "map.view": _EVERYONE,
        "map.exact": _STAFF | {AUDITOR},
        "boundary.edit": _STAFF,
        "import.run": _OFFICE,
        "person.view": _STAFF,
        "person.edit": _STAFF,
        "lead.edit": frozenset({LEAD}),
        "audit.view": _STAFF | {AUDITOR},
    }
)


def may(role, action):
    """True when `role` may do `action`. An unknown role may do nothing; an unknown action is a programming error."""
    return role in ACTIONS[action]
