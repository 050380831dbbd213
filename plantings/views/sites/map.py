"""The map: a page with a frame and the same as a table, the frame itself, and the downloads."""

import json
import secrets
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpResponse, HttpResponseBadRequest
from django.templatetags.static import static
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.utils.translation import gettext_lazy as _
from django.views.decorators.clickjacking import xframe_options_sameorigin
from django.views.decorators.gzip import gzip_page
from django.views.generic import View

from plantings.calc.survival.survival import NOT_ASSESSED
from plantings.calc.survival.table import NOT_COMPLETE
from plantings.calc.survival.words import season_words
from plantings.forms.survival.filters import MapChoices
from plantings.maps.layers import site_layer, to_geojson_bytes, to_geopackage_bytes, whole
from plantings.maps.render import map_html
from plantings.maps.stand_alone import stand_alone_html
from plantings.selectors.sites.map_points import map_points
from plantings.views.sites.map_words import map_words
from plantings.views.survival.filtered import not_complete_lines
from registry.access.views import AccessMixin
from registry.calc.shared.iso import iso_day
from registry.calc.shared.screen import day_words
from registry.middleware import policy_text
from registry.selectors.shared.held_answers import held_until_change
from registry.selectors.shared.local_text import local_text
from registry.views.shared.addresses import file_response
from registry.views.shared.details import PageView
from registry.views.shared.tables import Column, ledger_table

TITLE = _("Map of sites")
SITES_A_PAGE, UNLOCATED_NAMED = 60, 60


class MapMixin(AccessMixin):
    action = "map.view"

    def find_rows(self):
        self.form = MapChoices(self.request.GET)
        self.problem = (
            "" if self.form.is_valid() else self.form.errors.get("at", [_("Growing seasons completed is a whole number, such as 3.")])[0]
        )
        self.moment = None if self.problem else self.form.moment
        self.open_rounds = not self.problem and self.form.cleaned_data["open"]

    def get_map(self):
        return map_points(self.user, self.moment, self.open_rounds)

    def query(self):
        chosen = {"at": self.moment and self.moment.code, "open": "on" if self.open_rounds else None}
        found = urlencode({name: value for name, value in chosen.items() if value})
        return f"?{found}" if found else ""


class MapView(MapMixin, PageView):
    template_name = "plantings/sites/map.html"
    title = TITLE
    question = _("Where are the trees, and how many are alive?")

    def render_to_response(self, context, **kwargs):
        return super().render_to_response(context, status=400 if self.problem else 200, **kwargs)

    def get_page(self):
        site_map, query = self.get_map(), self.query()
        page = Paginator(site_map.points, SITES_A_PAGE).get_page(self.request.GET.get("page"))
        unlocated = [point for point in site_map.points if point.lon is None]
        downloads = [("GeoJSON", "map_geojson"), ("GeoPackage", "map_geopackage"), (_("the map as one HTML file"), "map_file")]
        return {
            "map": site_map,
            "filters": self.form,
            "not_complete": not_complete_lines(site_map),
            "problem": self.problem,
            "frame": reverse("map_embed") + query,
            "table": _table(site_map, page.object_list, [(label, reverse(name) + query) for label, name in downloads]),
            "page_obj": page,
            "unlocated": unlocated[:UNLOCATED_NAMED],
            "unlocated_count": len(unlocated),
        }


def _table(site_map, points, downloads):
    in_progress = {item.part.site for item in site_map.not_complete if item.shown}
    columns = (
        Column(_("Site"), "code", kind="code", url=lambda point: point.detail_url),
        Column(_("Survival (95 % interval)"), lambda point: _figure(point, in_progress), kind="interval"),
        Column(_("Name"), lambda point: point.name or _("withheld")),
        Column(_("Jurisdiction"), "jurisdiction"),
        Column(_("Age"), lambda point: _age_words(site_map.ages[point.code])),
        Column(_("Planted"), "planted", "right", "number"),
        Column(_("Alive"), "alive", "right", "number"),
        Column(_("Latitude, longitude"), _place),
        Column(_("Notes"), lambda point: point.text, wide=True),
    )
    return ledger_table(_("The same as a table"), columns, points, unit="sites", downloads=downloads)


