"""What a browser may do with our pages: nothing inline, nothing of another host, nothing framed elsewhere."""

import re

import pytest
from django.urls import URLResolver, get_resolver, reverse

from registry.middleware import policy_text
from tests import factories
from tests.places import PROJECT

# inline script or style in any form; `(?<!-)` spares attributes such as data-style=
INLINE = re.compile(
    r"<script(?![^>]*\bsrc=)|<style\b|(?<![-\w])style\s*=\s*[\"'{]|\son[a-z]+\s*=\s*[\"'{]|javascript:|setAttribute\(\s*[\"']style",
    re.IGNORECASE,
)
ADDRESS = re.compile(r"""(?:https?:)?//([a-z0-9-]+(?:\.[a-z0-9-]+)+)""", re.IGNORECASE)
NAMESPACES = {"www.w3.org"}  # names of XML vocabularies, never asked for


def our_files(*endings):
    for app in ("registry", "plantings"):
        for folder in ("templates", "static", "templatetags"):
            for path in sorted((PROJECT / app / folder).rglob("*")):
                if path.suffix in endings and "vendor" not in path.parts:
                    yield path


def found(pattern, *endings):
    for path in our_files(*endings):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            for match in pattern.finditer(line):
                yield f"{path.relative_to(PROJECT)}, line {number}", match


def plain_routes(resolver=None, prefix="", space=""):
    """(name, path) of every route that needs no argument."""
    for item in (resolver or get_resolver()).url_patterns:
        route = prefix + str(item.pattern)
        if isinstance(item, URLResolver):
            yield from plain_routes(item, route, f"{space}{item.namespace}:" if item.namespace else space)
        elif "<" not in route and "(?P" not in route and item.name:
            yield space + item.name


def directives(response):
    header = response.headers["Content-Security-Policy"]
    return {name: values for name, *values in (part.split() for part in header.split(";"))}


@pytest.mark.parametrize(
    "text",
    [
        "<script>go()</script>", "<SCRIPT defer>", "<style>", '<p style="color: red">', "<p style='x'>", '<a onclick="go()">',
        '<p style="{{ width }}">', "javascript:go()", "item.setAttribute('style', text)",
    ],
)  # fmt: skip
def test_the_search_for_inline_code_finds(text):
    assert INLINE.search(text)


@pytest.mark.parametrize(
    "text", ['<script src="a.js" defer></script>', '<p data-style="x">', '<link rel="stylesheet">', "item.style.top = x"]
)
def test_the_search_for_inline_code_passes_over(text):
    assert not INLINE.search(text)


def test_no_template_or_script_of_ours_has_inline_script_or_style():
    assert [f"{place}: {match.group()}" for place, match in found(INLINE, ".html", ".svg", ".js", ".py")] == []


def test_no_template_style_sheet_or_script_of_ours_names_another_host():
    endings = (".html", ".svg", ".js", ".css", ".py", ".json", ".webmanifest")
    assert [f"{place}: {match.group()}" for place, match in found(ADDRESS, *endings) if match.group(1) not in NAMESPACES] == []


def test_vendored_files_keep_their_licence_beside_them():
    folders = sorted(path for path in (PROJECT / "registry" / "static" / "vendor").iterdir() if path.is_dir())
    assert folders
    assert [folder.name for folder in folders if not any(folder.glob("LICEN[CS]E*"))] == []


def test_the_policy_lets_in_nothing_inline_and_no_other_host():
    policy = policy_text()
    assert "default-src 'none'" in policy
    assert not re.search(r"unsafe|https?:|\*", policy)


@pytest.mark.django_db
def test_pages_and_refusals_carry_the_policy(client):
    pages = [client.get(reverse("login")), client.get("/no-such-page/")]
    client.force_login(factories.person("coordinator"))
    pages.append(client.get("/no-such-page/"))
    assert [page.status_code for page in pages] == [200, 404, 404]
    assert [directives(page)["script-src"] for page in pages] == [["'self'"]] * 3
    assert {page.headers["X-Frame-Options"] for page in pages} == {"SAMEORIGIN"}
    assert {page.headers["X-Content-Type-Options"] for page in pages} == {"nosniff"}
    assert {page.headers["Referrer-Policy"] for page in pages} == {"same-origin"}


def test_the_policy_forbids_workers_and_markup_made_by_scripts():
    policy = policy_text()
    assert "worker-src 'none'" in policy and "object-src 'none'" in policy
    assert "require-trusted-types-for 'script'" in policy and "trusted-types 'none'" in policy


