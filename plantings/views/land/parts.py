"""The parts of a landowner's own page: what was agreed, what it says about what they may ask, what is usual to watch for."""

from plantings.selectors.land.land import published
from plantings.views.sites.sites import text_lines
from registry.calc.land.agreement_words import TOPICS, sentences_about
from registry.choices import AuthorizationState, MapPrivacy
from registry.selectors.land.land import wording_offered
from registry.selectors.safety.cautions import cautions_for

__all__ = ["agreement_parts", "answers", "caution_part", "published_lines"]

_WHO_SEES = "The exact place is seen by the programme's office, its auditors, the crew that comes, and you."
_SPEAKS = {AuthorizationState.IN_FORCE, AuthorizationState.EXPIRED, AuthorizationState.SUSPENDED}


def agreement_parts(papers, address):
    """Each agreement with who signed which wording, the wording that waits to be signed, and where to read it."""
    parts = []
    for paper in papers:
        signatures = list(paper.signatures.select_related("text").order_by("-signed_on", "-pk"))
        parts.append(
            {
                "paper": paper,
                "signatures": signatures,
                "offered": wording_offered(paper),
                "url": address("land_agreement", paper.pk),
                "speaks": bool(signatures) or paper.state in _SPEAKS,
            }
        )
    return parts


def answers(agreements):
    """[(topic, sentences of the agreements that use a word of it)]: as written, never more than that."""
    texts = []
    for part in agreements:
        if part["speaks"]:
            paper, signed = part["paper"], part["signatures"][:1]
            texts += [paper.conditions, paper.covers, *(signature.text.body for signature in signed)]
    return [(topic.label, sentences_about(topic, *texts)) for topic in TOPICS]


def caution_part(site, on):
    """The cautions of a site in a season: those of the place first, then the usual ones for every task."""
    return {"site": site, "here": text_lines(site.cautions), "lines": cautions_for((), on, site.code)}


def published_lines(site):
    """What is published about a place, in words."""
    if site.longitude is None:
        return ["No position is kept in the book, so none is shown anywhere."]
    if site.partner.map_privacy == MapPrivacy.HIDDEN:
        return [f"Left off every shared map, as you asked. {_WHO_SEES}"]
    where = published(site)
    return [
        f"On shared maps it stands at {where.words}. {where.note}",
        f"Its name, boundary and the way in are not on them. {_WHO_SEES}",
    ]
