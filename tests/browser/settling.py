"""Waiting for a map to come to rest: while it opens, its marks are gathered again and a press on an old one is lost."""

import importlib
import time

import pytest

# how many pixels of the canvas under the marks are drawn on, as soon as any are: the map gives it its size only when it knows its own
INKED = """async canvas => {
  const drawn = () => canvas.width && canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data.filter((v, i) => i % 4 === 3 && v).length;
  while (!drawn()) await new Promise(done => setTimeout(done, 50));
  return drawn();
}"""

_STATE = "all => all.map(mark => mark.getAttribute('aria-label') + mark.style.transform).join('|')"


def settled(frame, seconds=15):
    """Wait until the marks of a map have not moved for half a second; `frame` is a page or a frame locator."""
    marks = frame.locator(".site-icon")
    marks.first.wait_for()
    before, since, end = None, time.monotonic(), time.monotonic() + seconds
    while time.monotonic() < end:
        now = marks.evaluate_all(_STATE)
        if now != before:
            before, since = now, time.monotonic()
        elif time.monotonic() - since > 0.5:
            return
        time.sleep(0.1)
    raise AssertionError(f"The marks of the map still move after {seconds} s.")


@pytest.fixture(scope="session")
def map_libraries():
    """The first map of a process loads these; on a busy machine that takes longer than a browser waits for a page."""
    for name in ("folium", "geopandas"):
        importlib.import_module(name)
