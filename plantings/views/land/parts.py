"""The parts of a landowner's own page: what was agreed, what it says about what they may ask, what to watch for."""

from math import ceil

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from plantings.selectors.land.land import published
from plantings.selectors.plantings.plantings import SitePosition
from plantings.selectors.sites.local_texts import caution_texts
from registry.access import roles
from registry.calc.land.agreement_words import TOPICS, sentences_about
from registry.choices import AuthorizationState, MapPrivacy
from registry.selectors.land.land import wording_offered
from registry.selectors.permits.as_of import version_on
from registry.selectors.safety.cautions import cautions_for
from registry.selectors.shared.local_words import local_day, local_number

__all__ = ["agreement_parts", "answers", "caution_part", "contact_role", "published_lines", "state_words"]

_WHO_SEES = gettext_lazy("Only you, the programme's office, its auditors and the visiting crew see the exact place.")
_TOPIC_LABELS = {
    "cut": gettext_lazy("Cut or clear near the trees"),
    "spray": gettext_lazy("Spray"),
    "graze": gettext_lazy("Let animals graze"),
    "hunt": gettext_lazy("Hunt"),
    "sell": gettext_lazy("Sell or hand on the land"),
    "nuts": gettext_lazy("Pick fruit or seed, or take cuttings"),
}
_STATES = {
    AuthorizationState.DRAFT: gettext_lazy("draft"),
    AuthorizationState.APPLIED: gettext_lazy("applied"),
    AuthorizationState.IN_FORCE: gettext_lazy("in force"),
    AuthorizationState.SUSPENDED: gettext_lazy("suspended"),
    AuthorizationState.EXPIRED: gettext_lazy("expired, duties running"),
    AuthorizationState.CLOSED: gettext_lazy("closed"),
}
_CONTACT_ROLES = {roles.LEAD: gettext_lazy("programme lead"), roles.COORDINATOR: gettext_lazy("coordinator")}


def agreement_parts(papers, address):
    """Each agreement with who signed which wording, the wording that is to be signed, and where to read it."""
    parts = []
    for paper in papers:
        signatures = list(paper.signatures.select_related("text").order_by("-signed_on", "-pk"))
        parts.append(
            {
                "paper": paper,
                "state": state_words(paper),
                "state_code": paper.state,
                "signatures": signatures,
                "offered": wording_offered(paper),
                "url": address("land_agreement", paper.pk),
            }
        )
    return parts


def state_words(paper):
    return _STATES[paper.state]


def answers(agreements):
    """[(question, [(sentence, what it is from)])]: sentences that were signed and use a word of it, as written, never more than that."""
    texts = [text for part in agreements if part["state_code"] != AuthorizationState.CLOSED for text in _signed_texts(part)]
    found = []
    for topic in TOPICS:
        sentences = {}
        for source, text in texts:
            for sentence in sentences_about(topic, text):
                sentences.setdefault(sentence, source)
        found.append((_TOPIC_LABELS[topic.key], list(sentences.items())))
    return found


def _signed_texts(part):
    """(what it is from, text) of what was signed: the wording signed last of each title, and the conditions there were on that day."""
    paper, last = part["paper"], {}
    for signature in part["signatures"]:
        last.setdefault(signature.text.title, signature)
    versions = list(paper.versions.all()) if last else []
    for signature in last.values():
        day = local_day(signature.signed_on)
        of = {"title": signature.text.title, "version": signature.text.version, "who": signature.signed_by, "day": day}
        yield _("%(title)s, version %(version)s, signed by %(who)s on %(day)s") % of, signature.text.body
        said = version_on(versions, signature.signed_on) or min(versions, key=lambda version: version.number)
        conditions = _("conditions of %(paper)s on %(day)s") % {"paper": paper.code, "day": day}
        yield from ((conditions, text) for text in (said.conditions, said.covers))


def caution_part(site, on):
    """The cautions of a site in a season: those of the place first, then the usual ones for every task."""
    return {"site": site, "here": caution_texts(site), "lines": cautions_for((), on, site.code)}


def contact_role(person):
    """What somebody a landowner can call is in the programme."""
    return _CONTACT_ROLES[person.role]


def published_lines(site):
    """What is published about a place, in words."""
    if site.longitude is None:
        return [_("We have no position of it on file, so no map shows one.")]
    if site.partner.map_privacy == MapPrivacy.HIDDEN:
        return [_("It is left off every shared map, as you asked."), _WHO_SEES]
    point = published(site)
    where = SitePosition(point.lon, point.lat, exact=False).words
    distance = f"{local_number(f'{ceil(point.uncertainty_m / 100) / 10:g}')} km"
    shown = _("Shared maps show it at %(where)s, the middle of a grid cell. The true position is within %(distance)s of that.")
    return [shown % {"where": where, "distance": distance}, _("Its name, boundary and the way in are not on the maps."), _WHO_SEES]
