"""The sections of the bar, by what people come to do. A role sees only its own."""

from dataclasses import dataclass

from django.conf import settings
from django.urls import reverse
from django.utils.translation import get_language, gettext

from registry.access.languages import has_choice
from registry.calc.shared.marked import gettext_noop

# label, action that opens it, route, first words of the routes that belong to it
SECTIONS = (
    (gettext_noop("Today"), "today.view", "today", "today job"),
    (
        gettext_noop("Material"), "lot.view", "lot_list",
        "lot ledger taxon pedigreetree harvest seedtest handbook pollenpool how material identityquestion identityevidence impact orchard "
        "rating ratingscale decision share setting",
    ),
    (gettext_noop("Movements"), "shipment.view", "shipment_list", "shipment receipt leftover partner privatelink"),
    (
        gettext_noop("Plantings"), "planting.view", "planting_list",
        "planting site tree round roundlink protocol ownmeasurement census field observation photo seconddraw secondmeasurement block "
        "countedplot plotcount selfsown formpage formscan pagekeying boundary "
        "caution cautiontext",
    ),
    (
        gettext_noop("Papers"), "authorization.view", "authorization_list",
        "authorization issuedprint requirement ruleverification materialclass document determination agreementtext landnotice "
        "duty reportingclock incident calendar",
    ),
    (gettext_noop("Results"), "map.view", "results", "results survival model map issuedreport api"),
    (gettext_noop("Help"), "help.view", "help", "help sheet combined load person accesstoken audit book"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Section:
    label: str
    url: str
    current: bool


def sections(request):
    """Context processor: the sections this person sees, and the name of their role."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {}
    match = request.resolver_match
    route = (match.url_name if match else "") or ""
    shown = [
        Section(gettext(label), reverse(name), any(route == word or route.startswith(f"{word}_") for word in words.split()))
        for label, action, name, words in SECTIONS
        if user.may(action)
    ]
    return {"sections": shown, "role_label": gettext(user.role_label)}


def languages(request):
    """Context processor: the other language, on pages that are in both."""
    if request.resolver_match is None or not has_choice(request):
        return {}
    other = next((code, words) for code, words in settings.LANGUAGES if code != get_language())
    return {"other_language": other, "language_url": reverse("language"), "here": request.get_full_path()}
