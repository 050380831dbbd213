"""Where a site lies, on whose land, what is planted there and under which papers. Sites and plantings are records of the plantings app,
which registers here how they are found."""

from dataclasses import dataclass

from registry.compliance.gate.facts import Place
from registry.models import Partner

__all__ = ["SiteLand", "area_code", "find_areas_by", "find_plantings_by", "find_sites_by", "papers_of_plantings", "planted_at", "site_land"]


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


_areas = []


def find_areas_by(finder):
    """Register the function that gives the code of an area as its layer writes it, or ""."""
    _areas[:] = [finder]


def area_code(code):
    """The code of an area of an added layer as the layer writes it; "" when no layer has it."""
    return next((finder(code) for finder in _areas), "")


_plantings = []


def find_plantings_by(lots_at, papers_of):
    """Register two functions: keys of the lots planted at the site of a code, and of the papers attached to plantings of some lots."""
    _plantings[:] = [(lots_at, papers_of)]


def planted_at(code):
    """Keys of the lots planted at a site."""
    return next((lots_at(code) for lots_at, _papers_of in _plantings), set())


def papers_of_plantings(lots):
    """Keys of the papers attached to plantings of lots by their keys."""
    return next((papers_of(lots) for _lots_at, papers_of in _plantings), set())
