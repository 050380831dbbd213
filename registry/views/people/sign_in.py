"""Signing in and out: Django's views, with what the site adds to them."""

from django.contrib.auth import views as auth_views


class SignOutView(auth_views.LogoutView):
    """Signs out, and has the browser drop the pages it stored, so that “back” shows the next person nothing."""

    def dispatch(self, request, *args, **kwargs):
        response = super().dispatch(request, *args, **kwargs)
        if response.status_code != 405:
            response.headers["Clear-Site-Data"] = '"cache"'
        return response
