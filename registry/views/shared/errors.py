import sys

from django.shortcuts import render
from django.utils import translation
from django.views import defaults

from registry.access.languages import refusal_language
from registry.disk.faults import outside_fault_words
from registry.views.shared.problems import Problem, for_program

_TRY_AGAIN_S = 60


def csrf_failure(request, reason=""):
    """The page shown when a form was not accepted: usually the person has signed out since, or cookies are off."""
    with translation.override(refusal_language(request)):
        return render(request, "403_csrf.html", status=403)


def bad_request(request, exception):
    if for_program(request):
        return Problem(400, "This address cannot be read. Check it for characters that no text has.").answer()
    return defaults.bad_request(request, exception)


def permission_denied(request, exception):
    with translation.override(refusal_language(request)):
        return defaults.permission_denied(request, exception)


def page_not_found(request, exception):
    if for_program(request):
        return Problem(404, "There is nothing at this address. The OpenAPI description lists what there is.").answer()
    with translation.override(refusal_language(request)):
        return defaults.page_not_found(request, exception)


def page_failed(request):
    """The page shown after an error that nothing caught. What came from outside, such as a full disk, is said in words."""
    words = outside_fault_words(sys.exc_info()[1])
    if for_program(request):
        detail = words or "Mastbook made a mistake. Tell whoever runs it the address and the time."
        return Problem(503 if words else 500, detail, headers={"Retry-After": str(_TRY_AGAIN_S)} if words else None).answer()
    if not words:
        return defaults.server_error(request)
    # no request in the context: its processors would ask the database, which may be what failed
    response = render(None, "503.html", {"words": words}, status=503)
    response.headers["Retry-After"] = str(_TRY_AGAIN_S)
    return response
