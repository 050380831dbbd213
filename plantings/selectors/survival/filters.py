"""What the figures of results are limited to: one rule for every page, print and file of them."""

from dataclasses import asdict, dataclass

from django.utils.translation import gettext_noop

from plantings.calc.survival.groups import ROLES_COUNTED
from plantings.models import CauseTally, Planting
from registry.selectors.shared.held_answers import are_held

__all__ = ["NOT_KNOWN", "NO_PROTECTION", "REVIEWED", "UNREVIEWED", "SurvivalFilter", "within"]

NOT_KNOWN = gettext_noop("not known")
NO_PROTECTION = "none"
REVIEWED, UNREVIEWED = "accepted", "unread"


@dataclass(frozen=True, slots=True)
class SurvivalFilter:
    """What the figures are limited to; empty means no limit.

    `site`, `planting` and `jurisdiction` are codes, the first and the last also several as a tuple; `role` is test or check. `within` is
    (level, label): only trees under test of that lineage, and `generation` does the same besides. `open_rounds` takes in rounds that are
    still open or thinly visited. `protection` is a part of what is on file of a site, or `NO_PROTECTION`; `cause` limits to plantings
    where a tree under test or a check died or was removed for it; `review` to rounds with every record accepted (`REVIEWED`), or not.
    """

    site: str | tuple[str, ...] = ""
    jurisdiction: str | tuple[str, ...] = ""
    role: str = ""
    within: tuple[str, str] | None = None
    open_rounds: bool = False
    planting: str = ""
    generation: str = ""
    protection: str = ""
    cause: str = ""
    review: str = ""

    def narrow(self, queryset, site_path):
        """`queryset` limited to places; `site_path` is its way to the site of a planting."""
        planting_path = site_path.removesuffix("site")
        if self.planting:
            queryset = queryset.filter(**{f"{planting_path}code": self.planting})
        if self.site:
            queryset = queryset.filter(**{f"{site_path}__code__in": _several(self.site)})
        if self.jurisdiction:
            codes = ["" if code == NOT_KNOWN else code for code in _several(self.jurisdiction)]
            queryset = queryset.filter(**{f"{site_path}__jurisdiction__in": codes})
        if self.protection == NO_PROTECTION:
            queryset = queryset.filter(**{f"{site_path}__protection": ""})
        elif self.protection:
            queryset = queryset.filter(**{f"{site_path}__protection__icontains": self.protection})
        if self.cause:
            found = CauseTally.objects.filter(cause=self.cause, entry__role__in=ROLES_COUNTED).values("entry__planting")
            queryset = queryset.filter(**{f"{planting_path}pk__in": found})
        return queryset

    @property
    def given(self):
        """What limits the figures, as JSON takes it: no choice that was left open is among it."""
        return {name: value for name, value in asdict(self).items() if value}

    @property
    def is_everywhere(self):
        """Whether no place and no cause limits the plantings."""
        return not (self.site or self.jurisdiction or self.planting or self.protection or self.cause)

    def takes(self, unread):
        """Whether a round with this many records that nobody has accepted may be used."""
        return not self.review or (unread == 0) == (self.review == REVIEWED)

    @property
    def roles(self):
        return (self.role,) if self.role else ROLES_COUNTED

    @property
    def lineages(self):
        """((level, label), …): a lot under test must be of each."""
        return tuple(filter(None, (self.within, ("generation", self.generation) if self.generation else None)))


def within(filters, user, reading, *given):
    """What a reading by planting, `reading(user, filters, …)`, gives within the filters.

    What is held has all plantings, and those within are taken from it; where nothing is held only they are read.
    """
    if not are_held():
        return reading(user, filters, *given)
    found = reading(user, SurvivalFilter(), *given)
    if filters.is_everywhere:
        return found
    keys = filters.narrow(Planting.objects.for_user(user), "site").order_by("pk").values_list("pk", flat=True)
    return {key: found[key] for key in keys if key in found}


def _several(codes):
    return (codes,) if isinstance(codes, str) else codes
