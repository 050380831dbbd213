"""The site map as one HTML file to download: everything inside it, nothing loaded from anywhere."""

import base64
import html
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

from plantings.calc.survival.survival import band_note, number_words
from plantings.maps.layers import COUNT_FIRST_BELOW, SitePoint, generalisation_note, whole
from plantings.maps.render import BASE_CREDIT, BASE_SCRIPT, SCRIPTS, SHIPPED_BASE, STYLES, FeatureCollection, compose

PROJECT = Path(__file__).resolve().parents[2]
STATIC_FOLDERS = (PROJECT / "registry/static", PROJECT / "plantings/static")

# The browser itself then refuses every load, whatever the records hold.
POLICY = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:"


def stand_alone_html(
    points: Sequence[SitePoint],
    *,
    boundaries: Sequence[Mapping] = (),
    base: str | FeatureCollection | None = SHIPPED_BASE,
    title: str,
    caption: str = "Survival by site",
    note: str = "",
) -> str:
    """The map of `render.map_html` with its table, as one file for a computer without network.

    Links to Mastbook (`detail_url`) are left out, since a path means nothing in a downloaded file. `note` is a sentence under
    the title. Other parameters and errors as for `render.map_html`.
    """
    unlinked = [replace(point, detail_url=None) for point in points]
    scripts = [*SCRIPTS.values(), *([BASE_SCRIPT] if base == SHIPPED_BASE else [])]
    head = "\n".join(
        [
            f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
            *(f"<style>{_style(path)}</style>" for path in STYLES.values()),
            *(f"<script>{_content(path)}</script>" for path in scripts),
        ]
    )
    said = "".join(f"<p>{html.escape(words)}</p>" for words in (caption, note) if words)
    above = f"<header><h1>{html.escape(title)}</h1>{said}</header>"
    below = f'<details class="figures"><summary>The same as a table</summary>{_table(points, caption)}</details>'
    return compose(unlinked, boundaries, base, title, caption, page=(head, above, below))


@cache
def _content(path: str) -> str:
    found = next(folder / path for folder in STATIC_FOLDERS if (folder / path).is_file())
    return found.read_text(encoding="utf-8")


@cache
def _style(path: str) -> str:
    """A style sheet with its pictures inside it."""
    folder = next(folder / path for folder in STATIC_FOLDERS if (folder / path).is_file()).parent

    def picture(match: re.Match) -> str:
        data = base64.b64encode((folder / match.group(1)).read_bytes()).decode()
        return f"url(data:image/png;base64,{data})"

    return re.sub(r"url\((images/[\w-]+\.png)\)", picture, _content(path))


def _table(points: Sequence[SitePoint], caption: str) -> str:
    heads = ("Site", "Jurisdiction", "Planted", "Alive", "Survival (95 % interval), n, band", "Position")
    head = "".join(f'<th scope="col">{text}</th>' for text in heads)
    rows = "".join(_row(point) for point in points)
    return f"<table><caption>{html.escape(caption)}. {BASE_CREDIT}.</caption><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"


def _row(point: SitePoint) -> str:
    site = html.escape(" ".join(filter(None, (point.code, point.name))))
    numbers = "".join(f'<td class="number">{value}</td>' for value in (point.planted, point.alive, survival_text(point)))
    place = html.escape(_place(point) + generalisation_note(point))
    return f'<tr><th scope="row">{site}</th><td>{html.escape(point.jurisdiction)}</td>{numbers}<td>{place}</td></tr>'


def _place(point: SitePoint) -> str:
    if point.lon is None:
        return ""
    # A blurred position with five decimals would look exact.
    return f"{point.lat:.5f}, {point.lon:.5f}. " if point.exact else f"{point.lat:g}, {point.lon:g}. "


def survival_text(point: SitePoint) -> str:
    """ "0.69 (0.62–0.75), n 180 of 195, band 0.64–0.71"; "7 of 9" under ten trees; "not assessed" where no tree was."""
    if point.n <= 0:
        return "not assessed"
    band = band_note(point.band_low, point.band_high)
    if point.share is None or point.n < COUNT_FIRST_BELOW:
        return f"{point.alive:,} of {point.n:,}{band}"
    interval = "" if point.low is None else f" ({point.low:.2f}–{point.high:.2f})"
    return f"{point.share:.2f}{interval}, {number_words(point.n, whole(point))}{band}"
