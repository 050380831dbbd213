"""The map in a real browser: under a strict policy, with every other host cut off."""

import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from plantings.maps.stand_alone import stand_alone_html
from tests.browser.settling import settled
from tests.places import PROJECT
from tests.plantings.sites.map_examples import HOSTILE, NONCE, blurred_site, many_sites, outline, rendered, site

CSP = f"default-src 'none'; script-src 'nonce-{NONCE}'; style-src 'nonce-{NONCE}'; img-src 'self'"
TYPES = {".js": "text/javascript", ".css": "text/css", ".png": "image/png"}


@pytest.fixture
def serve():
    """A local server of the static files and of the documents put into `pages`, under a strict policy."""
    pages = {}

    class Handler(BaseHTTPRequestHandler):
        def log_message(self, *arguments):
            pass

        def do_GET(self):
            folders = [PROJECT / app / "static" for app in ("registry", "plantings")]
            files = [f / self.path.removeprefix("/static/") for f in folders]
            found = next((file for file in files if file.is_file()), None)
            content = pages[self.path].encode() if self.path in pages else found.read_bytes() if found else b""
            self.send_response(200 if content else 404)
            self.send_header("Content-Type", TYPES.get(Path(self.path).suffix, "text/html; charset=utf-8"))
            self.send_header("Content-Security-Policy", CSP)
            self.end_headers()
            self.wfile.write(content)

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield pages, f"http://localhost:{server.server_port}"
    server.shutdown()


@pytest.fixture
def browser_page(browser, serve):
    """A page whose requests elsewhere are stopped and written down, with its errors."""
    _, home = serve
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.remote, page.faults = [], []
    page.on("request", lambda r: None if r.url.startswith((home, "data:", "file:")) else page.remote.append(r.url))
    page.route(lambda url: not url.startswith((home, "file:")), lambda route: route.abort())
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda m: page.faults.append(m.text) if "favicon" not in str(m.location) and m.type == "error" else None)
    yield page
    page.close()


@pytest.mark.browser
def test_the_map_works_in_a_browser_under_a_strict_policy(serve, browser_page):
    pages, home = serve
    far = site("PA-009", name="Nine Mile", lon=-75.1, lat=40.2, alive=7, n=9, share=7 / 9)
    hostile = site("PA-010", name=HOSTILE, lon=-79.9, lat=41.6)
    pages["/map"] = rendered([site(), blurred_site(lon=-78.45, lat=42.15), far, hostile], boundaries=[outline()])
    browser_page.goto(f"{home}/map")
    marks = browser_page.locator(".site-icon")
    marks.nth(3).wait_for()
    assert marks.locator("text").all_text_contents() == [".70", ".70", "7/9", ".70"]
    assert marks.locator("circle").count() == 3 and marks.locator("rect.blurred").count() == 1
    assert browser_page.locator(".legend").inner_text().count("Broken edge") == 1

    settled(browser_page)
    marks.nth(1).click()
    card = browser_page.locator(".card")
    assert "0.70 (0.63–0.76), n 180" in card.inner_text()
    assert "Not the exact place." in card.inner_text() and "Position" not in card.inner_text()
    assert browser_page.locator("path.reach").count() == 1
    marks.nth(3).press("Enter")
    browser_page.get_by_role("heading", name="alert(1)").wait_for()
    assert browser_page.locator(".card img, .card script").count() == 0
    assert browser_page.remote == []
    assert browser_page.faults == []


@pytest.mark.browser
def test_sites_at_one_place_are_listed_and_can_be_opened_one_by_one(serve, browser_page):
    pages, home = serve
    pages["/map"] = rendered([blurred_site(f"PA-{i:03d}", name=f"Hollow {i}") for i in range(9)])
    browser_page.goto(f"{home}/map")
    settled(browser_page)
    browser_page.get_by_role("button", name="9 sites; open the list").click()
    assert browser_page.locator(".card .sites button").count() == 9
    assert browser_page.get_by_text("Zoom in on these sites").count() == 0
    browser_page.get_by_role("button", name="Hollow 3").press("Enter")
    assert browser_page.locator(".card h2").inner_text() == "Hollow 3"
    browser_page.get_by_role("button", name="Back to the 9 sites").press("Enter")
    assert browser_page.locator(".card h2").inner_text() == "9 sites here"


@pytest.mark.browser
@pytest.mark.parametrize("width", [375, 1280])
def test_five_thousand_sites_are_gathered_into_few_marks(serve, browser_page, width):
    pages, home = serve
    pages["/map"] = rendered(many_sites(5000))
    browser_page.set_viewport_size({"width": width, "height": 667})
    browser_page.goto(f"{home}/map")
    browser_page.locator(".site-icon").first.wait_for()
    labels = browser_page.locator(".site-icon").evaluate_all("all => all.map(mark => mark.getAttribute('aria-label'))")
    counts = [int(label.split()[0]) if "open the list" in label else 1 for label in labels]
    assert sum(counts) == 5000
    assert len(counts) < 300
    assert browser_page.evaluate("document.documentElement.scrollWidth") <= width
    settled(browser_page)
    browser_page.locator(".site-icon[aria-label*='open the list']").first.press("Enter")
    browser_page.get_by_text("Zoom in on these sites").press("Enter")
    browser_page.locator(".leaflet-popup").wait_for(state="detached")
    assert browser_page.faults == []


@pytest.mark.browser
def test_the_stand_alone_file_opens_from_disk_and_loads_nothing(browser_page, tmp_path):
    path = tmp_path / "sites.html"
    points = [site(), blurred_site(lon=-78.45, lat=42.15)]
    path.write_text(stand_alone_html(points, title="Sites", boundaries=[outline()]), encoding="utf-8")
    requests = []
    browser_page.on("request", lambda request: requests.append(request.url))
    browser_page.goto(path.as_uri())
    browser_page.locator(".site-icon").nth(1).wait_for()
    settled(browser_page)
    browser_page.locator(".site-icon").first.click()
    assert "Bear Run" in browser_page.locator(".card h2").inner_text()
    assert [url for url in requests if not url.startswith("data:")] == [path.as_uri()]
    assert browser_page.faults == []


@pytest.mark.browser
def test_a_link_in_the_framed_map_opens_the_site_in_the_window(serve, browser_page):
    pages, home = serve
    pages["/map"] = rendered([site()])
    pages["/plantings/sites/1/"] = "<h1>The site</h1>"
    sandbox = "allow-scripts allow-top-navigation-by-user-activation"
    # The policy of the test server has no frame source; the outer page is like the site's own.
    outer = f'<title>Outer</title><iframe sandbox="{sandbox}" src="/map" width="800" height="600"></iframe>'
    browser_page.route(f"{home}/outer", lambda route: route.fulfill(body=outer, content_type="text/html"))
    browser_page.goto(f"{home}/outer")
    frame = browser_page.frame_locator("iframe")
    settled(frame)
    frame.locator(".site-icon").click()
    frame.get_by_role("link", name="Open this site").press("Enter")
    browser_page.wait_for_url(f"{home}/plantings/sites/1/")
    assert browser_page.locator("h1").inner_text() == "The site"
    assert browser_page.faults == [] and browser_page.remote == []