def _figure(point, in_progress):
    if not whole(point):
        return None
    names = ("alive", "n", "share", "low", "high", "band_low", "band_high", "countable")
    caveats = (NOT_COMPLETE,) if point.code in in_progress else ()
    return {name: getattr(point, name) for name in names} | {"reason": NOT_ASSESSED, "caveats": caveats}


def _age_words(ages):
    return ", ".join(local_text(season_words(age)) for age in ages) or _("no complete census")


def _place(point):
    if point.lon is None:
        return _("no point recorded")
    if point.exact:
        return f"{point.lat:.5f}, {point.lon:.5f}"
    return f"about {point.lat:g}, {point.lon:g}; generalised, within {point.uncertainty_m / 1000:.1f} km"


@method_decorator([xframe_options_sameorigin, gzip_page], name="dispatch")  # 5,000 sites are 2 MB of text, and 0.3 MB of it as gzip
class MapEmbedView(MapMixin, View):
    """The document in the frame. Its policy admits its own nonce, and the tile host an administrator switched on."""

    def get(self, request):
        nonce, tiles = secrets.token_urlsafe(16), _tiles()
        content = _frame_html(self.user, self.moment, self.open_rounds).replace(_NONCE, nonce)
        images = f"'self' data: {_origin(tiles['tiles_url'])}" if tiles else "'self' data:"
        source = f"'self' 'nonce-{nonce}'"
        # the map library makes markup by script: this document holds nothing else, and is shown in a sandbox
        markup = {"require_trusted_types_for": None, "trusted_types": None}
        policy = policy_text(script_src=source, style_src=source, img_src=images, **markup)
        return HttpResponse(content, headers={"Content-Security-Policy": policy})


_NONCE = secrets.token_urlsafe(16)  # where the nonce of each answer goes


@held_until_change
def _frame_html(user, moment, open_rounds):
    site_map = map_points(user, moment, open_rounds)
    return map_html(
        site_map.points, boundaries=site_map.boundaries, nonce=_NONCE, static_url=static, title=str(TITLE), caption=str(site_map.caption),
        words=map_words(), **_tiles(),
    )  # fmt: skip


def _tiles():
    url = settings.MAP_TILES_URL
    return {"tiles_url": url, "tiles_attribution": f"Map tiles: {urlsplit(url).netloc.replace('{s}.', '')}"} if url else {}


def _origin(url):
    parts = urlsplit(url)
    return f"{parts.scheme}://{parts.netloc.replace('{s}', '*')}"


class MapDownloadView(MapMixin, View):
    """A file of exactly what the map shows."""

    content_type = extension = ""

    def get(self, request):
        if self.problem:
            return HttpResponseBadRequest(self.problem, content_type="text/plain; charset=utf-8")
        site_map = self.get_map()
        return file_response(self.content(site_map), self.content_type, f"sites-{iso_day(site_map.as_of)}.{self.extension}")


class MapGeoJSONView(MapDownloadView):
    content_type, extension = "application/geo+json", "geojson"

    def content(self, site_map):
        document = json.loads(to_geojson_bytes(site_layer(site_map.points)))
        located = site_map.located
        if located:
            lons, lats = [point.lon for point in located], [point.lat for point in located]
            document = {"type": document["type"], "bbox": [min(lons), min(lats), max(lons), max(lats)]} | document
        return json.dumps(document, ensure_ascii=False, allow_nan=False).encode()


class MapGeoPackageView(MapDownloadView):
    content_type, extension = "application/geopackage+sqlite3", "gpkg"

    def content(self, site_map):
        return to_geopackage_bytes(site_layer(site_map.points))


class MapFileView(MapDownloadView):
    # not as a page: the file holds its scripts and must never run in the name of Mastbook
    content_type, extension = "application/octet-stream", "html"

    def content(self, site_map):
        title = f"{TITLE}, {day_words(site_map.as_of)}"
        said = {"title": title, "caption": site_map.caption, "note": site_map.unread_words}
        return stand_alone_html(site_map.points, boundaries=site_map.boundaries, **said)
