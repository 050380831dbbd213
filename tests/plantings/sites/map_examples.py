"""Sites for the map tests; invented, on real geography."""

from plantings.calc.sites.geometry import generalise_point
from plantings.maps.layers import SitePoint
from plantings.maps.render import map_html

NONCE = "bm9uY2U"
HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(2)>'\"&</textarea>\u2028"

BLURRED = generalise_point(-77.5512, 41.2034)


def site(code="PA-001", **changes):
    """A site near State College with 126 of 180 trees alive (Wilson 95 % interval by hand: 0.63-0.76)."""
    values = {
        "code": code,
        "name": "Bear Run",
        "lon": -77.8678,
        "lat": 40.7935,
        "exact": True,
        "uncertainty_m": None,
        "jurisdiction": "US-PA",
        "planted": 200,
        "alive": 126,
        "n": 180,
        "share": 0.70,
        "low": 0.6295,
        "high": 0.7621,
        "band_low": 0.70,
        "band_high": 0.75,
        "text": "Growing season 5.",
        "detail_url": "/plantings/sites/1/",
    }
    return SitePoint(**(values | changes))


def blurred_site(code="PA-002", **changes):
    values = {
        "name": "Hidden Hollow",
        "lon": BLURRED.lon,
        "lat": BLURRED.lat,
        "exact": False,
        "uncertainty_m": BLURRED.uncertainty_m,
        "data_generalizations": BLURRED.statement,
    }
    return site(code, **(values | changes))


def outline(code="PA-001", lon=-77.8678, lat=40.7935, half=0.01):
    ring = [(lon - half, lat - half), (lon + half, lat - half), (lon + half, lat + half), (lon - half, lat + half)]
    return {"code": code, "name": "Bear Run", "geojson": {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}}


def many_sites(number):
    """Sites on a fixed lattice over the eastern United States, every third one blurred."""
    sites = []
    for i in range(number):
        lon, lat = -92 + (i * 0.3713) % 24, 34 + (i * 0.2177) % 12
        make = blurred_site if i % 3 == 0 else site
        cell = generalise_point(lon, lat)
        place = {"lon": cell.lon, "lat": cell.lat} if i % 3 == 0 else {"lon": lon, "lat": lat}
        sites.append(make(f"S-{i:04d}", alive=i % 181, share=(i % 181) / 180, **place))
    return sites


def rendered(points, **options):
    return map_html(points, **({"nonce": NONCE, "static_url": "/static/", "title": "Sites"} | options))
