"""Help: the words, the codes, the definitions, and the parts of the screens."""

from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS, STATUSES
from plantings.calc.census.measurements import ERROR, MEASUREMENTS, PAPER, WARNING
from registry.access import roles
from registry.views.shared.generic import PageView
from registry.views.shared.tables import Column, ledger_table

_COLUMNS = (Column("Code", lambda row: row[0], kind="code"), Column("Meaning", lambda row: row[1]), Column("", lambda row: row[2]))

_ALLOWED = {ERROR: "not allowed", WARNING: "stored, with a question", "": "allowed"}
MEASUREMENT_COLUMNS = (
    Column("Measurement", "label"),
    Column("Values", lambda item: f"{item.range[0]:g} to {item.range[1]:,} {item.unit}" if item.high else ", ".join(map(str, item.codes))),
    Column("How it is taken", "taken"),
    Column("On a tree nobody saw", lambda item: _ALLOWED[item.unseen]),
    Column("On a dead tree", lambda item: _ALLOWED[item.dead]),
    Column("Column of the sheet", "sheet_header"),
    Column("Keyed from the field form", lambda item: "yes" if PAPER in item.places else "no"),
)

GLOSSARY = (
    (
        "Lot",
        "Seed or plants of one origin, kept together: a mother's harvest of one year and orchard state, a bulk, or material from outside.",
    ),
    ("Stock lot", "Plants raised from a seed lot."),
    ("Bulk lot", "Several lots mixed. From then on the mother of its trees is “bulk” and is never guessed."),
    ("Mother tree", "The tree a seed was picked from. It stays in the book when it is rogued: its descendants still point at it."),
    ("Pollen pool", "The father of an open-pollinated lot: what stood and flowered in one orchard block in one year."),
    ("Family", "Progeny of one mother and one father, pool or pollination; an open-pollinated family is not a family of full sibs."),
    ("Source of resistance", "The donor-derived ancestor through which resistance came."),
    ("Recurrent line", "The descent of one native parent within a source."),
    (
        "Generation",
        "Backcrosses and intercrosses after the first hybrid, written F1, B1 … B3F2, B3F3. "
        "The expected native share is the average of a generation; no single tree is promised it.",
    ),
    ("Lineage", "Lot, mother tree, family, source of resistance, recurrent line or generation: the level a table compares at."),
    ("Entry", "One lot in one role in a planting."),
    (
        "Role",
        "Test or check (counted in survival), buffer or filler (never counted). A replacement is a filler: the dead original stays dead.",
    ),
    ("Growing seasons completed", "The age every table compares at. Equal ages are compared."),
    ("Round", "One yearly visit to a planting."),
    ("Receipt", "The receiver's own record of what arrived. A shipment without one is an open question, not delivered."),
    ("Leftover", "What was received and not planted: returned, destroyed or still held."),
    ("Volunteer (person)", "Somebody who helps. A seedling that came up by itself is called self-sown."),
    (
        "Test material",
        "Restricted material: test material, not for sale or gift. Check with the local authority what applies to it where you are.",
    ),
)

DEFINITIONS = (
    "Survival = alive ÷ (planted as test or check − removed for non-biological reasons), "
    "with its count and a 95 % Wilson interval. Under 10 trees the count leads.",
    "The band beside it runs from “all unaccounted trees are dead” to “all are alive”. "
    "Unaccounted are: not found, position not located, not visited.",
    "A tree seen alive at a later round was alive at every earlier one: the later sighting settles what an earlier record said.",
    "Not found at two rounds running: presumed dead from the first of them, counted apart, and reversed when the tree is seen again. "
    "A round between them in which nobody looked at the position breaks the run.",
    "Position not located and not visited never become dead by rule.",
    "Dead stays dead until the tree is seen alive again (a resprout, or an earlier error).",
    "Where several sites are pooled, trees of one site are alike; the interval counts sites, not trees, as the independent pieces.",
)


class HelpView(PageView):
    action = "help.view"
    template_name = "plantings/overview/help.html"
    title = "Help"
    question = "What do the words and codes mean, and how is each number made?"

    def get_page(self):
        user = self.request.user
        links = (
            ("import.run", "Load a sheet", "sheet_list"),
            ("person.view", "People and accounts", "person_list"),
            ("audit.view", "Who changed what", "audit_list"),
            ("boundary.edit", "Boundary layers", "boundary_list"),
            ("help.view", "The parts of the screens", "help_parts"),
        )
        return {
            "links": [(label, route) for action, label, route in links if user.may(action)],
            "glossary": GLOSSARY,
            "definitions": DEFINITIONS,
            "tables": [
                ledger_table("Status of a tree at a round", _COLUMNS, STATUSES, unit="codes"),
                ledger_table("Causes of death", _COLUMNS, CAUSES_OF_DEATH, unit="codes"),
                ledger_table(
                    "Reasons of removal",
                    _COLUMNS,
                    [
                        (code, label, "stays in the denominator" if biological else "leaves the denominator")
                        for code, label, biological in REMOVAL_REASONS
                    ],
                    unit="codes",
                ),
                ledger_table("What is measured or looked for at a tree", MEASUREMENT_COLUMNS, MEASUREMENTS, unit="measurements"),
                *(
                    ledger_table(f"{item.label}: the classes", _COLUMNS, item.classes, unit="codes")
                    for item in MEASUREMENTS
                    if item.classes
                ),
            ],
            "roles": [
                (label, sorted(action for action in roles.ACTIONS if roles.may(role, action))) for role, label in roles.ROLES.items()
            ],
        }


class PartsView(PageView):
    action = "help.view"
    template_name = "registry/shared/parts.html"
    title = "The parts of the screens"
