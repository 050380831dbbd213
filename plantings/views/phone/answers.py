"""What the page of the phone and its worker ask the server: a round as JSON, and the batches that come back.

An answer in JSON is never a redirect to the sign-in: a phone could not tell that page from its own.
"""

import json

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import RequestDataTooBig, ValidationError
from django.http import Http404, JsonResponse
from django.http.request import RawPostDataException
from django.middleware.csrf import get_token
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.generic import View

from plantings.selectors.census.round_links import link_for_token, links_before
from plantings.services.census.batch import BATCH_MOST, census_batch_receive
from plantings.services.census.round_links import LinkOver, LinkTooBusy, round_link_at_limit, round_link_read
from plantings.views.census.rounds import get_round
from plantings.views.phone.data import VERSION, phone_data, phone_part
from plantings.views.plantings.photos import photo_answer
from registry.access.views import AccessMixin
from registry.services.audit.busy import Busy

BATCH_BYTES_MOST = 1_200_000  # 200 records with the longest notes, in letters of four bytes
LINK_HEADER = "X-Round-Link"
LINKS_BEFORE_HEADER = "X-Round-Links-Before"
_COMPACT = {"ensure_ascii": False, "separators": (",", ":")}  # French letters in two bytes where an escape takes six; no blanks


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
    """The round; with `part` in the address the trees of that part, with an empty one the round without trees of a large planting.
    With `days=once` a day that all last readings of a tree have is written once, as an earlier page of the phone does not read it."""
    key, days_once = request.GET.get("part"), request.GET.get("days") == "once"
    if not key:
        data = phone_data(census_round, actor, link=link, in_parts=key is not None, days_once=days_once)
        return JsonResponse(data, json_dumps_params=_COMPACT)
    part = phone_part(census_round, key, days_once=days_once)
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
