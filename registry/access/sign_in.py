"""How often a sign-in may fail, and how long one lasts. The counting is that of the axes library; the limits are ours.

Limits after NIST SP 800-63B-4 (2025), 3.2.2: a password that was wrong a hundred times in a row no longer works until its owner
sets a new one or the office unlocks the account.
"""

import datetime
import ipaddress

from axes.handlers.database import AxesDatabaseHandler
from axes.models import AccessAttempt, AccessFailureLog
from django.conf import settings
from django.db.models import Sum
from django.utils import timezone

from registry.access import roles

WAIT = datetime.timedelta(minutes=15)
WRONG_BY_PERSON = 10
WRONG_BY_ADDRESS = 60  # an office shares one address
WRONG_IN_A_ROW = 100
LOGGED_FOR = datetime.timedelta(days=90)

MAIL_WINDOW = datetime.timedelta(hours=1)  # mails for a new password: common practice, no source
MAILS_BY_PERSON = 3
MAILS_BY_ADDRESS = 20

OFFICE_SESSION = datetime.timedelta(days=7)
FIELD_SESSION = datetime.timedelta(days=120)  # a field season: a phone must not be signed out between visits
FORM_GRACE = datetime.timedelta(hours=12)  # a form that was open when the session ended can still be saved
SIGNED_IN_AT = "signed_in_at"


class SignInLimits(AxesDatabaseHandler):
    """Counts wrong passwords by person and by address, each with its own limit."""

    def get_failures(self, request, credentials=None):
        """The largest share of a limit that is used up: 1 or more is locked."""
        by_person, by_address = (_wrong(attempts) for attempts in self.get_user_attempts(request, credentials))
        in_a_row = AccessFailureLog.objects.filter(username=_username(request, credentials)).count()
        return max(by_person / WRONG_BY_PERSON, by_address / WRONG_BY_ADDRESS, in_a_row / WRONG_IN_A_ROW)

    def reset_user_attempts(self, request, credentials=None):
        """After a sign-in: forget what was wrong for this person, but not what came from this address for others."""
        return sign_in_forget(_username(request, credentials))

    def clean_expired_user_attempts(self, request=None, credentials=None):
        AccessFailureLog.objects.filter(attempt_time__lt=timezone.now() - LOGGED_FOR).delete()
        return super().clean_expired_user_attempts(request, credentials)


def cool_off(request=None):
    """How long a lock lasts, as the library asks for it."""
    return WAIT


def _wrong(attempts):
    return attempts.aggregate(wrong=Sum("failures_since_start"))["wrong"] or 0


def _username(request, credentials):
    from axes.helpers import get_client_username

    return get_client_username(request, credentials)


def sign_in_forget(username):
    """Forget the wrong passwords of one account. Returns how many rows there were."""
    return sum(model.objects.filter(username=username).delete()[0] for model in (AccessAttempt, AccessFailureLog))


def locked_until(username, now):
    """When an account that is locked can sign in again: a moment, `None` when it is not locked; the last moment there is, when it
    stays locked until somebody unlocks it."""
    if AccessFailureLog.objects.filter(username=username).count() >= WRONG_IN_A_ROW:
        return datetime.datetime.max.replace(tzinfo=datetime.UTC)
    attempts = AccessAttempt.objects.filter(username=username, attempt_time__gte=now - WAIT)
    if _wrong(attempts) < WRONG_BY_PERSON:
        return None
    return max(attempts.values_list("attempt_time", flat=True)) + WAIT


def client_address(request):
    """The address a sign-in comes from. Behind TLS it is the last one that our own proxy added; None when none is known."""
    sent = request.META.get("HTTP_X_FORWARDED_FOR", "").rpartition(",")[2].strip() if settings.TLS else ""
    for text in (sent, request.META.get("REMOTE_ADDR", "")):
        try:
            return str(ipaddress.ip_address(text))
        except ValueError:
            continue
    return None


def note_sign_in(sender, request, user, **kwargs):
    """Note when a session began. Connected to Django's signal of a sign-in."""
    request.session[SIGNED_IN_AT] = timezone.now().isoformat()
    request.session.set_expiry(int((session_length(user) + FORM_GRACE).total_seconds()))


def session_length(person):
    """How long a sign-in lasts: days for whoever sees other people's records, a season in the field."""
    return FIELD_SESSION if person.role in roles.OWN_ROWS_ONLY else OFFICE_SESSION


def session_is_over(request, now):
    """Whether the session of a signed-in person has lasted its time; a form that is being sent has some hours more."""
    began = request.session.get(SIGNED_IN_AT)
    if began is None:
        return True
    allowed = session_length(request.user) + (FORM_GRACE if request.method == "POST" else datetime.timedelta())
    return datetime.datetime.fromisoformat(began) + allowed <= now
