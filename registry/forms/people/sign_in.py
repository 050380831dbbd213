from django.contrib.auth.forms import AuthenticationForm, PasswordResetForm, UsernameField
from django.forms import TextInput
from django.utils.translation import get_language, gettext_lazy, override

from registry.access.languages import mail_language
from registry.models import Person


class SignInForm(AuthenticationForm):
    """Django's form, in the words of the other pages about accounts."""

    # a longer one is nobody's, and PostgreSQL would not take it among the wrong ones that are counted
    username = UsernameField(
        label=gettext_lazy("Sign-in name"),
        max_length=Person._meta.get_field("username").max_length,
        widget=TextInput(attrs={"autofocus": True}),
    )
    error_messages = AuthenticationForm.error_messages | {
        "invalid_login": gettext_lazy("This sign-in name and password do not match. Check both: capital letters count."),
    }


class PasswordMailForm(PasswordResetForm):
    """Django's form; each mail is in the language of its reader, or of the page where they have chosen none."""

    def send_mail(self, subject_template_name, email_template_name, context, *args, **kwargs):
        with override(mail_language(context["user"], otherwise=get_language())):
            super().send_mail(subject_template_name, email_template_name, context, *args, **kwargs)
