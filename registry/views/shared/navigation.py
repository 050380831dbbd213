"""The sections of the bar, by what people come to do. A role sees only its own."""

from dataclasses import dataclass

from django.urls import reverse

# label, action that opens it, route, first words of the routes that belong to it
SECTIONS = (
    ("Today", "today.view", "today", "today"),
    (
        "Material", "lot.view", "lot_list",
        "lot ledger taxon pedigreetree harvest seedtest handbook pollenpool how material identityquestion identityevidence impact orchard "
        "rating ratingscale decision share setting",
    ),
    ("Movements", "shipment.view", "shipment_list", "shipment receipt leftover partner privatelink"),
    (
        "Plantings", "planting.view", "planting_list",
        "planting site tree round roundlink census field observation seconddraw secondmeasurement block countedplot plotcount boundary "
        "caution cautiontext",
    ),
    (
        "Papers", "authorization.view", "authorization_list",
        "authorization issuedprint requirement ruleverification materialclass document determination agreementtext landnotice "
        "duty reportingclock incident calendar",
    ),
    ("Results", "map.view", "results", "results survival map"),
    ("Help", "help.view", "help", "help sheet person audit"),
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
        Section(label, reverse(name), any(route == word or route.startswith(f"{word}_") for word in words.split()))
        for label, action, name, words in SECTIONS
        if user.may(action)
    ]
    return {"sections": shown, "role_label": user.role_label}
