"""How many lots in question a survival table includes."""

from plantings.models import PlantingEntry

__all__ = ["lots_doubtful"]


def lots_doubtful(user, limits):
    """How many lots in question a survival table with these limits includes. One query; 0 for people who may not see questions."""
    if not user.may("identity.view"):
        return 0
    entries = limits.narrow(PlantingEntry.objects.for_user(user).filter(role__in=limits.roles, tallies__isnull=False), "planting__site")
    doubtful = entries.filter(lot__questions__isnull=False, lot__questions__settled_on__isnull=True)
    return doubtful.order_by().values("lot").distinct().count()
