"""Rules and classes of material that can never take anything in, as they are written: a rule that is silent warns nobody."""

from contextlib import suppress

from registry.calc.shared.screen import list_words
from registry.choices import ClassRule, TaxonRole
from registry.compliance.gate.places import NO, excluded_places
from registry.compliance.shared.name_faults import means_nothing, name_fault
from registry.compliance.shared.taxa import named
from registry.models import MaterialClass, Requirement, Taxon
from registry.selectors.gate.named_places import NamedPlaces

__all__ = ["SilentRules", "class_fault", "silent_rules"]


def class_fault(row):
    """Why a class as it is written takes in nothing, or less than it names, whatever is on file; "" when it does not."""
    return _emptiness(row) or next(filter(None, map(name_fault, row.taxa)), "")


def _emptiness(row):
    if row.rule == ClassRule.TAXON and not row.taxa:
        return "It names no species or genus, so nothing falls into it. Name them."
    if row.rule == ClassRule.FORM and not row.forms:
        return "It names no form, so nothing falls into it. Name one."
    return ""


def _all_mean_nothing(names):
    return bool(names) and all(map(means_nothing, names))


class SilentRules:
    """What is wrong with rules, and what of them concerns nothing on file. Two queries, whatever their number."""

    def __init__(self):
        taxa = list(Taxon.objects.values_list("name", "hybrid_of", "role"))
        self._taxa = [(name, (hybrid_of,) if hybrid_of else ()) for name, hybrid_of, _role in taxa]
        self._has_donor = any(role == TaxonRole.DONOR for _name, _hybrid_of, role in taxa)
        self._classes = {row.code: row for row in MaterialClass.objects.all()}

    def faults(self, rule):
        """What must be corrected for a rule to apply to all it names, as sentences."""
        found = [f"Material class {code}: {why}" for code in rule.classes if (why := self._class_fault(code))]
        found += [f"{list_words(places)}: no place fits, since what is named is also left out." for places in _nowhere(rule)]
        return [*found, *filter(None, map(name_fault, rule.taxa))]

    def is_silent(self, rule):
        """Whether a rule as it is written can never apply."""
        no_class = bool(rule.classes) and all(map(self._takes_nothing_in, rule.classes))
        return no_class or bool(_nowhere(rule)) or _all_mean_nothing(rule.taxa)

    def notes(self, rule):
        """What a rule names that is not on file here, as sentences."""
        rows = [self._classes[code] for code in rule.classes if code in self._classes]
        found = [f"Material class {row.code}: {note}" for row in rows if (note := self.class_note(row))]
        note = self._unmatched(rule.taxa)
        missing = NamedPlaces().missing([*rule.origins, *rule.destinations, *rule.transits])
        return [*found, *([note] if note else ()), *missing]

    def class_note(self, row):
        """What a class names that is not on file here; "" when all of it is."""
        if row.rule == ClassRule.DONOR_ANCESTRY and not (row.taxa or self._has_donor):
            return "No taxon on file is a donor, so nothing falls into it so far."
        return self._unmatched(row.taxa)

    def _takes_nothing_in(self, code):
        row = self._classes.get(code)
        return row is None or bool(_emptiness(row)) or _all_mean_nothing(row.taxa)

    def _class_fault(self, code):
        return class_fault(self._classes[code]) if code in self._classes else "It is not on file. Load or enter it."

    def _unmatched(self, names):
        unmatched = [name for name in names if not any(named((name,), (taxon,), parents) != NO for taxon, parents in self._taxa)]
        if not unmatched:
            return ""
        return f"No taxon on file is {list_words(unmatched)}. Check the spelling; if it is right, nothing here falls under it so far."


def _nowhere(rule):
    """The lists of places of a rule that leave out every place they name."""
    lists = (rule.origins, rule.destinations, rule.transits)
    return [places for places in lists if any(not p.startswith("outside ") for p in places) and _leaves_out_all(places)]


def _leaves_out_all(places):
    with suppress(ValueError):  # a place that cannot be read fits nothing, and the gate says so
        return set(excluded_places(places)) == {place for place in places if not place.startswith("outside ")}
    return False


def silent_rules(on):
    """[(rule, its faults)] of the rules of a day that can never apply as they are written. Three queries."""
    found = SilentRules()
    return [(rule, found.faults(rule)) for rule in Requirement.objects.exclude(until_on__lt=on) if found.is_silent(rule)]
