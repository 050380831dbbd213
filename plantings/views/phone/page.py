"""The page of the census on a phone, which works without a signal, and its worker.

The page is the same for everybody and holds nothing of anybody, so that a browser can store it; what a person may see comes as JSON, from
`answers.py`.
"""

import hashlib
import json
from functools import partial
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.utils.translation import get_language, override
from django.utils.translation import gettext as _
from django.views.generic import View

from plantings.calc.census.photos import PHOTO_BYTES_MOST, PHOTO_SIDE_MOST, PHOTOS_A_RECORD
from plantings.services.census.batch import BATCH_MOST
from plantings.views.census.rounds import get_round
from plantings.views.phone.answers import LINK_HEADER, LINKS_BEFORE_HEADER
from plantings.views.phone.data import VERSION
from plantings.views.phone.words import phone_words
from registry.access.views import AccessMixin
from registry.middleware import permissions_text, policy_text

_WORKER = "plantings/js/phone/worker.js"
_STYLES = ("registry/css/base/tokens.css", "plantings/css/phone.css")
_SCRIPT_ORDER = (
    "parts store photos checks send plan screens scan walk blocks cautions counts state edges telling earlier drafts recording page"
)
_SCRIPTS = tuple(f"plantings/js/phone/{name}.js" for name in _SCRIPT_ORDER.split())
_ICONS = ("registry/img/mark.svg",)
# for home screens, which the worker does not store: (name, pixels, purpose). A maskable one has room for any shape a phone cuts.
_HOME_ICONS = [
    (f"registry/img/{name}-{size}.png", size, purpose)
    for name, purpose in (("icon", "any"), ("icon-maskable", "maskable"))
    for size in (192, 512)
]
_TOUCH_ICON = "registry/img/apple-touch-icon.png"
# the page starts a worker, from one address only: see `worker` in parts.js
_POLICY = partial(policy_text, worker_src="'self'", trusted_types="mastbook-phone")


def shell():
    """The page of the phone, in both languages. It holds no name, no token and no record."""
    words, without_scripts = {}, []
    for language, _name in settings.LANGUAGES:
        with override(language):
            words[language] = phone_words()
            without_scripts.append((language, _("This page needs scripts. Turn them on, or use the census form or the printed form.")))
    page = {
        "english": words["en"],
        "words": json.dumps(words, ensure_ascii=False),
        "languages": settings.LANGUAGES,
        "without_scripts": without_scripts,
        "styles": _STYLES,
        "scripts": _SCRIPTS,
        "icon": _ICONS[0],
        "touch_icon": _TOUCH_ICON,
        "addresses": json.dumps(_addresses()),
    }
    return render_to_string("plantings/census/phone.html", page)


def _addresses():
    names = ("census_phone", "census_phone_data", "seconddraw_phone", "seconddraw_phone_data")
    round_page, round_data, draw_page, draw_data = (reverse(name, args=[0]).replace("/0/", "/:round/") for name in names)
    return {
        "home": reverse("phone_home"), "worker": reverse("phone_worker"), "ping": reverse("census_phone_ping"), "signIn": reverse("login"),
        "page": round_page, "data": round_data, "drawPage": draw_page, "drawData": draw_data,
        "linkData": reverse("phone_by_link"), "linkHeader": LINK_HEADER, "beforeHeader": LINKS_BEFORE_HEADER,
        "batch": BATCH_MOST,
        "version": VERSION, "language": reverse("language"), "languageCookie": settings.LANGUAGE_COOKIE_NAME,
        "languageAge": settings.LANGUAGE_COOKIE_AGE, "photosMost": PHOTOS_A_RECORD, "photoSide": PHOTO_SIDE_MOST,
        "photoBytes": PHOTO_BYTES_MOST,
    }  # fmt: skip


def shell_edition():
    """What changes when the page or one of its files does: a browser that stored an earlier one is offered the new one."""
    names = (*_STYLES, *_SCRIPTS, *_ICONS, *(name for name, _size, _purpose in _HOME_ICONS), _TOUCH_ICON, _WORKER)
    content = [shell().encode(), *(Path(finders.find(name)).read_bytes() for name in names)]
    return hashlib.sha256(b"\0".join(content)).hexdigest()[:16]


def phone_page():
    """The answer with the page and its policy."""
    response = HttpResponse(shell())
    response.headers["Content-Security-Policy"] = _POLICY()
    response.headers["Permissions-Policy"] = permissions_text(camera="(self)")  # it reads the code of a tag
    response.headers["Referrer-Policy"] = "same-origin"
    return response


@method_decorator(login_not_required, name="dispatch")
class PhoneHomeView(View):
    """The page without a round: the rounds that this phone holds, and those that come by a link."""

    def get(self, request):
        return phone_page()


class CensusPhoneView(AccessMixin, View):
    """The page of one round. Later the worker of the phone answers in its place, with the page it stored."""

    action = "census.enter"

    def get(self, request, pk):
        get_round(self, pk)
        return phone_page()


@method_decorator(login_not_required, name="dispatch")
class PhoneWorkerView(View):
    """The script that serves the page without a signal, with what it stores."""

    def get(self, request):
        files = [reverse("phone_home"), reverse("phone_manifest"), *(static(name) for name in (*_STYLES, *_SCRIPTS, *_ICONS))]
        given = {"edition": shell_edition(), "files": files, "home": reverse("phone_home")}
        source = Path(finders.find(_WORKER)).read_text(encoding="utf-8")
        response = HttpResponse(f"const GIVEN = {json.dumps(given)};\n{source}", content_type="text/javascript; charset=utf-8")
        response.headers["Cache-Control"] = "no-cache"
        return response


@method_decorator(login_not_required, name="dispatch")
class PhoneManifestView(View):
    """What a phone needs to put the page on its home screen."""

    def get(self, request):
        home = reverse("phone_home")
        icons = [{"src": static(_ICONS[0]), "sizes": "any", "type": "image/svg+xml", "purpose": "any"}]
        icons += [
            {"src": static(name), "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose} for name, size, purpose in _HOME_ICONS
        ]
        manifest = {
            "name": _("Mastbook census"), "short_name": _("Census"), "id": home, "start_url": home, "scope": home, "display": "standalone",
            "background_color": "#FBF8F1", "theme_color": "#FBF8F1", "lang": get_language(), "icons": icons,
        }  # fmt: skip
        return JsonResponse(manifest, content_type="application/manifest+json", headers={"Cache-Control": "no-cache"})
