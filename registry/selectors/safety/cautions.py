"""Which cautions hold for a task, a day and a place; what a person has read of them."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef
from django.utils.html import format_html
from django.utils.translation import get_language, gettext

from registry.access.languages import OFFICE_LANGUAGE, OTHER_LANGUAGES
from registry.choices import CautionTask, ProgrammeKey
from registry.models import CautionSeen, CautionText
from registry.selectors.people.programme import settings_of
from registry.selectors.shared.local_units import local_amount

__all__ = [
    "DANGEROUS",
    "CAUTION_WORDS",
    "Caution",
    "caution_of",
    "cautions_for",
    "cautions_in_use",
    "in_english",
    "known_versions",
    "newest_versions",
    "programme_rules",
    "unread",
    "version_word",
    "versions_of",
]

CAUTION_WORDS = ("hazard", "text", "decider")  # what people read of a caution, in each language

# Tasks for which the programme's youngest age and its rule for lone work are shown beside the cautions (common practice, no source).
DANGEROUS = frozenset({CautionTask.SAW, CautionTask.PESTICIDE, CautionTask.INOCULATION})


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution as a page shows it, in the language that is on when it is read; `words` has those on file, {language: {name: text}}.

    Where a language has none, the English words are shown: `is_english_only` is true then, and the page says so.
    """

    code: str
    version: int
    task: str
    words: dict

    hazard = property(lambda caution: caution._said("hazard"))
    text = property(lambda caution: caution._said("text"))
    decider = property(lambda caution: caution._said("decider"))
    is_english_only = property(lambda caution: (get_language() or OFFICE_LANGUAGE) not in caution.words)

    def _said(self, name):
        return self.words.get(get_language(), self.words[OFFICE_LANGUAGE])[name]

    def marked(self, name):
        """A text for a page that shows it alone: marked where it is in English on a page of another language."""
        return in_english(self._said(name)) if self.is_english_only else self._said(name)


def caution_of(record):
    """The Caution of a stored version."""
    words = {OFFICE_LANGUAGE: {name: getattr(record, name) for name in CAUTION_WORDS}}
    for language in OTHER_LANGUAGES:
        said = {name: getattr(record, f"{name}_{language}") for name in CAUTION_WORDS}
        if any(said.values()):
            words[language] = said
    return Caution(record.code, record.version, record.task, words)


class InEnglish(str):
    """Words in English on a page of another language, after a mark that says so; in HTML they also carry their language."""

    mark: str
    words: str

    def __html__(self):
        return format_html('<em>{}</em> <span lang="{}">{}</span>', self.mark, OFFICE_LANGUAGE, self.words)


class EnglishWords(str):
    """Words in English on a page of another language without the mark, such as the head of a column; in HTML they carry their language."""

    def __html__(self):
        return format_html('<span lang="{}">{}</span>', OFFICE_LANGUAGE, str(self))


def in_english(words):
    """Words on file in English alone, as a page of another language shows them."""
    mark = gettext("In English:")
    made = InEnglish(f"{mark} {words}")
    made.mark, made.words = mark, str(words)
    return made


def cautions_in_use(on):
    """The version of each caution that holds on a day, withdrawn ones left out: one query."""
    newest = {}
    for record in CautionText.objects.filter(in_use_from__lte=on).order_by("version"):
        newest[record.code] = record
    order = list(CautionTask)
    in_use = (record for record in newest.values() if not record.withdrawn)
    return sorted(in_use, key=lambda record: (order.index(record.task), record.code))


def newest_versions(queryset):
    """The last version of each caution, whether it is in use, to come or withdrawn."""
    newer = CautionText.objects.filter(code=OuterRef("code"), version__gt=OuterRef("version"))
    return queryset.filter(~Exists(newer))


def cautions_for(tasks, on, site_code="", month=None):
    """The cautions for work of some tasks on a day at a site: those of the tasks, then those for every task.

    The versions are those in use on the day; the season is that of `month` (1 to 12), or of the day. A caution without
    months holds all year, one without sites everywhere. Without `site_code` the place is not known, and only those that
    hold everywhere are given.
    """
    wanted, month = {CautionTask.ANY, *tasks}, month or on.month
    found = [
        caution_of(record)
        for record in cautions_in_use(on)
        if record.task in wanted
        and (not record.months or month in record.months)
        and (not record.site_codes or site_code in record.site_codes)
    ]
    return sorted(found, key=lambda caution: caution.task == CautionTask.ANY)


def version_word(caution):
    return f"{caution.code} {caution.version}"


def known_versions(words):
    """Those of some version words, such as "TICKS 2", that name a version on file, in use or not. One query."""
    codes = {word.rpartition(" ")[0] for word in words}
    return {version_word(caution) for caution in CautionText.objects.filter(code__in=codes)} & set(words) if codes else set()


def versions_of(cautions):
    """The versions of some cautions, as stored when a person has read them."""
    return sorted(version_word(caution) for caution in cautions)


def unread(person, cautions):
    """Those of the cautions this person has not read in this version."""
    if not cautions:
        return []
    stored = CautionSeen.objects.filter(person=person).values_list("versions", flat=True)
    read = {word for versions in stored for word in versions}
    return [caution for caution in cautions if version_word(caution) not in read]


def programme_rules(tasks):
    """The programme's own rules beside the cautions of a dangerous task: youngest age and work alone; none for other tasks."""
    if not DANGEROUS & set(tasks):
        return []
    age, alone = settings_of((ProgrammeKey.YOUNGEST_AGE, ProgrammeKey.LONE_WORK)).values()
    rule = gettext(alone)
    if rule == alone and get_language() != OFFICE_LANGUAGE:  # the programme typed a rule of its own
        rule = in_english(alone)
    return [
        gettext("This work is only for people of %(years)s or more.") % {"years": local_amount(age, "years")},
        gettext("Work alone: %(rule)s") % {"rule": rule[0].lower() + rule[1:]},
    ]
