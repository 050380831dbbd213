from django.contrib.auth.forms import AuthenticationForm, PasswordResetForm, UsernameField
from django.forms import TextInput
from django.utils.translation import get_language, gettext_lazy, override

from registry.access.languages import mail_language


class SignInForm(AuthenticationForm):
    """Django's form, in the words of the other pages about accounts."""

    username = UsernameField(label=gettext_lazy("Sign-in name"), widget=TextInput(attrs={"autofocus": True}))
    error_messages = AuthenticationForm.error_messages | {
        "invalid_login": gettext_lazy("This sign-in name and password do not match. Check both: capital letters count."),
    }


class PasswordMailForm(PasswordResetForm):
    """Django's form; each mail is in the language of its reader, or of the page where they have chosen none."""

    def send_mail(self, subject_template_name, email_template_name, context, *args, **kwargs):
        with override(mail_language(context["user"], otherwise=get_language())):
            super().send_mail(subject_template_name, email_template_name, context, *args, **kwargs)
