"""The census on a phone: a page that works without a signal, its worker, and what both ask the server.

The page is the same for everybody and holds nothing of anybody, so that a browser can store it; what a person may see comes as JSON. An
answer in JSON is never a redirect to the sign-in: a phone could not tell that page from its own.
"""

import hashlib
import json
from functools import partial
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.core.exceptions import RequestDataTooBig, ValidationError
from django.http import Http404, HttpResponse, JsonResponse
from django.http.request import RawPostDataException
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.translation import get_language, override
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.generic import View

from plantings.calc.census.photos import PHOTO_BYTES_MOST, PHOTO_SIDE_MOST, PHOTOS_A_RECORD
from plantings.selectors.census.round_links import link_for_token, links_before
from plantings.services.census_batch import BATCH_MOST, census_batch_receive
from plantings.services.round_links import LinkOver, LinkTooBusy, round_link_at_limit, round_link_read
from plantings.views.census.phone_data import VERSION, phone_data, phone_part
from plantings.views.census.phone_words import phone_words
from plantings.views.census.rounds import get_round
from plantings.views.plantings.photos import photo_answer
from registry.access.views import AccessMixin
from registry.middleware import permissions_text, policy_text
from registry.services.audit.busy import Busy

BATCH_BYTES_MOST = 1_200_000  # 200 records with the longest notes, in letters of four bytes
LINK_HEADER = "X-Round-Link"
LINKS_BEFORE_HEADER = "X-Round-Links-Before"
_WORKER = "plantings/js/phone/worker.js"
_STYLES = ("registry/css/base/tokens.css", "plantings/css/phone.css")
_SCRIPT_ORDER = "parts store photos checks send plan screens scan walk blocks cautions counts state telling earlier drafts recording page"
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


_COMPACT = {"ensure_ascii": False, "separators": (",", ":")}  # French letters in two bytes where an escape takes six; no blanks


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


class _Said(Exception):
    """An answer that is not the one asked for: its status and a sentence for whoever holds the phone."""

    def __init__(self, status, words, wait_s=0):
        self.response = JsonResponse({"error": words}, status=status)
        if wait_s:
            self.response.headers["Retry-After"] = str(wait_s)


class PhoneJson(View):
    """What the page asks: always JSON, never stored, never a redirect."""

    @classmethod
    def as_view(cls, **initkwargs):
        return csrf_exempt(login_not_required(super().as_view(**initkwargs)))

    def dispatch(self, request, *args, **kwargs):
        try:
            response = self.answer(request, *args, **kwargs)
        except _Said as said:
            response = said.response
        except Busy as busy:
            response = _Said(503, " ".join(busy.messages), wait_s=20).response
        except LinkTooBusy:
            words = _("Too many requests came by this link in one minute. The phone tries again later.")
            response = _Said(429, words, wait_s=60).response
        except (Http404, LinkOver):
            response = _Said(404, self.not_there()).response
        response.headers["Cache-Control"] = "no-store"
        response.headers["X-Robots-Tag"] = "noindex"
        return response

    def not_there(self):
        return _(
            "This round is not among yours. If you were taken off its crew, ask the coordinator. What you recorded stays on this phone: "
            "save it to a file and send it to them."
        )

    def answer(self, request, *args, **kwargs):
        """The response, once it is known who asks."""
        raise NotImplementedError

    def by_method(self, request, *args, **kwargs):
        return super().dispatch(request, *args, **kwargs)


class SignedInJson(PhoneJson):
    """For somebody with an account. Their session says who they are, so a POST needs the token against forged forms."""

    action = "census.enter"

    def answer(self, request, *args, **kwargs):
        response = self.answer_protected(request, *args, **kwargs)
        if response.status_code == 403:  # the page for a forged form, which a phone cannot read
            raise _Said(403, _("The server did not take this for its own page. Open Mastbook at its usual address; nothing is lost."))
        return response

    @method_decorator(csrf_protect)
    def answer_protected(self, request, *args, **kwargs):
        if not request.user.is_authenticated:
            raise _Said(401, _("You are signed out. What you recorded stays on this phone: sign in again to send it."))
        if not request.user.may(self.action):
            raise _Said(403, _("Your account may not record a census. Ask the coordinator."))
        return self.by_method(request, *args, **kwargs)

    @property
    def user(self):
        return self.request.user

    scoped = AccessMixin.scoped


