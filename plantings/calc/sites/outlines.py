"""Whether the outline of a site can be that of a planting."""

LARGEST_HA = 1_000
FARTHEST_M = 2_000

__all__ = ["outline_doubts"]


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
