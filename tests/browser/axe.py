"""Pages of the test client in a real browser, looked at by axe-core: what it finds would keep somebody from reading or using them."""

import re
from html.parser import HTMLParser
from pathlib import Path

from django.contrib.staticfiles import finders

SCRIPT = (Path(__file__).resolve().parents[1] / "vendor" / "axe-core-4.14.1" / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
DESK, PHONE = {"width": 1280, "height": 900}, {"width": 375, "height": 740}
# every found element as "rule at element: what to do", so that a failure can be corrected without running axe again
_RUN = """async tags => (await axe.run(document, {runOnly: tags, resultTypes: ['violations'], iframes: false, preload: false})).violations.flatMap(
  found => found.nodes.map(node => `${found.id} at ${node.target.join(' ')}: ${node.failureSummary.split('\\n').slice(1).join(' ').trim()}`)
)"""
_LINK = re.compile(r'<link rel="stylesheet" href="/static/([^"]+)"( media="print")?>|<script src="/static/([^"]+)"[^>]*></script>')
_IMPORT = re.compile(r'@import url\("([^"]+)"\);')


class _Skeleton(HTMLParser):
    def __init__(self):
        super().__init__()
        self.seen = set()
        self.path = []

    def handle_starttag(self, tag, attrs):
        told = tuple(sorted((name, value if name in {"class", "role", "type", "scope"} else "") for name, value in attrs))
        self.seen.add((tag, told, self.path[-1] if self.path else ""))
        self.path.append(tag)

    def handle_endtag(self, tag):
        if tag in self.path:
            while self.path.pop() != tag:
                pass


def skeleton(html):
    """What a page is made of: its elements with their classes and parents, whatever they say and however often they come."""
    reader = _Skeleton()
    reader.feed(html)
    return frozenset(reader.seen)


def _styles(name):
    path = Path(finders.find(name))
    return _IMPORT.sub(lambda found: (path.parent / found[1]).read_text(), path.read_text())


def _inlined(found):
    style, paper, script = found.groups()
    if script:
        return f"<script>document.addEventListener('DOMContentLoaded', () => {{{Path(finders.find(script)).read_text()}}})</script>"
    return "" if paper else f"<style>{_styles(style)}</style>"


def self_contained(html):
    """A page with its style sheets and scripts inside it."""
    return _LINK.sub(_inlined, html)


class Reader:
    """A browser page that is handed HTML with its style sheets and scripts inside; it asks nobody for anything."""

    def __init__(self, browser):
        self.context = browser.new_context(viewport=DESK, reduced_motion="reduce")
        self.context.route("**/*", lambda route: route.abort())
        self.page = self.context.new_page()
        self.page.evaluate(SCRIPT)

    def findings(self, html, sizes=(DESK, PHONE)):
        """What axe-core finds in a page at each size of window."""
        found = []
        self.page.set_content(self_contained(html), wait_until="domcontentloaded")
        for size in sizes:
            self.page.set_viewport_size(size)
            found += [line for line in self.page.evaluate(_RUN, TAGS) if line not in found]
        return found

    def close(self):
        self.context.close()
