"""Headers of every answer: what the browser may do with a page, and who may store it. The language of a page, and the end of a session."""

from django.contrib.auth import logout
from django.core.exceptions import BadRequest
from django.utils import timezone, translation

from registry.access.languages import OFFICE_LANGUAGE, language_for
from registry.access.sign_in import session_is_over

POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data:",
    "font-src": "'self'",
    "connect-src": "'self'",
    "frame-src": "'self'",
    "manifest-src": "'self'",
    "object-src": "'none'",
    "worker-src": "'none'",
    "form-action": "'self'",
    "frame-ancestors": "'self'",
    "base-uri": "'none'",
    # a script that makes markup of a text is stopped, whatever the text holds
    "require-trusted-types-for": "'script'",
    "trusted-types": "'none'",
}


def policy_text(**changes):
    """The policy as a header value; keyword `script_src="…"` replaces one directive, `script_src=None` leaves it out."""
    policy = POLICY | {name.replace("_", "-"): value for name, value in changes.items()}
    return "; ".join(f"{name} {value}" for name, value in policy.items() if value is not None)


def permissions_text(**changes):
    """What a page may ask of the device, as a header value: nothing, except what is named, such as `camera="(self)"`."""
    allowed = {"camera": "()", "geolocation": "()", "microphone": "()"} | changes
    return ", ".join(f"{name}={who}" for name, who in allowed.items())


class ContentSecurityPolicyMiddleware:
    """Sets the strict policy unless the view set its own (the map document needs a nonce), and lets no page use camera or place."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", policy_text())
        response.headers.setdefault("Permissions-Policy", permissions_text())
        return response


class PrivateAnswersMiddleware:
    """No answer is stored for other people; no download is stored at all. A view may set a stricter rule of its own.

    A page may be stored by the browser it was made for, which asks again before it shows the page: without that, going back to a
    form would lose what was typed. Static files never come here.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        is_page = response.headers.get("Content-Type", "").startswith("text/html")
        response.headers.setdefault("Cache-Control", "private, no-cache" if is_page else "private, no-store")
        return response


class NoNullMiddleware:
    """Refuses an address or a form that holds a null character: no text has one, and PostgreSQL stores and compares none."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        sent = [request.GET] + ([request.POST] if request.method == "POST" else [])
        texts = (text for data in sent for name, values in data.lists() for text in (name, *values))
        if "\0" in request.path or any("\0" in text for text in texts):
            raise BadRequest("A null character was sent.")
        return self.get_response(request)


class SessionLengthMiddleware:
    """Ends a session that has lasted as long as its person's role allows."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if request.user.is_authenticated and session_is_over(request, timezone.now()):
            logout(request)
        return self.get_response(request)


class LanguageMiddleware:
    """Answers in the language of the page; nothing of it is left for the next request of the same thread."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        with translation.override(OFFICE_LANGUAGE):
            response = self.get_response(request)
        return response

    def process_view(self, request, view, args, kwargs):
        translation.activate(language_for(request))
