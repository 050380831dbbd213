"""What a crew reads before a visit: the usual cautions of its tasks, season and site, and what to say in an emergency."""

import hashlib

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext, gettext_lazy, override

from plantings.selectors.plantings.plantings import exact_for, site_position
from plantings.selectors.sites.local_texts import caution_texts, way_in_line
from registry.access.languages import OFFICE_LANGUAGE
from registry.calc.shared.screen import sentence
from registry.choices import CautionTask
from registry.selectors.land.land import programme_contacts
from registry.selectors.safety.cautions import cautions_for, in_english, programme_rules, unread, versions_of
from registry.selectors.shared.local_words import local_month

__all__ = [
    "LOCAL_WORD",
    "USUAL_CAUTIONS",
    "caution_lines",
    "caution_wordings",
    "caution_words",
    "emergency_lines",
    "visit_cautions",
    "visit_day",
    "visit_section",
]

# Shown while the programme has no wording of its own for a census (common practice, no source).
# The crew lead, the site's manager and the local law decide on the spot.
USUAL_CAUTIONS = (
    gettext_lazy("Look up first: dead limbs and hung trees. Leave in wind, and at the first thunder."),
    gettext_lazy("Nobody goes alone. Check in and out; tell your contact when you start and when you are out."),
    gettext_lazy("Eye protection in brush, thick gloves for thorns and wire."),
    gettext_lazy("Ticks: light-coloured long sleeves and pants, check all over the same day. Wasps: tap a shelter before you lift it."),
    gettext_lazy("Water and shade in heat, layers and a turn-back time in cold and wet."),
    gettext_lazy("Clean boots, tools and tyres of soil before and after the site; sites with root rot last."),
)

LOCAL_WORD = gettext_lazy(
    "These are usual cautions. The crew lead decides on the spot; the local manager may stop work; local law comes first."
)


def visit_day(census_round):
    """The day whose season the cautions of a round are for: today, or the nearest day of its window."""
    return min(max(timezone.localdate(), census_round.opens_on), census_round.closes_on)


def visit_cautions(user, site, on, tasks=(CautionTask.CENSUS,), exact=None):
    """The cautions of some tasks at a site, in their present wording, for the season of a day, as the templates take them.

    `unread` is true when this person has not ticked that they read some of them in this wording. `exact` says whether the exact place is
    named, where it is not for the person to decide.
    """
    exact = exact_for(user) if exact is None else exact
    lines = cautions_for(set(tasks), timezone.localdate(), site.code, on.month)
    own = {line.task for line in lines} & set(tasks)
    return {
        "lines": lines,
        "usual": [] if own else USUAL_CAUTIONS,
        "rules": programme_rules(tasks),
        "hazards": list(dict.fromkeys(line.marked("hazard") for line in lines)),
        "versions": versions_of(lines),
        "unread": bool(unread(user, lines)),
        "emergency": emergency_lines(site, exact),
        "place": site_position(site, exact=True) if exact else None,
        "contacts": [person for person in programme_contacts() if person.phone],
    }


def emergency_lines(site, exact):
    """What to say in an emergency, and how somebody gets there; the exact place only for those who may know it."""
    where = f"{site.name} ({site.code})"
    if exact:
        where = ", ".join(filter(None, (where, site_position(site, exact=True).words)))
    lines = [gettext("Emergency: call the local emergency number. You are at %(where)s.") % {"where": where}]
    return [*lines, way_in] if exact and (way_in := way_in_line(site)) else lines


def visit_section(user, site, on):
    """The section of a page that a crew prints and takes along."""
    return {
        "title": gettext("Before a visit in %(month)s") % {"month": local_month(on.month)},
        "include": "plantings/census/_visit_section.html",
        **visit_cautions(user, site, on),
    }


def caution_lines(site, visit):
    """What a crew reads of the cautions of a visit, line by line, in the language that is on."""
    own = [caution_words(line) for line in visit["lines"]]
    return {
        "here": caution_texts(site),
        "cautions": own,
        "usual": [str(line) for line in (*visit["usual"], *visit["rules"], LOCAL_WORD)],
    }


def caution_wordings(site, visit):
    """{language: the SHA-256 of the cautions of a visit as a page in that language shows them}: another wording has another one."""
    found = {}
    for language, _name in settings.LANGUAGES:
        with override(language):
            lines = [line for part in caution_lines(site, visit).values() for line in part]
        found[language] = hashlib.sha256("\n".join(lines).encode()).hexdigest()
    return found


def caution_words(line):
    """A caution in one line: the hazard, what careful people do, and who decides on the spot; marked where it is in English only."""
    if line.is_english_only:
        with override(OFFICE_LANGUAGE):
            words = caution_words(line)
        return in_english(words)
    words = gettext("%(hazard)s: %(text)s Decided locally by %(decider)s")
    return words % {"hazard": line.hazard, "text": sentence(line.text), "decider": sentence(line.decider)}
