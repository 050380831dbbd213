"""Which county of the United States a point lies in, from the shipped outlines.

The outlines are generalised like those of the states (see `plantings/boundaries/SOURCE.md`), so a point within 1 km of another county
may be in it, and the answer names that one too. Outside the United States no county is found: somebody types it.
"""

import csv
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from plantings.maps.jurisdiction import BOUNDARIES, AreaNear, JurisdictionLayer, areas_near, read_shipped, whole_parts

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

COUNTY = "county"
NEAR_COUNTY_M = 1000.0  # about three times the rounding of the outlines; at 2 km a third of all points would be in doubt
LAYER_WORDS = "US counties, Census Bureau 2017"
_FIRST_CITY = 500  # FIPS: county codes from 510 on are cities that belong to no county


@dataclass(frozen=True, slots=True)
class County:
    """Answer for one point.

    Parameters
    ----------
    name : str
        “” where no county is found.
    near : tuple of str
        Place patterns (“US-VT/Addison”) of the other counties within 1 km.
    note : str
        How it was found; “” where it was not.
    """

    name: str = ""
    near: tuple[str, ...] = ()
    note: str = ""


def find_counties(points: Sequence[tuple[float, float]], states: Sequence[str]) -> list[County]:
    """The county of each point, in the order given.

    Parameters
    ----------
    points : (longitude, latitude) pairs, degrees, WGS 84.
    states : for each point the state it is taken to lie in (“US-VT”); a county of another state is never the answer.

    Returns
    -------
    list of County, as long as `points`.
    """
    wanted = [place for place, state in enumerate(states) if state.startswith("US")]
    found = areas_near([points[place] for place in wanted], [county_layer()]) if wanted else {}
    answers = {place: _decide(found.get(number, []), states[place]) for number, place in enumerate(wanted)}
    return [answers.get(place, County()) for place in range(len(points))]


def _decide(areas: list[AreaNear], state: str) -> County:
    own = next((area for area in areas if _label(area).startswith(f"{state}/")), None)
    close = [area for area in areas if area.distance_m <= NEAR_COUNTY_M]
    near = tuple(dict.fromkeys(_label(area) for area in close if own is None or _label(area) != _label(own)))
    if own is None:
        return County(near=near)
    how = "inside" if own.distance_m == 0 else f"{own.distance_m:.0f} m outside the drawn line"
    others = f" Within 1 km of {', '.join(near)}: check on which side of the line it is." if near else ""
    return County(own.name, near, f"{how}: {own.name} ({LAYER_WORDS}).{others}")


def _label(area: AreaNear) -> str:
    return area.code or ""


@cache
def county_layer() -> JurisdictionLayer:
    """The counties, parishes, boroughs and cities of the United States as shipped; read once per process.

    Returns
    -------
    JurisdictionLayer
        `code` is a place pattern such as “US-VT/Chittenden”.
    """
    return JurisdictionLayer(LAYER_WORDS, COUNTY, _frame())


def _frame() -> "GeoDataFrame":
    with (BOUNDARIES / "codes.csv").open(encoding="utf-8", newline="") as handle:
        states = {row["source_id"]: row["code"] for row in csv.DictReader(handle) if row["layer"] == "us-states"}
    frame = read_shipped("us-counties-10m.json.gz", "counties")
    of_name = Counter(zip(frame["id"].str[:2], frame["name"], strict=True))
    frame["name"] = [
        f"{name} city" if of_name[number[:2], name] > 1 and int(number[2:]) >= _FIRST_CITY else name
        for number, name in zip(frame["id"], frame["name"], strict=True)
    ]
    frame["code"] = [f"{states[number[:2]]}/{name}" for number, name in zip(frame["id"], frame["name"], strict=True)]
    return whole_parts(frame)
