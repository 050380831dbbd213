"""Help: the words, the codes, the definitions, and the parts of the screens."""

from plantings.calc.arrival.check_words import check_words
from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS, STATUSES
from plantings.calc.census.measurements import ERROR, FIELD_FORM, MEASUREMENTS, WARNING
from plantings.calc.lifetimes.words import lifetime_definitions
from plantings.calc.lineages.words import lineage_definitions
from plantings.calc.survival.words import definitions
from plantings.selectors.census.asked import own_measurements
from plantings.selectors.census.limits import check_limits
from plantings.views.overview.glossary import GLOSSARY
from plantings.views.overview.phone_help import PHONE_HELP
from plantings.views.overview.what_to_do import WHAT_TO_DO
from registry.access import roles
from registry.access.action_words import ACTION_WORDS, SECTIONS
from registry.choices import ProgrammeKey
from registry.selectors.people.programme import setting
from registry.views.shared.details import PageView
from registry.views.shared.tables import Column, ledger_table

_COLUMNS = (Column("Code", "0", kind="code"), Column("Meaning", "1"), Column("Explanation", "2", wide=True))
_CHECK_COLUMNS = (Column("Check", "0"), Column("A record is listed for review when", "1", wide=True))
_ALLOWED = {ERROR: "refused", WARNING: "saved, with a warning", "": "allowed"}
_MEASUREMENT_COLUMNS = (
    Column("Measurement", "label"),
    Column("Values", lambda item: f"{item.range[0]:g} to {item.range[1]:,} {item.unit}" if item.high else ", ".join(map(str, item.codes))),
    Column("How it is taken", "taken", wide=True),
    Column("On a tree nobody saw", lambda item: _ALLOWED[item.unseen]),
    Column("On a dead tree", lambda item: _ALLOWED[item.dead]),
    Column("Column of the sheet", "sheet_header"),
    Column("On the field form", lambda item: "yes" if FIELD_FORM in item.places else "no"),
)
_OWN_COLUMNS = (
    *_MEASUREMENT_COLUMNS[:3], Column("From growing season", "from_season", "right"), Column("Column of the sheet", "sheet_header"),
)  # fmt: skip


def role_words(role):
    """What a role may do: [(section of the bar, a sentence)]."""
    lines = []
    for section in SECTIONS:
        texts = [text for action, (where, text) in ACTION_WORDS.items() if where == section and roles.may(role, action)]
        if texts:
            lines.append((section, f"{'; '.join(texts).capitalize()}."))
    return lines


class HelpView(PageView):
    action = "help.view"
    template_name = "plantings/overview/help.html"
    title = "Help"
    question = "What do the words and codes mean, and how is each number made?"

    def get_page(self):
        user, own = self.user, own_measurements()
        links = (
            ("import.run", "Load a sheet", "sheet_list"),
            ("person.view", "People and accounts", "person_list"),
            ("audit.view", "Who changed what", "audit_list"),
            ("boundary.edit", "Boundary layers", "boundary_list"),
        )
        return {
            "links": [(label, route) for action, label, route in links if user.may(action)],
            "glossary": GLOSSARY,
            "phone": PHONE_HELP,
            "what_to_do": WHAT_TO_DO,
            "definitions": definitions(complete_percent=setting(ProgrammeKey.COMPLETE_PERCENT)),
            "lineages": lineage_definitions(),
            "lifetimes": lifetime_definitions(),
            "tables": [
                ledger_table("Status of a tree at a round", _COLUMNS, STATUSES, unit="codes"),
                ledger_table("What makes a census record odd when it arrives", _CHECK_COLUMNS, check_words(check_limits()), unit="checks"),
                ledger_table("Causes of death", _COLUMNS, CAUSES_OF_DEATH, unit="codes"),
                ledger_table(
                    "Reasons of removal",
                    _COLUMNS,
                    [
                        (code, label, "counted as not alive" if biological else "left out of survival")
                        for code, label, biological in REMOVAL_REASONS
                    ],
                    unit="codes",
                ),
                ledger_table("What is measured or looked for at a tree", _MEASUREMENT_COLUMNS, MEASUREMENTS, unit="measurements"),
                *([ledger_table("The programme's own measurements", _OWN_COLUMNS, own, unit="measurements")] if own else []),
                *(
                    ledger_table(f"{item.label}: the classes", _COLUMNS, item.classes, unit="codes")
                    for item in (*MEASUREMENTS, *own)
                    if item.classes
                ),
            ],
            "roles": [(label, role_words(role)) for role, label in roles.ROLES.items()],
        }
