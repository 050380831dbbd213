"""The position map of a planting: as parts of its page, and as a page of its own."""

from urllib.parse import urlencode

from django.utils.translation import gettext_lazy as _
from django.views.generic import DetailView

from plantings.choices import EntryRole
from plantings.models import Planting
from plantings.selectors.plantings.complete_rounds import last_not_complete
from plantings.selectors.plantings.positions import MAP_TREES_MAX, block_counts, position_map
from plantings.selectors.sites.local_texts import corner_text
from plantings.views.plantings.point_picture import point_part
from registry.access.views import AccessMixin
from registry.views.shared.addresses import record_url, reverse_to
from registry.views.shared.tables import Column, Link, ledger_table


def map_parts(planting, user, trees, block=None):
    """The position map and the trees it cannot draw, as parts of a page; over the limit, links to one block at a time."""
    if not trees:
        return []
    if block is None and trees > MAP_TREES_MAX:
        return [blocks_table(planting)]
    found = position_map(planting, user, block)
    letters = [(letter, _entry_words(lot, role), None) for letter, lot, role in found.letters]
    parts = []
    if found.placed:
        note = _fates_words(planting)
        if planting.start_corner:
            note = f"{note} {_('Start corner: %(place)s.') % {'place': corner_text(planting)}}"
        part = {"title": _("Position map"), "note": note, "include": "plantings/plantings/_position_map.html", "trees": found.placed}
        parts.append(part | {"letters": letters, "start": found.start, "walk": planting.get_walk_display()})
    if found.measured:
        parts.append(point_part(found.measured))
    if found.loose:
        parts.append(loose_table(found.loose, user))
    return parts


def _fates_words(planting):
    """Which round the marks are of, and that it is not complete where it is not: most of its trees may be without a record."""
    label = last_not_complete(planting)
    if label is None:
        return _("Marks show the fate at the last round.")
    return _("Marks show the fate at the last round, %(round)s, which is not complete.") % {"round": label}


def _entry_words(lot, role):
    return lot if role == EntryRole.TEST else f"{lot} ({EntryRole(role).label})"


def blocks_table(planting, route="planting_map"):
    columns = (
        Column(
            _("Block"),
            lambda line: line[0] or _("no block"),
            url=lambda line: f"{reverse_to(route, planting.pk)}?{urlencode({'block': line[0]})}",
        ),
        Column(_("Trees"), "1", "right", "number"),
    )
    note = _("Choose a block to see its trees.")
    return ledger_table(_("Position map, by block"), columns, block_counts(planting), unit="blocks", note=note)


def loose_table(trees, user):
    columns = (
        Column(_("Tag"), "1", kind="code", url=Link("tree_detail", "0")),
        Column(_("Block"), "2"),
        Column(_("Lot"), "3", kind="code", may="tree.lot"),
        Column(_("Fate"), "4", kind="fate"),
    )
    note = _("Without a row and position a tree cannot be drawn on the position map. In walk order.")
    return ledger_table(
        _("Trees without a position"), [column for column in columns if column.shown_to(user)], trees, unit="trees", note=note
    )


class PlantingMapView(AccessMixin, DetailView):
    """The position map alone, all of it or one block: to print for the wall, and for plantings of thousands."""

    model = Planting
    action = "planting.view"
    template_name = "plantings/plantings/planting_map.html"

    def get_queryset(self):
        return self.scoped(Planting).select_related("site")

    def get_context_data(self, **kwargs):
        planting = self.object
        block = self.request.GET.get("block")
        words = _("%(planting)s, positions") if block is None else _("%(planting)s, block %(block)s")
        title = words % {"planting": planting.code, "block": block or _("without a name")}
        parts = map_parts(planting, self.request.user, planting.trees.count(), block)
        return super().get_context_data(**kwargs) | {
            "title": title,
            "question": _("Where is each tree, and what became of it?"),
            "code": planting.code,
            "where": str(planting.site),
            "parts": parts,
            "back": record_url(planting),
        }
