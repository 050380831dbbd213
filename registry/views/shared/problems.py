"""What went wrong, as a program reads it: problem details (RFC 9457)."""

from http import HTTPStatus

from django.http import JsonResponse

API_PREFIX = "/api/"
PROBLEM_TYPE = "application/problem+json"


class Problem(Exception):
    """Why a request of a program is not answered. `errors` are [(parameter, what is wrong and what to do)]."""

    def __init__(self, status, detail, errors=(), headers=None):
        super().__init__(detail)
        self.status, self.detail, self.errors, self.headers = status, detail, errors, headers or {}

    def answer(self):
        found = {"type": "about:blank", "title": HTTPStatus(self.status).phrase, "status": self.status, "detail": self.detail}
        if self.errors:
            found["errors"] = [{"parameter": name, "detail": words} for name, words in self.errors]
        return JsonResponse(found, status=self.status, content_type=PROBLEM_TYPE, headers=self.headers)


def for_program(request):
    """Whether a request comes from a program that reads JSON, and not from a browser that shows a page."""
    return request.path.startswith(API_PREFIX)
