"""Waiting for a map to come to rest: while it opens, its marks are gathered again and a press on an old one is lost."""

import time

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
