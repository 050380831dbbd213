"""What the pages of a partner and of a paper show of the landowners' side."""

from registry.choices import AuthorizationType
from registry.models import AgreementSignature, LandNotice, PrivateLink
from registry.selectors.land.land import link_words
from registry.views.shared.addresses import reverse_to
from registry.views.shared.details import PART_ROWS_MAX
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column, Link

EXAMPLE = "an example, not law"
SIGN = Action(
    "Enter a signature", "authorization_sign", "authorization.edit",
    when=lambda page: page.object.type == AuthorizationType.LANDOWNER,
)  # fmt: skip


def text_words(text):
    return f"{text.title}, version {text.version}" + (f" ({EXAMPLE})" if text.is_example else "")


def _revoke_url(made):
    return None if made.revoked_at else reverse_to("privatelink_revoke", made.pk)


# who signed which wording of a landowner agreement; other papers are not signed
PAPER_SIGNATURES = Section(
    title="Signatures",
    unit="signatures",
    when=lambda page: page.object.type == AuthorizationType.LANDOWNER,
    rows=lambda page: page.scoped(AgreementSignature).filter(authorization=page.object).select_related("text", "entered_by"),
    most=PART_ROWS_MAX,
    columns=(
        Column(
            "Wording",
            lambda signature: text_words(signature.text),
            url=Link("agreementtext_detail", "text_id", "authorization.view"),
            wide=True,
        ),
        Column("Signed by", "signed_by"),
        Column("Signed on", "signed_on", kind="date"),
        Column("How", "get_how_display"),
        Column("Entered by", lambda signature: str(signature.entered_by or "")),
    ),
    missing="signatures",
    add=SIGN,
)
PARTNER_NOTICES = Section(
    title="Messages from them",
    unit="messages",
    may="landnotice.view",
    rows=lambda page: page.scoped(LandNotice).filter(partner=page.object),
    most=PART_ROWS_MAX,
    columns=(
        Column("Received on", "entered_at", kind="date", url=Link("landnotice_detail")),
        Column("About", "get_kind_display"),
        Column("Site", "site_code", kind="code"),
        Column("Acted on", "handled_on", kind="date"),
        Column("By", "handled_by"),
    ),
    missing="messages from them",
    add=Action("Enter a message from them", "partner_notice", "landnotice.edit"),
)
PARTNER_LINKS = Section(
    title="Private links",
    unit="links",
    may="link.edit",
    note="A link opens their own page without a password. It is shown once, when it is made; only its hash is stored.",
    rows=lambda page: page.scoped(PrivateLink).filter(person__partner=page.object).select_related("person", "entered_by"),
    most=PART_ROWS_MAX,
    columns=lambda page, links: (
        Column("In the name of", lambda made: str(made.person)),
        Column("State", lambda made: link_words(made, page.today), kind="state"),
        Column("Made on", "entered_at", kind="date"),
        Column("Made by", lambda made: str(made.entered_by or "")),
        Column("Last opened", "opened_at", kind="date"),
        Column("Change", lambda made: "" if made.revoked_at else "revoke", url=_revoke_url),
    ),
    missing="private links",
    add=Action("Make a private link", "partner_link", "link.edit"),
)
