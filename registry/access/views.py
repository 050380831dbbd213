"""What every view passes: the action of the role table (403) and the row rule of the record type (404)."""

from django.core.exceptions import ImproperlyConfigured, PermissionDenied
from django.utils import timezone
from django.utils.functional import cached_property


class AccessMixin:
    """Refuses a person whose role may not do `action`; hands out only rows of their scope.

    A view without an `action` is a programming error and fails at the first request; a test walks all routes.
    """

    action = None

    def dispatch(self, request, *args, **kwargs):
        if self.action is None:
            raise ImproperlyConfigured(f"{type(self).__name__} declares no action.")
        if not request.user.may(self.action):
            raise PermissionDenied
        self.find_rows()
        return super().dispatch(request, *args, **kwargs)

    def find_rows(self):
        """Find the rows the page is about, among those the person may see; Http404 when there are none."""

    user = property(lambda view: view.request.user)
    today = cached_property(lambda view: timezone.localdate())

    def may(self, action):
        return self.request.user.may(action)

    def scoped(self, model):
        """The rows of a record type this person may see."""
        return model._default_manager.for_user(self.request.user)

    def limit_choices(self, form):
        """Offer only rows of the person's scope in every choice of a form."""
        for field in form.fields.values():
            queryset = getattr(field, "queryset", None)
            if queryset is not None and hasattr(queryset, "for_user"):
                field.queryset = queryset.for_user(self.request.user)
        return form
