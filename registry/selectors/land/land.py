"""Reads about landowners: their links, what they agreed to, what they told us."""

import hashlib

from django.db.models import Count, F, Q
from django.urls import reverse
from django.utils import timezone

from registry.access import roles
from registry.access.active import is_active_on
from registry.calc.shared.screen import day_words
from registry.choices import AuthorizationState, AuthorizationType
from registry.models import AgreementText, Authorization, LandNotice, Person, PrivateLink
from registry.selectors.duties.duty_line import Duty
from registry.selectors.permits.as_of import with_state_on

__all__ = [
    "agreements_of",
    "land_contacts",
    "land_duties",
    "link_for_token",
    "link_words",
    "may_have_link",
    "notices_listed",
    "programme_contacts",
    "texts_listed",
    "token_sha256",
    "wording_offered",
]


def token_sha256(token):
    return hashlib.sha256(token.encode()).hexdigest()


def may_have_link(person, on):
    """A link acts only in the name of a contact of a landowner who is there on the day."""
    return is_active_on(person, on) and person.role == roles.LANDOWNER and person.partner_id is not None


def land_contacts(partner, on):
    """The accounts of a partner in whose name a link can act."""
    people = Person.objects.filter(partner=partner, role=roles.LANDOWNER)
    return people.filter(pk__in=[person.pk for person in people if is_active_on(person, on)])


def link_for_token(token, on):
    """The link of a token that may be opened on a day, or None. Whoever holds it is not told why."""
    link = PrivateLink.objects.select_related("person__partner").filter(token_sha256=token_sha256(token), revoked_at__isnull=True).first()
    if link is None or (link.ends_on and link.ends_on < on) or not may_have_link(link.person, on):
        return None
    return link


def link_words(link, on):
    """The state of a link in words."""
    if link.revoked_at:
        return f"revoked on {day_words(timezone.localdate(link.revoked_at))}"
    if not may_have_link(link.person, on):
        return "does not work: the account is not an active contact"
    if link.ends_on and link.ends_on < on:
        return f"ended on {day_words(link.ends_on)}"
    return f"works until {day_words(link.ends_on)}" if link.ends_on else "works until it is revoked"


def agreements_of(user):
    """The landowner agreements a person may read: a landowner's contact those made with their own partner, others by their role."""
    papers = Authorization.objects.filter(type=AuthorizationType.LANDOWNER).order_by("-starts_on", "code")
    if user.role == roles.LANDOWNER:
        # a landowner reads no papers but the agreements made with them
        return papers.filter(partner=user.partner_id) if may_have_link(user, timezone.localdate()) else papers.none()
    return papers.for_user(user)


def wording_offered(authorization):
    """The wording to sign under an agreement: the newest version of the one signed before, or of the only one there is.

    None when its newest version is signed, when several wordings are there and none was signed yet, or when there is none.
    """
    last = authorization.signatures.select_related("text").order_by("-entered_at", "-pk").first()
    texts = AgreementText.objects.order_by("-entered_at", "-pk")
    if last is None:
        titles = AgreementText.objects.order_by("title").values_list("title", flat=True).distinct()[:2]
        return texts.filter(title=titles[0]).first() if len(titles) == 1 else None
    newest = texts.filter(title=last.text.title).first()
    return None if authorization.signatures.filter(text=newest).exists() else newest


def notices_listed(queryset):
    """Notices with their partner, open ones first."""
    return queryset.select_related("partner").order_by(F("handled_on").desc(nulls_first=True), "-entered_at", "-pk")


def texts_listed(queryset):
    return queryset.annotate(signed_count=Count("signatures"))


def programme_contacts():
    """Whom a landowner can call: the active coordinators with a telephone or an address, or else the leads."""
    reachable = Person.objects.filter(~Q(phone="") | ~Q(email=""))
    for role in roles.FIRST_CONTACT:
        people = [person for person in reachable.filter(role=role).order_by("username") if is_active_on(person, timezone.localdate())]
        if people:
            return people
    return []


def land_duties(user, on, limit=10):
    """Open messages from landowners, and agreements that are signed and still a draft."""
    if user.may("landnotice.view"):
        waiting = LandNotice.objects.for_user(user).filter(handled_on__isnull=True).select_related("partner").order_by("entered_at")
        for notice in waiting[:limit]:
            told = timezone.localdate(notice.entered_at)
            where = f", site {notice.site_code}" if notice.site_code else ""
            text = f"{notice.partner.name}{where}: {notice.get_kind_display()}. This message is still open"
            # a message open for more than two weeks is late (common practice, no source)
            severity = "late" if (on - told).days > 14 else "soon"
            yield Duty(severity, text, told, reverse("landnotice_detail", args=[notice.pk]))
    if user.may("authorization.edit"):
        signed = with_state_on(agreements_of(user).filter(signatures__isnull=False), on)
        drafts = signed.filter(state_then=AuthorizationState.DRAFT).distinct()
        for paper in drafts[:limit]:
            text = f"{paper.code} {paper.title} is signed but still a draft. Check it and set its state"
            yield Duty("soon", text, None, reverse("authorization_detail", args=[paper.pk]))
