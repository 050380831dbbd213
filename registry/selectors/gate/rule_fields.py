"""The fields of a rule: its page, form, sheet and export and the facts of the gate are built from this table."""

from registry.models import Requirement
from registry.selectors.gate.code_lists import (
    ACTIVITY_CODES,
    CLASS_CODES,
    FORM_CODES,
    PAPER_SETS,
    PLACE_CODES,
    PLACES_HELP,
    TAXON_NAMES,
)
from registry.selectors.gate.declared_fields import DeclaredField

__all__ = ["RULE_DAYS", "RULE_FIELDS", "RULE_FLAGS", "RULE_LISTS", "RULE_PLAIN"]

_RULE, _ABOUT, _ASKS = "The rule", "What it is about (a blank box means all)", "What it requires"

RULE_FIELDS = (
    DeclaredField("code", "Code", _RULE, header="Rule", example="EX-RULE-1", place="head"),
    DeclaredField(
        "edition", "Edition", _RULE, help="Such as the year or the date of the text. A text that changes is a new edition.", example="2026"
    ),
    DeclaredField("title", "Title", _RULE, example="Example rule (invented, not law)", place="head"),
    DeclaredField(
        "text", "What it requires, in our words", _RULE, was=("What it asks for, in our words",),
        help="Only the authority says what is allowed.", place="text"
    ),
    DeclaredField("activities", "Activities", _ABOUT, codes=ACTIVITY_CODES, blank="all", example="dispatch; establish"),
    DeclaredField("classes", "Material classes", _ABOUT, codes=CLASS_CODES, blank="all", example="hybrid-of-donor"),
    DeclaredField("forms", "Forms of material", _ABOUT, header="Forms", codes=FORM_CODES, blank="all"),
    DeclaredField(
        "taxa", "Species or genera", _ABOUT, codes=TAXON_NAMES, blank="all", example="Juglans",
        help="A genus takes in all of it, a species its varieties, and each its hybrids.",
    ),
    DeclaredField("origins", "From places", _ABOUT, codes=PLACE_CODES, help=PLACES_HELP, blank="all", example="outside US-VT"),
    DeclaredField("destinations", "To places", _ABOUT, codes=PLACE_CODES, help=PLACES_HELP, blank="all", example="US-VT"),
    DeclaredField("transits", "By way of", _ABOUT, codes=PLACE_CODES, help=PLACES_HELP, blank="any way"),
    DeclaredField("from_on", "Applies from", _ABOUT, blank="its beginning", example="2026-01-01"),
    DeclaredField("until_on", "Applies until", _ABOUT, blank="further notice"),
    DeclaredField(
        "any_of", "Papers needed", _ASKS, codes=PAPER_SETS,
        help="One line for each paper that is needed, with “or” between types of which one is enough: permit or none_needed. "
        "Left blank, no paper answers it: it is a notice, or it stops what it is about.",
        blank="no paper answers it", example="permit or none_needed; certificate",
    ),
    DeclaredField(
        "blocking", "Stops dispatch and planting", _ASKS, header="Stops dispatch and planting (yes/no)",
        was=("Stops dispatch and establishing (yes/no)",), example="yes"
    ),
    DeclaredField(
        "source", "Source", _RULE, help="Where it was read: the text, its part and its date.", example="invented for this example"
    ),
    DeclaredField("verified_on", "Verified on"),
    DeclaredField("verified_with", "Verified with"),
    DeclaredField("verified_by", "Verified by"),
    DeclaredField("review_by", "Ask again by", was=("To be asked again by",)),
    DeclaredField("is_example", "Example, not law", _RULE, header="Example, not law (yes/no)", example="yes"),
)  # fmt: skip


def _names(*types):
    """Fields of these types in the record that are not lists of codes."""
    return tuple(f.name for f in RULE_FIELDS if not f.codes and Requirement._meta.get_field(f.name).get_internal_type() in types)


RULE_LISTS = tuple(field.name for field in RULE_FIELDS if field.codes)
RULE_DAYS = _names("DateField")
RULE_FLAGS = _names("BooleanField")
RULE_PLAIN = (*_names("CharField", "TextField"), *RULE_FLAGS)
