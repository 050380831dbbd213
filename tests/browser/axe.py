"""Pages of the test client in a real browser, looked at by axe-core: what it finds would keep somebody from reading or using them."""

import contextlib
import functools
import re
from concurrent.futures import ThreadPoolExecutor
from html.parser import HTMLParser
from pathlib import Path

from django.contrib.staticfiles import finders

from tests.browser.chromium import chromium
from tests.places import PROJECT

SCRIPT = (Path(__file__).resolve().parents[1] / "vendor" / "axe-core-4.14.1" / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OF_LOOKS = ["color-contrast", "target-size"]  # rules that measure the drawn page; the others read its elements
DESK, PHONE = {"width": 1280, "height": 900}, {"width": 375, "height": 740}
# every found element as "rule at element: what to do", so that a failure can be corrected without running axe again
_FOUND = """violations.flatMap(
  found => found.nodes.map(node => `${found.id} at ${node.target.join(' ')}: ${node.failureSummary.split('\\n').slice(1).join(' ').trim()}`)
)"""
RUN = f"""async ([tags, skipped]) => (await axe.run(document, {{
  runOnly: tags, rules: Object.fromEntries(skipped.map(rule => [rule, {{enabled: false}}])), resultTypes: ['violations'], iframes: false, preload: false
}})).{_FOUND}"""
# how many elements of the page are new: by themselves or by what they are inside of, as far as that decides how they look
_NEW = """attributes => {
  const known = window.knownLooks ??= new Map();
  window.newElements = [];
  const look = (element, above, isInNew) => {
    const own = attributes.filter(name => element.hasAttribute(name)).map(name => `${name}=${element.getAttribute(name)}`);
    const looks = [above, element.tagName, ...own].join('|');
    const isNew = !known.has(looks);
    if (isNew) known.set(looks, known.size);
    if (isNew && !isInNew) window.newElements.push(element);
    for (const child of element.children) look(child, known.get(looks), isNew || isInNew);
  };
  look(document.body, '', false);
  return window.newElements.length;
}"""
_MEASURE = f"""async rules => (await axe.run({{include: window.newElements}}, {{
  runOnly: {{type: 'rule', values: rules}}, resultTypes: ['violations'], iframes: false, preload: false
}})).{_FOUND}"""
_LINK = re.compile(r'<link rel="stylesheet" href="/static/([^"]+)"( media="print")?>|<script src="/static/([^"]+)"[^>]*></script>')
_IMPORT = re.compile(r'@import url\("([^"]+)"\);')


@functools.cache
def _of_looks():
    """Attributes that decide how an element looks: those our style sheets select by, and those that hide, colour or size it themselves."""
    sheets = [path for app in ("registry", "plantings") for path in (PROJECT / app / "static" / app).rglob("*.css")]
    selected = {name for path in sheets for name in re.findall(r"\[([a-z-]+)", path.read_text(encoding="utf-8"))}
    return selected | {"class", "style", "hidden", "open", "disabled", "type", "size", "rows", "cols", "width", "height"}


class _Skeleton(HTMLParser):
    def __init__(self):
        super().__init__()
        self.seen, self.path = set(), []

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


@functools.cache
def _styles(name):
    path = Path(finders.find(name))
    return _IMPORT.sub(lambda found: (path.parent / found[1]).read_text(), path.read_text())


@functools.cache
def _script(name):
    return Path(finders.find(name)).read_text()


def _inlined(found):
    style, paper, script = found.groups()
    if script:
        return f"<script>document.addEventListener('DOMContentLoaded', () => {{{_script(script)}}})</script>"
    return "" if paper else f"<style>{_styles(style)}</style>"


def self_contained(html):
    """A page with its style sheets and scripts inside it."""
    return _LINK.sub(_inlined, html)


class Reader:
    """A browser page that is handed HTML with its style sheets and scripts inside; it asks nobody for anything.

    Colours and sizes depend on an element and what it is inside of. So axe-core measures each such element once, in a wide window and in
    a narrow one; the other rules read the elements of the whole page. The browser runs in a thread of its own, because Django gives the
    thread of a running browser another connection to the database.
    """

    def __enter__(self):
        self._thread = ThreadPoolExecutor(1)
        self._thread.submit(self._open).result()
        return self

    def __exit__(self, *_error):
        self._thread.submit(self._opened.close).result()
        self._thread.shutdown()

    def _open(self):
        with contextlib.ExitStack() as stack:
            context = stack.enter_context(chromium()).new_context(viewport=DESK, reduced_motion="reduce")
            context.route("**/*", lambda route: route.abort())
            self._page = context.new_page()
            self._page.evaluate(SCRIPT)
            self._opened = stack.pop_all()

    def findings(self, html):
        """What axe-core finds in a page, at each size of window if it has something to measure."""
        return self._thread.submit(self._look, self_contained(html)).result()

    def _look(self, content):
        self._page.set_content(content, wait_until="domcontentloaded")
        found = self._page.evaluate(RUN, [TAGS, OF_LOOKS])
        if self._page.evaluate(_NEW, sorted(_of_looks())):
            for size in (DESK, PHONE) if self._page.viewport_size == DESK else (PHONE, DESK):
                self._page.set_viewport_size(size)
                found += [line for line in self._page.evaluate(_MEASURE, OF_LOOKS) if line not in found]
        return found
