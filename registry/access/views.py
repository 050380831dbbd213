"""What every view passes: the action of the role table (403) and the row rule of the record type (404)."""

from django.core.exceptions import ImproperlyConfigured, PermissionDenied


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
        return super().dispatch(request, *args, **kwargs)

    @property
    def user(self):
        return self.request.user

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
