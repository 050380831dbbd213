"""Links to record a round without an account: making one, listing them on the page of the round, revoking one."""

from django.urls import reverse

from plantings.forms.round_links import RoundLinkForm
from plantings.models import CensusRound, RoundLink
from plantings.selectors.census.round_links import link_state, links_listed
from plantings.services.census.round_links import round_link_make
from registry.forms.land.land import RevokeForm
from registry.services.land.links import link_revoke
from registry.templatetags.addresses import leads_here_only
from registry.views.prints.print_view import ONLY_HERE
from registry.views.shared.addresses import reverse_to
from registry.views.shared.details import PART_ROWS_MAX
from registry.views.shared.forms import RecordActionView
from registry.views.shared.sections import Action, Section
from registry.views.shared.shown_once import ShownOnceView
from registry.views.shared.tables import Column

__all__ = ["ROUND_LINKS", "RoundLinkRevokeView", "RoundLinkView", "link_address"]


def link_address(request, token):
    """What opens a link on a phone. The token is behind the #, which no browser sends: so it is in no log of a server."""
    return f"{request.build_absolute_uri(reverse('phone_home'))}#{token}"


class RoundLinkView(ShownOnceView):
    model = CensusRound
    action = "link.edit"
    form_class = RoundLinkForm
    form_extras = property(lambda page: {"census_round": page.object})
    title = "Link to record {object}"
    question = "Who records this round on a phone, without an account?"
    submit_label = "Make the link"
    service = round_link_make
    argument = "census_round"
    shown_template = "plantings/census/round_link_made.html"
    shown_question = "The link is shown only once. Copy it, or scan the code with the phone."
    cautions = (
        {
            "title": "A link is a key",
            "lines": [
                "Whoever has it can record trees of this round until its last day.",
                "The records are entered in your name, with the name given on the phone as the observer.",
                "If someone else may have it, revoke it and make another.",
            ],
        },
    )

    def shown(self, key):
        return {"address": link_address(self.request, key), "only_here": ONLY_HERE if leads_here_only(self.request) else ""}


class RoundLinkRevokeView(RecordActionView):
    model = RoundLink
    action = "link.edit"
    form_class = RevokeForm
    title = "Revoke the {object}"
    question = "The link stops working at once and cannot be restored. What is not sent yet stays on the phones."
    submit_label = "Revoke the link"
    success_message = "Link revoked."
    service = link_revoke
    argument = "link"
    back_to = property(lambda page: page.object.round)


def _revoke_url(link):
    return None if link.revoked_at else reverse_to("roundlink_revoke", link.pk)


ROUND_LINKS = Section(
    title="Links for phones",
    unit="links",
    may="link.edit",
    note="By a link a crew without accounts records this round. It is shown once, when it is made; only its hash is stored.",
    rows=lambda page: links_listed(page.scoped(RoundLink).filter(round=page.object)),
    most=PART_ROWS_MAX,
    columns=lambda page, links: (
        Column("For whom", "for_whom"),
        Column("State", lambda link: link_state(link, page.today), kind="state"),
        Column("Made on", "entered_at", kind="date"),
        Column("Made by", lambda link: str(link.entered_by)),
        Column("Times fetched", "opened", "right", "number"),
        Column("Records", "stored", "right", "number"),
        Column("Change", lambda link: "" if link.revoked_at else "revoke", url=_revoke_url),
    ),
    missing="links for phones",
    add=Action("Make a link for phones", "round_link", "link.edit"),
)
