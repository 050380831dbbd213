"""Answers for programs: JSON for whoever sends a token, or is signed in. Read-only."""

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, JsonResponse
from django.utils import timezone
from django.utils.cache import patch_vary_headers
from django.utils.decorators import method_decorator
from django.utils.translation import override
from django.views.decorators.csrf import csrf_exempt
from django.views.generic import View

from registry.access.languages import OFFICE_LANGUAGE
from registry.access.request_rate import RequestRate
from registry.access.sign_in import client_address
from registry.access.views import AccessMixin
from registry.selectors.people.tokens import token_for_secret
from registry.services.people.tokens import token_used
from registry.views.shared.problems import Problem

RATE = RequestRate()
_ASK = {"WWW-Authenticate": 'Bearer realm="Mastbook"'}
_NO_TOKEN = "Send a token in the header: Authorization: Bearer TOKEN. A programme lead issues tokens."
_BAD_TOKEN = "This token does not work, or no longer. Ask a programme lead for another."


# without a form that could be sent from elsewhere: nothing is ever changed here, and another site cannot read the answer
@method_decorator((login_not_required, csrf_exempt), name="dispatch")
class JsonApiView(AccessMixin, View):
    """An answer in JSON. What went wrong is JSON too, and no request is led to the sign-in.

    Declare `action`, and `get_answer()` which gives the value. Words are in the language of the office, since programs compare them.
    """

    http_method_names = ("get", "head", "options")

    def dispatch(self, request, *args, **kwargs):
        with override(OFFICE_LANGUAGE):
            try:
                request.user = self.signed_in(request)
                response = super().dispatch(request, *args, **kwargs)
            except Problem as problem:
                response = problem.answer()
            except PermissionDenied:
                response = Problem(403, "The role of this person may not read this.").answer()
            except Http404:
                response = Problem(404, "There is nothing at this address for this person.").answer()
        patch_vary_headers(response, ("Authorization", "Cookie"))
        return response

    def signed_in(self, request):
        """Who reads: the person of the token, or else who is signed in. Raises Problem without either."""
        sent = request.headers.get("Authorization", "")
        if sent:
            return self.by_token(sent, request)
        if request.user.is_authenticated:
            return request.user
        raise Problem(401, _NO_TOKEN, headers=_ASK)

    def by_token(self, sent, request):
        """The person of a token. Raises Problem for one that does not work, and after too many requests."""
        scheme, _blank, secret = sent.partition(" ")
        today = timezone.localdate()
        token = token_for_secret(secret.strip(), today) if scheme.lower() == "bearer" else None
        if token is None:
            self.count(("address", client_address(request)))
            raise Problem(401, _BAD_TOKEN, headers={"WWW-Authenticate": f'{_ASK["WWW-Authenticate"]}, error="invalid_token"'})
        self.count(("token", token.pk))
        token_used(token, today)
        return token.person

    @staticmethod
    def count(name):
        wait = RATE.wait_s(name)
        if wait:
            raise Problem(429, f"Too many requests. Wait {wait} s, then go on.", headers={"Retry-After": str(wait)})

    def http_method_not_allowed(self, request, *args, **kwargs):
        raise Problem(405, "This interface is read-only. Use GET.", headers={"Allow": "GET, HEAD, OPTIONS"})

    def get(self, request, *args, **kwargs):
        return JsonResponse(self.get_answer(), json_dumps_params={"ensure_ascii": False, "allow_nan": False})
