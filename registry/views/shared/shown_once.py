"""Forms that make a key, such as a link or a token. The answer to the form shows it, and nothing later, since only its hash is stored."""

from django.core.exceptions import ValidationError
from django.shortcuts import render

from registry.views.shared.forms import RecordActionView, add_errors

__all__ = ["ShownOnceView"]


class ShownOnceView(RecordActionView):
    """Declare the `service`, which gives (record, key), the `shown_template`, the `shown_question` above it, and `shown(key)`, a dict of
    what the template says of the key."""

    shown_template = shown_question = ""

    def form_valid(self, form):
        try:
            made, key = self.perform(form)
        except ValidationError as error:
            add_errors(form, error)
            return self.form_invalid(form)
        page = {"title": self.get_title(), "question": self.shown_question, "made": made, "back": self.get_cancel_url()}
        response = render(self.request, self.shown_template, page | self.shown(key))
        response.headers["Cache-Control"] = "no-store"
        return response
