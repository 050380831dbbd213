"""The map document of 5,000 sites against writing the same points as bare JSON, same run; memory too.

Run by name: `.venv/bin/python tests/benchmarks/map_render.py`. Target: under one second once folium is imported.
"""

import json

from temporary_book import peak_mb, report, seconds


def main():
    from tests.plantings.sites.map_examples import many_sites, rendered

    sites = many_sites(5_000)
    first, _ = seconds(lambda: rendered(sites[:1]))
    taken, document = seconds(lambda: rendered(sites), 7)
    points = [{"code": site.code, "name": site.name, "lon": site.lon, "lat": site.lat, "alive": site.alive, "n": site.n} for site in sites]
    floor, _ = seconds(lambda: json.dumps(points), 7)
    report(
        "map of 5,000 sites", ms=f"{taken * 1000:.0f}", first_call_ms=f"{first * 1000:.0f}", kB=f"{len(document) / 1000:.0f}",
        times_bare_json=f"{taken / floor:.0f}", peak_MB=f"{peak_mb():.0f}",
    )  # fmt: skip


if __name__ == "__main__":
    main()