def test_only_the_map_document_may_make_markup_by_script(client, db):
    """Leaflet writes its pop-ups and credits as markup; its frame holds nothing else."""
    client.force_login(factories.person("lead"))
    assert "trusted-types" not in directives(client.get(reverse("map_embed")))
    assert "trusted-types" in directives(client.get(reverse("map")))


def cache_words(response):
    return response.headers["Cache-Control"]


def test_pages_are_for_this_browser_and_asked_for_again(client, db):
    client.force_login(factories.person("lead"))
    for page in (client.get(reverse("lot_list")), client.get("/no-such-page/"), client.get(reverse("lot_add"))):
        assert cache_words(page) == "private, no-cache"


def test_no_browser_or_proxy_stores_a_download(client, db):
    client.force_login(factories.person("lead"))
    addresses = [reverse("lot_list") + "?download=csv", reverse("sheet_template", args=["lot", "xlsx"]), reverse("map_geojson")]
    for address in addresses:
        answer = client.get(address)
        assert (answer.status_code, cache_words(answer)) == (200, "private, no-store"), address


def test_signing_out_makes_the_browser_forget_the_pages(client, db):
    client.force_login(factories.person("lead"))
    assert client.post(reverse("logout")).headers["Clear-Site-Data"] == '"cache"'
    assert "Clear-Site-Data" not in client.get(reverse("login")).headers


def test_static_files_are_for_every_cache(client, db):
    answer = client.get("/static/registry/js/page.js")
    assert answer.status_code == 200
    assert "public" in cache_words(answer)


@pytest.mark.parametrize(
    ("back", "followed"),
    [
        ("/lots/?page=2#top", True),
        ("https://elsewhere.example/", False),
        ("//elsewhere.example/", False),
        ("/\\elsewhere.example/", False),
        ("javascript:alert(1)", False),
        ("data:text/html,hello", False),
        ("\x01javascript:alert(1)", False),
        ("http:///elsewhere.example", False),
        ("http://testserver/lots/", True),
        ("ftp://testserver/", False),
        ("", False),
    ],
)
def test_the_way_back_leads_to_this_site_only(client, db, back, followed):
    client.force_login(factories.person("lead"))
    page = client.get(reverse("determination_ask"), {"back": back})
    assert page.context["cancel_url"] == (back if followed else None)


@pytest.mark.django_db
def test_no_page_has_inline_code_that_its_policy_refuses(client):
    client.force_login(factories.person("lead"))
    names = sorted(set(plain_routes()) - {"logout"})
    assert "login" in names
    wrong = []
    for name in names:
        page = client.get(reverse(name))
        allowed = directives(page)["script-src"]
        if any("unsafe" in word for word in allowed):
            wrong.append(f"{name}: {' '.join(allowed)}")
        nonced = any(word.startswith("'nonce-") for word in allowed)
        if not nonced and page.headers.get("Content-Type", "").startswith("text/html"):
            body = b"".join(page.streaming_content) if page.streaming else page.content
            wrong += [f"{name}: {match.group()}" for match in INLINE.finditer(body.decode())]
    assert wrong == []


NULL_ADDRESSES = [
    "/find/?q=%00", "/lots/?q=a%00b", "/cautions/?q=%00", "/lots/harvest/?mother=%00", "/plantings/new/?site=%00", "/orchard/?orchard=%00", "/trees/?block=%00",
    "/sheets/lot/?mapping=%00", "/lots/?a%00=b", "/lots/%00/", "/settings/%00/", "/my-land/%00/", "/calendar/feed/%00.ics", "/lots/new/?offer=taxon&fits=%00",
]  # fmt: skip


@pytest.mark.parametrize("address", NULL_ADDRESSES)
def test_a_null_character_in_an_address_is_refused_in_words(client, db, address):
    """PostgreSQL raises on it, wherever it gets into a query."""
    client.force_login(factories.person("lead"))
    page = client.get(address)
    assert page.status_code in {400, 404}
    assert page.status_code == 404 or "arrived damaged" in page.content.decode()


def test_a_null_character_in_a_form_is_refused_in_words(client, db):
    client.force_login(factories.person("lead"))
    for values in ({"username": "a\0b"}, {"a\0b": "c"}):
        page = client.post(reverse("lot_add"), values)
        assert page.status_code == 400 and "arrived damaged" in page.content.decode()
