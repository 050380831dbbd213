"""What the pages of a partner and of a paper show of the landowner's side."""

from django.utils import timezone

from registry.choices import AuthorizationType
from registry.models import AgreementSignature, LandNotice, PrivateLink
from registry.selectors.land.land import link_words
from registry.views.shared.generic import reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, allowed, link
from registry.views.shared.tables import Column, ledger_table

EXAMPLE = "an example, not law"


def text_words(text):
    return f"{text.title}, version {text.version}" + (f" ({EXAMPLE})" if text.is_example else "")


def signatures_table(user, signatures):
    columns = (
        Column("Wording", lambda signature: text_words(signature.text), url=lambda s: link(
            user, "authorization.view", "agreementtext_detail", s.text_id
        )),
        Column("Signed by", "signed_by"),
        Column("Signed on", "signed_on", kind="date"),
        Column("How", "get_how_display"),
        Column("Entered by", lambda signature: str(signature.entered_by or "")),
    )  # fmt: skip
    empty = "Nobody has signed a wording of it yet."
    return ledger_table("Signatures", columns, signatures, unit="signatures", empty=empty)


def paper_land_parts(user, paper):
    """{"actions", "parts"} for the page of a paper: who signed which wording of a landowner agreement; nothing for other papers."""
    if paper.type != AuthorizationType.LANDOWNER:
        return {"actions": [], "parts": []}
    signatures = AgreementSignature.objects.for_user(user).filter(authorization=paper).select_related("text", "entered_by")
    return {
        "actions": allowed(user, ("Enter a signature", "authorization.edit", reverse_to("authorization_sign", paper.pk))),
        "parts": [signatures_table(user, signatures[:PART_ROWS_MAX])],
    }


def partner_land_parts(user, partner):
    """{"actions", "parts"} for the page of a partner: private links, and what they told us."""
    links = [links_table(user, partner)] if user.may("link.edit") else []
    notices = [notices_table(user, partner)] if user.may("landnotice.view") else []
    return {
        "actions": allowed(
            user,
            ("Make a private link", "link.edit", reverse_to("partner_link", partner.pk)),
            ("Enter what they told us", "landnotice.edit", reverse_to("partner_notice", partner.pk)),
        ),
        "parts": [*notices, *links],
    }


def links_table(user, partner):
    today = timezone.localdate()
    columns = (
        Column("Acts in the name of", lambda made: str(made.person)),
        Column("State", lambda made: link_words(made, today), kind="state"),
        Column("Made on", "entered_at", kind="date"),
        Column("Made by", lambda made: str(made.entered_by or "")),
        Column("Last opened", "opened_at", kind="date"),
        Column("Take back", lambda made: "" if made.revoked_at else "take it back", url=lambda made: _revoke_url(made)),
    )
    links = PrivateLink.objects.for_user(user).filter(person__partner=partner).select_related("person", "entered_by")
    note = "A link opens their own page without a password. It is shown once, when it is made; the book keeps only its hash."
    return ledger_table("Private links", columns, links[:PART_ROWS_MAX], unit="links", note=note, empty="No link was made yet.")


def _revoke_url(made):
    return None if made.revoked_at else reverse_to("privatelink_revoke", made.pk)


def notices_table(user, partner):
    columns = (
        Column("Told on", "entered_at", kind="date", url=lambda notice: reverse_to("landnotice_detail", notice.pk)),
        Column("About", "get_kind_display"),
        Column("Site", "site_code", kind="code"),
        Column("Acted on", "handled_on", kind="date"),
        Column("By", "handled_by"),
    )
    notices = LandNotice.objects.for_user(user).filter(partner=partner)
    return ledger_table("What they told us", columns, notices[:PART_ROWS_MAX], unit="notices", empty="Nothing yet.")
