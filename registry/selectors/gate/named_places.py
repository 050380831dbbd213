"""Sites, partners and areas of layers that rules and papers name by a code: as it is written on file, or not on file at all.

A code in other letters than those on file matches nothing, so a rule that has it would be silent.
"""

from registry.compliance.gate.places import read_pattern
from registry.models import Partner
from registry.selectors.movements.site_land import area_code, site_land

__all__ = ["NamedPlaces"]


def _site_code(code):
    land = site_land(code)
    return land.place.site if land else ""


def _partner_code(code):
    codes = Partner.objects.values_list("code", flat=True)
    return codes.filter(code=code).first() or codes.filter(code__iexact=code).first() or ""


_FINDERS = {"site": _site_code, "partner": _partner_code, "area": area_code}


class NamedPlaces:
    """The codes on file of what places name, each looked up once."""

    def __init__(self):
        self._found = {}

    def as_on_file(self, pattern):
        """A place with its code as it is written on file; as it is typed where no such record is on file, and for any other place."""
        field, _code, found = self._look_up(pattern)
        return f"{'outside ' if pattern.startswith('outside ') else ''}{field}:{found}" if found else pattern

    def missing(self, patterns):
        """Sentences for the places among these whose site, partner or area is not on file."""
        looked_up = {self._look_up(pattern) for pattern in patterns}
        return [
            f"No {field} {code} is on file. Check the code: so far this fits no place here."
            for field, code, found in sorted(looked_up)
            if field and not found
        ]

    def _look_up(self, pattern):
        """(field, code as typed, code on file or ""), with field "" for a place that no record of ours names."""
        try:
            _outside, field, code, _county = read_pattern(pattern)
        except ValueError:  # it fits nothing, and the gate says so
            return "", "", ""
        if field not in _FINDERS:
            return "", "", ""
        if (field, code) not in self._found:
            self._found[field, code] = _FINDERS[field](code)
        return field, code, self._found[field, code]
