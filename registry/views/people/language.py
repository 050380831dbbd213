"""The choice of a language: stored on the device by a cookie, and for somebody with an account so that mails come in it."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse, HttpResponseRedirect
from django.utils.decorators import method_decorator
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.generic import View

from registry.services.people.people import language_choose

__all__ = ["LanguageView", "keep_language", "language_sent"]


def keep_language(response, language):
    """Have the browser remember a language. The script of the phone census reads this cookie, so it is not hidden from scripts."""
    response.set_cookie(
        settings.LANGUAGE_COOKIE_NAME, language, max_age=settings.LANGUAGE_COOKIE_AGE, samesite=settings.LANGUAGE_COOKIE_SAMESITE,
        secure=settings.TLS,
    )  # fmt: skip
    return response


def language_sent(request):
    """The language of the button that was pressed; that of the source for any other word."""
    sent = request.POST.get("language")
    return sent if sent in dict(settings.LANGUAGES) else settings.LANGUAGE_CODE


@method_decorator(login_not_required, name="dispatch")
class LanguageView(View):
    """Stores the choice and goes back to the page on which it was made; a script that names no page is told that it is stored."""

    http_method_names = ["post"]

    def post(self, request):
        language, page = language_sent(request), request.POST.get("next", "")
        if request.user.is_authenticated:
            language_choose(person=request.user, language=language)
        if not page:
            return keep_language(HttpResponse(status=204), language)
        is_ours = url_has_allowed_host_and_scheme(page, {request.get_host()}, require_https=request.is_secure())
        return keep_language(HttpResponseRedirect(page if is_ours else "/"), language)