class CensusPhonePingView(SignedInJson):
    """Who is signed in, and the token that their next batch needs."""

    def get(self, request):
        return JsonResponse({"user": {"id": request.user.pk, "name": str(request.user)}, "csrf": get_token(request)})


class CensusPhoneDataView(SignedInJson):
    """A round for the phone, and the records that come back."""

    def get(self, request, pk):
        return data_answer(request, get_round(self, pk), request.user)

    def post(self, request, pk):
        return batch_answer(request, get_round(self, pk), request.user)


class PhoneByLinkView(PhoneJson):
    """The same by a link to one round. The link comes in a header of its own, which no other site can make a browser send."""

    def answer(self, request):
        self.link = link_for_token(request.headers.get(LINK_HEADER, ""), timezone.localdate())
        if self.link is None:
            raise Http404
        if round_link_at_limit(self.link):
            raise LinkTooBusy
        is_batch = request.method == "POST" and request.content_type == "application/json"
        if not is_batch:  # one is counted where it is stored
            round_link_read(self.link, opened=request.method == "GET" and not request.GET.get("part"))
        return self.by_method(request)

    def not_there(self):
        return _(
            "This link does not work, or no longer. Ask whoever gave it to you for another. What you recorded stays on this phone: save it "
            "to a file and send it to them."
        )

    def get(self, request):
        return data_answer(request, self.link.round, self.link.entered_by, link=self.link)

    def post(self, request):
        before = links_before(request.headers.get(LINKS_BEFORE_HEADER, ""), self.link)
        try:
            return batch_answer(request, self.link.round, self.link.entered_by, link=self.link, before=before)
        except (_Said, LinkOver):  # nothing was stored
            round_link_read(self.link)
            raise


def data_answer(request, census_round, actor, *, link=None):
    """The round; with `part` in the address the trees of that part, with an empty one the round without trees of a large planting."""
    key = request.GET.get("part")
    if not key:
        return JsonResponse(phone_data(census_round, actor, link=link, in_parts=key is not None), json_dumps_params=_COMPACT)
    part = phone_part(census_round, key)
    if part is None:
        raise _Said(410, _("The blocks of this planting have changed. Load the page again, then fetch them; nothing is lost."))
    return JsonResponse(part, json_dumps_params=_COMPACT)


def batch_answer(request, census_round, actor, *, link=None, before=(), draw=None):
    """Store a batch and answer each of its records; a photo is a batch of one."""
    if request.content_type == "image/jpeg" and draw is None:
        return photo_answer(request, census_round, actor, link=link, before=before)
    batch = read_batch(request)
    try:
        answers = census_batch_receive(
            actor=actor, census_round=census_round, sent=batch["records"], clock_ms=batch["clock"], link=link, before=before,
            draw=draw,
        )  # fmt: skip
    except Busy:
        raise
    except ValidationError as error:
        raise _Said(400, " ".join(error.messages)) from None
    return JsonResponse({"answers": [answer._asdict() for answer in answers]})


def read_batch(request):
    """The batch as JSON; what is none is refused in words."""
    too_large = _Said(413, _("This batch is too large. Send at most %(most)s records at once.") % {"most": BATCH_MOST})
    try:
        if int(request.headers.get("Content-Length") or 0) > BATCH_BYTES_MOST:
            raise too_large
        batch = json.loads(request.body, parse_constant=_no_number)
    except RequestDataTooBig:
        raise too_large from None
    except (ValueError, RecursionError, RawPostDataException):  # cut off, nested too deep, not text, a form
        batch = None
    if not isinstance(batch, dict) or type(batch.get("clock")) is not int or not isinstance(batch.get("records"), list):
        raise _Said(400, _("This batch cannot be read. Nothing of it was stored; the phone sends it again."))
    if batch.get("version") != VERSION:
        raise _Said(400, _("The page on this phone is of another version than the server. Load the page again; nothing is lost."))
    return batch


def _no_number(text):
    raise ValueError(f"{text} is not a number of JSON")
