"""Help: the words, the codes, the definitions, and the parts of the screens."""

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.arrival.check_words import check_words
from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS, STATUSES
from plantings.calc.census.measurements import ERROR, FIELD_FORM, MEASUREMENTS, WARNING
from plantings.calc.growth.words import growth_definitions
from plantings.calc.lifetimes.words import lifetime_definitions
from plantings.calc.lineages.definitions import lineage_definitions
from plantings.calc.survival.formulas import survival_formulas
from plantings.calc.survival.words import definitions
from plantings.selectors.census.asked import own_measurements, said_of
from plantings.selectors.census.limits import check_limits
from plantings.views.overview.glossary import GLOSSARY
from plantings.views.overview.load_help import LOAD_HELP
from plantings.views.overview.mapping_help import COMBINED_HELP, MAPPING_HELP, MAPPING_PARTS
from plantings.views.overview.phone_help import PHONE_HELP
from plantings.views.overview.program_help import program_help
from plantings.views.overview.what_to_do import what_to_do
from registry.access import roles
from registry.access.action_words import ACTION_WORDS, SECTIONS
from registry.choices import ProgrammeKey
from registry.selectors.people.programme import setting
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_number
from registry.views.shared.details import PageView
from registry.views.shared.tables import Column, ledger_table

_COLUMNS = (
    Column(_("Code"), "0", kind="code"),
    Column(_("Meaning"), "1"),
    Column(_("Explanation"), "2", wide=True),
)
_CHECK_COLUMNS = (
    Column(_("Check"), lambda line: local_text(line[0])),
    Column(_("A record is listed for review when"), lambda line: local_text(line[1]), wide=True),
)
_ALLOWED = {ERROR: _("refused"), WARNING: _("saved, with a warning"), "": _("allowed")}
_MEASUREMENT_COLUMNS = (
    Column(_("Measurement"), lambda item: said_of(item, local_text(item.label))),
    Column(_("Values"), lambda item: _range_words(item) if item.high else ", ".join(map(str, item.codes))),
    Column(_("How it is taken"), lambda item: said_of(item, local_text(item.taken)), wide=True),
    Column(_("On a tree nobody saw"), lambda item: _ALLOWED[item.unseen]),
    Column(_("On a dead tree"), lambda item: _ALLOWED[item.dead]),
    Column(_("Column of the sheet"), "sheet_header"),
    Column(_("On the field form"), lambda item: _("yes") if FIELD_FORM in item.places else _("no")),
)
_OWN_COLUMNS = (
    *_MEASUREMENT_COLUMNS[:3], Column(_("From growing season"), "from_season", "right"), Column(_("Column of the sheet"), "sheet_header"),
)  # fmt: skip


def _coded(codes):
    return [(code, local_text(label), local_text(meaning)) for code, label, meaning in codes]


def _in_words(definitions):
    return [(local_text(term), local_text(words)) for term, words in definitions]


def _range_words(item):
    words = {"low": local_number(f"{item.range[0]:g}"), "high": local_number(f"{item.range[1]:,}"), "unit": local_text(item.unit)}
    return _("%(low)s to %(high)s %(unit)s") % words


def sorted_words(glossary):
    """A glossary in the order of the alphabet, in the language of the reader."""
    return sorted(((str(word), meaning) for word, meaning in glossary), key=lambda line: line[0].casefold())


def role_words(role):
    """What a role may do: [(section of the bar, a sentence)]."""
    lines = []
    for section in SECTIONS:
        texts = [text for action, (where, text) in ACTION_WORDS.items() if where == section and roles.may(role, action)]
        if texts:
            lines.append((gettext(section), f"{'; '.join(map(gettext, texts)).capitalize()}."))
    return lines


class HelpView(PageView):
    action = "help.view"
    template_name = "plantings/overview/help.html"
    title = _("Help")
    question = _("What do the words and codes mean, and how is each number made?")

    def roles_shown(self):
        """All roles for those who work with all of them; a volunteer and a landowner read what they may do themselves."""
        own_only = self.user.role in roles.OWN_ROWS_ONLY
        return [(role, label) for role, label in roles.ROLES.items() if not own_only or role == self.user.role]

    def get_page(self):
        user, own = self.user, own_measurements()
        may_load = user.may("import.run")  # sheets are loaded by the office alone
        percent = setting(ProgrammeKey.COMPLETE_PERCENT)
        lists = (
            ("numbers", _("How every number is made"), _in_words((*definitions(complete_percent=percent), *survival_formulas()))),
            ("lineages", _("How lineages are compared"), _in_words(lineage_definitions())),
            ("lifetimes", _("How life tables are made"), _in_words(lifetime_definitions())),
            ("growth", _("How growth is worked out"), _in_words(growth_definitions())),
            ("programs", _("How a program reads the results"), program_help() if user.may("survival.view") else ()),
            ("phone", _("The census on a phone"), PHONE_HELP),
            ("words", _("Words"), sorted_words(GLOSSARY)),
            ("what-to-do", _("What to do"), what_to_do()),
            ("loads", "Loading a sheet", LOAD_HELP if may_load else ()),
        )
        shown = [part for part in lists if part[2]]
        after = [*([("mapping", "A mapping of columns")] if may_load else []), ("codes", _("Codes")), ("roles", _("Who may do what"))]
        links = (
            ("import.run", "Load a sheet", "sheet_list"),
            ("person.view", "People and accounts", "person_list"),
            ("audit.view", "Who changed what", "audit_list"),
            ("boundary.edit", "Boundary layers", "boundary_list"),
            ("book.export", "Export all records", "book_export"),
        )
        return {
            "links": [(label, route) for action, label, route in links if user.may(action)],
            "contents": [(id_, title) for id_, title, _lines in shown] + after,
            "lists": shown,
            "mapping": [*MAPPING_HELP, *MAPPING_PARTS, *COMBINED_HELP] if may_load else (),
            "tables": [
                ledger_table(_("Status of a tree at a round"), _COLUMNS, _coded(STATUSES), unit="codes"),
                ledger_table(
                    _("What makes a census record odd when it arrives"), _CHECK_COLUMNS, check_words(check_limits()), unit="checks"
                ),
                ledger_table(_("Causes of death"), _COLUMNS, _coded(CAUSES_OF_DEATH), unit="codes"),
                ledger_table(
                    _("Reasons of removal"),
                    _COLUMNS,
                    [
                        (code, gettext(label), _("counted as not alive") if biological else _("left out of survival"))
                        for code, label, biological in REMOVAL_REASONS
                    ],
                    unit="codes",
                ),
                ledger_table(_("What is measured or looked for at a tree"), _MEASUREMENT_COLUMNS, MEASUREMENTS, unit="measurements"),
                *([ledger_table(_("The programme's own measurements"), _OWN_COLUMNS, own, unit="measurements")] if own else []),
                *(
                    ledger_table(
                        _("%(what)s: the classes") % {"what": local_text(item.label)},
                        _COLUMNS,
                        [(code, said_of(item, local_text(label)), local_text(meaning)) for code, label, meaning in item.classes],
                        unit="codes",
                    )
                    for item in (*MEASUREMENTS, *own)
                    if item.classes
                ),
            ],
            "roles": [(gettext(label), role_words(role)) for role, label in self.roles_shown()],
        }
