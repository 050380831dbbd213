from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.forms import TextInput
from django.utils.translation import gettext_lazy


class SignInForm(AuthenticationForm):
    """Django's form, in the words of the other pages about accounts."""

    username = UsernameField(label=gettext_lazy("Sign-in name"), widget=TextInput(attrs={"autofocus": True}))
    error_messages = AuthenticationForm.error_messages | {
        "invalid_login": gettext_lazy("This sign-in name and password do not match. Check both: capital letters count."),
    }
