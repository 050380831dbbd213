"""Whether the outline of a site can be that of a planting, and the point of a tree one of its site."""

LARGEST_HA = 1_000
FARTHEST_M = 2_000
TREE_OUTSIDE_M = 200
_FAR = {
    "boundary": "outside the boundary of the site",
    "site": "from the point of the site",
    "others": "from the middle of the points that came with it, and the site has no place of its own",
}

__all__ = ["outline_doubts", "tree_point_doubt"]


def outline_doubts(area_m2: float, distance_m: float | None) -> list[str]:
    """What is odd about an outline, a sentence each; empty where nothing is.

    Parameters
    ----------
    area_m2 : float
        Area in square metres.
    distance_m : float or None
        Metres from the point of the site to the outline, 0 inside it; None without a point.

    Source
    ------
    Definition of this programme: a planting is smaller than 1,000 ha, and the point of a site is on it or beside it.

    Examples
    --------
    >>> outline_doubts(21_930.0, 0.0)
    []
    >>> outline_doubts(25_000_000.0, None)
    ['This outline has 2,500 ha, more than any planting: the file may be of a county or a forest.']
    """
    doubts = []
    if area_m2 > LARGEST_HA * 10_000:
        doubts.append(f"This outline has {area_m2 / 10_000:,.0f} ha, more than any planting: the file may be of a county or a forest.")
    if distance_m is not None and distance_m > FARTHEST_M:
        doubts.append(f"This outline is {distance_m / 1_000:,.1f} km from the point of the site: it may be that of another site.")
    return doubts


def tree_point_doubt(distance_m: float, of: str) -> str:
    """What is odd about the point of a tree; "" where nothing is.

    Parameters
    ----------
    distance_m : float
        Metres from the point to what it is compared with, 0 inside a boundary.
    of : str
        What that is: "boundary", "site" (its point, without a boundary) or "others" (the middle of the points that came together, where the
        site has neither).

    Source
    ------
    Definition of this programme: a receiver is off by some tens of metres under a canopy at worst, and an outline drawn from a picture by
    as much, so a tree is at most 200 m outside the boundary; without one it is within 2 km of the point of its site, or of the others.

    Examples
    --------
    >>> tree_point_doubt(150.0, "boundary"), tree_point_doubt(1_900.0, "site")
    ('', '')
    >>> tree_point_doubt(3_240.0, "boundary")
    'The point is 3.2 km outside the boundary of the site.'
    """
    if distance_m <= (TREE_OUTSIDE_M if of == "boundary" else FARTHEST_M):
        return ""
    far = f"{distance_m / 1_000:,.1f} km" if distance_m >= 1_000 else f"{distance_m:.0f} m"
    return f"The point is {far} {_FAR[of]}."
