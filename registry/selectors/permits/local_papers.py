"""The kinds and states of a paper as volunteers and landowners read them: the words of the gate in the language of the reader."""

from django.utils.translation import gettext_lazy, pgettext_lazy

from registry.compliance.gate.words import IN_FORCE, NONE_NEEDED

__all__ = ["PAPER_STATE_WORDS", "PAPER_TYPE_WORDS", "paper_state", "paper_type"]

PAPER_TYPE_WORDS = {
    "permit": gettext_lazy("permit"),
    "certificate": gettext_lazy("certificate"),
    "licence": gettext_lazy("licence"),
    "notification": gettext_lazy("notification"),
    "consent": gettext_lazy("consent"),
    "landowner": gettext_lazy("landowner agreement"),
    "transfer": gettext_lazy("germplasm or material transfer agreement"),
    "volunteer": gettext_lazy("volunteer agreement"),
    "applicator": gettext_lazy("pesticide applicator's licence"),
    "insurance": gettext_lazy("insurance"),
    "agreement": gettext_lazy("agreement of another kind"),
    NONE_NEEDED: gettext_lazy("determination that none is needed"),
}
PAPER_STATE_WORDS = {  # a paper is masculine in French, an agreement (views/land/parts.py) feminine
    "draft": pgettext_lazy("paper", "draft"),
    "applied": pgettext_lazy("paper", "applied"),
    IN_FORCE: pgettext_lazy("paper", "in force"),
    "suspended": pgettext_lazy("paper", "suspended"),
    "expired": pgettext_lazy("paper", "expired, duties running"),
    "closed": pgettext_lazy("paper", "closed"),
}


def paper_type(paper):
    return str(PAPER_TYPE_WORDS[paper.type])


def paper_state(paper):
    return str(PAPER_STATE_WORDS[paper.state])
