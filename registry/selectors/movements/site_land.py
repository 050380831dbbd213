"""Where a site lies and on whose land. Sites are records of the plantings app, which registers here how they are found."""

from dataclasses import dataclass

from registry.compliance.gate.facts import Place
from registry.models import Partner

__all__ = ["SiteLand", "find_sites_by", "site_land"]


@dataclass(frozen=True, slots=True)
class SiteLand:
    place: Place
    partner: Partner


_finders = []


def find_sites_by(finder):
    """Register the function that gives the `SiteLand` of a site's code, or None; called once, when the plantings are set up."""
    _finders[:] = [finder]


def site_land(code):
    """The place of a site and its partner; None when there is no site of this code."""
    return next((found for finder in _finders if code and (found := finder(code))), None)
