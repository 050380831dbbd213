"""The permission table: which role may do which action. Reviewed like a contract.

An action that is not listed for a role is refused (403). Which *rows* a role may touch is the other
half, declared on each record type as SCOPE (see `scoping.py`).
"""

from types import MappingProxyType

from registry.calc.shared.marked import gettext_noop

LEAD = "lead"
COORDINATOR = "coordinator"
MANAGER = "manager"
VOLUNTEER = "volunteer"
LANDOWNER = "landowner"
AUDITOR = "auditor"

ROLES = MappingProxyType(
    {
        LEAD: gettext_noop("Programme lead"),
        COORDINATOR: gettext_noop("Coordinator"),
        MANAGER: gettext_noop("Orchard or nursery manager"),
        VOLUNTEER: gettext_noop("Volunteer (person)"),
        LANDOWNER: gettext_noop("Landowner contact"),
        AUDITOR: gettext_noop("Auditor"),
    }
)

# The groups of the table. Other modules name a group, or the action it is about; they list no roles of their own.
STAFF = frozenset({LEAD, COORDINATOR})
OFFICE = STAFF | {MANAGER}
READERS = OFFICE | {AUDITOR}
OWN_ROWS_ONLY = frozenset({VOLUNTEER, LANDOWNER})  # they see what is near them: their crews, their land
# who acts on a task of the office, and of the orchard: the first of these roles that somebody active holds
OFFICE_ACTS, ORCHARD_ACTS = (COORDINATOR, LEAD), (MANAGER, LEAD)
EVERYONE = frozenset(ROLES)
FIRST_CONTACT = (COORDINATOR, LEAD)  # whom a landowner can ask, the first who is active

ACTIONS = MappingProxyType(
    {
        "today.view": EVERYONE,
        "help.view": EVERYONE,
        "code.find": EVERYONE,
        "trace.view": READERS,
        "taxon.view": READERS,
        "taxon.edit": OFFICE,
        "pedigree.view": READERS,
        "pedigree.edit": OFFICE,
        "orchard.view": READERS,
        "status.enter": OFFICE,
        "rating.enter": OFFICE,
        "decision.enter": OFFICE,
        "share.enter": OFFICE,
        "identity.view": READERS,
        "evidence.enter": OFFICE,
        "question.raise": OFFICE,
        "question.settle": STAFF,
        "lot.view": READERS,
        "lot.edit": OFFICE,
        "lot.close": OFFICE,
        "ledger.enter": OFFICE,
        "seedtest.enter": OFFICE,
        "treatment.enter": OFFICE,
        "storage.enter": OFFICE,
        "handbook.view": READERS,
        "handbook.edit": OFFICE,
        "growing.view": READERS,
        "print.make": OFFICE,
        "issued.view": READERS,
        "setting.view": READERS,
        "setting.edit": frozenset({LEAD}),
        "partner.view": READERS | {LANDOWNER},
        "partner.contact": STAFF | {AUDITOR, LANDOWNER},
        "partner.edit": STAFF,
        "shipment.view": READERS | {LANDOWNER},
        "shipment.edit": OFFICE,
        "shipment.dispatch": STAFF,
        "receipt.enter": STAFF | {LANDOWNER},
        "receipt.take_back": STAFF,
        "leftover.enter": STAFF,
        "authorization.view": READERS,
        "authorization.edit": STAFF,
        "document.view": STAFF | {AUDITOR},
        "rule.view": READERS,
        "rule.edit": STAFF,
        "rule.verify": STAFF,
        "gate.ask": OFFICE | {AUDITOR},
        "gate.override": frozenset({LEAD}),
        "determination.view": READERS,
        "duty.view": READERS | {VOLUNTEER},
        "duty.edit": STAFF,
        "duty.done": OFFICE | {VOLUNTEER},
        "incident.view": READERS,
        "incident.enter": OFFICE,
        "job.view": READERS,
        "calendar.feed": READERS | {VOLUNTEER},
        "permitfile.view": STAFF | {AUDITOR},
        "link.edit": STAFF,
        "landnotice.view": READERS,
        "landnotice.edit": STAFF,
        "caution.view": EVERYONE,
        "caution.edit": STAFF,
        "site.view": EVERYONE,
        "site.edit": STAFF,
        "planting.view": EVERYONE,
        "planting.edit": STAFF,
        "tree.view": EVERYONE,
        "tree.edit": STAFF,
        "tree.lot": READERS | {LANDOWNER},
        "round.view": EVERYONE,
        "round.edit": STAFF,
        "protocol.view": READERS,
        "protocol.edit": frozenset({LEAD}),
        "census.enter": STAFF | {VOLUNTEER},
        "observation.correct": STAFF,
        "observation.review": STAFF,
        "second.view": READERS | {VOLUNTEER},
        "second.draw": frozenset({LEAD}),
        "survival.view": READERS | {LANDOWNER},
        "survival.data": READERS,
        "report.view": READERS,
        "report.issue": frozenset({LEAD}),
        "map.view": EVERYONE,
        "map.exact": STAFF | {AUDITOR},
        "boundary.edit": STAFF,
        "import.run": OFFICE,
        "person.view": STAFF,
        "person.edit": STAFF,
        "lead.edit": frozenset({LEAD}),
        "token.view": STAFF,
        "token.edit": frozenset({LEAD}),
        "audit.view": STAFF | {AUDITOR},
        "book.export": frozenset({LEAD}),
    }
)


def may(role, action):
    """True when `role` may do `action`. An unknown role may do nothing; an unknown action is a programming error."""
    return role in ACTIONS[action]
