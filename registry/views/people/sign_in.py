"""Signing in and out: Django's views, with what Mastbook adds to them."""

from django.contrib.auth import views as auth_views
from django.shortcuts import redirect, render
from django.utils import timezone

from registry.access.sign_in import WAIT, client_address
from registry.forms.people.sign_in import PasswordMailForm, SignInForm
from registry.services.people.sign_in import password_asked, sign_in_unlock
from registry.views.people.language import keep_language


class SignInView(auth_views.LoginView):
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_valid(self, form):
        """A shared device goes on in the language of whoever signs in, where they have chosen one."""
        response = super().form_valid(form)
        return keep_language(response, self.request.user.language) if self.request.user.language else response


class SignOutView(auth_views.LogoutView):
    """Signs out, and has the browser drop the pages it stored, so that “back” shows the next person nothing."""

    def dispatch(self, request, *args, **kwargs):
        response = super().dispatch(request, *args, **kwargs)
        if response.status_code != 405:
            response.headers["Clear-Site-Data"] = '"cache"'
        return response


class PasswordMailView(auth_views.PasswordResetView):
    """Mails the link for a new password, so many times an hour. The answer is the same with and without an account, and beyond the
    limits."""

    form_class = PasswordMailForm
    email_template_name = "registration/password_reset_email.txt"
    html_email_template_name = "registration/password_reset_email.html"
    subject_template_name = "registration/password_reset_subject_line.txt"

    def form_valid(self, form):
        if password_asked(email=form.cleaned_data["email"], address=client_address(self.request), now=timezone.now()):
            return super().form_valid(form)
        return redirect(self.get_success_url())


class NewPasswordView(auth_views.PasswordResetConfirmView):
    """Sets a new password by the mailed link. Wrong tries with the old one no longer count."""

    def form_valid(self, form):
        response = super().form_valid(form)
        sign_in_unlock(actor=self.user, person=self.user)
        return response


def locked_out(request, original_response=None, credentials=None):
    """The sign-in page of an account or address that is locked. It says the same for every name, so that it tells nobody which exist."""
    form = SignInForm(request, initial={"username": request.POST.get("username", "")})
    minutes = int(WAIT.total_seconds() // 60)
    page = {"form": form, "locked_minutes": minutes, "next": request.POST.get("next", "")}
    response = render(request, "registration/login.html", page, status=429)
    response.headers["Retry-After"] = str(minutes * 60)
    return response
