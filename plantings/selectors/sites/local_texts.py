"""What is typed of a site or planting for those who go there: on file in English, perhaps in others too, and given in the reader's."""

from django.utils.translation import get_language, gettext, override

from registry.access.languages import OFFICE_LANGUAGE, OTHER_LANGUAGES
from registry.selectors.safety.cautions import in_english

__all__ = ["PLANTING_TEXTS", "SITE_TEXTS", "access_text", "caution_texts", "corner_text", "text_not_in", "without_english", "way_in_line"]

SITE_TEXTS = ("access_notes", "cautions")  # fields of a site; each has one more for each other language, such as `cautions_fr`
PLANTING_TEXTS = ("start_corner",)  # the same of a planting


def text_not_in(site, name, language):
    """Whether a text of a site or planting is on file in English and not in another language."""
    return bool(getattr(site, name).strip()) and not getattr(site, f"{name}_{language}").strip()


def without_english(site, names):
    """The texts that are on file in another language only: a page in English would leave them out."""
    return [
        name
        for name in names
        if not getattr(site, name).strip() and any(getattr(site, f"{name}_{language}").strip() for language in OTHER_LANGUAGES)
    ]


def caution_texts(site):
    """The cautions typed for a site, line by line, in the language that is on; those on file in English alone are marked as English."""
    text, is_english_only = _text(site, "cautions")
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return [in_english(line) for line in lines] if is_english_only else lines


def access_text(site):
    """How to get to a site, in the language that is on; on file in English alone it is marked as English. "" where nothing is typed."""
    text, is_english_only = _text(site, "access_notes")
    return in_english(text) if is_english_only else text


def corner_text(planting):
    """How to find the start corner of a planting, in the language that is on; on file in English alone it is marked as English."""
    text, is_english_only = _text(planting, "start_corner")
    return in_english(text) if is_english_only else text


def way_in_line(site):
    """How to get to a site as one line among others, in the language that is on, or in English and marked. "" where nothing is typed."""
    text, is_english_only = _text(site, "access_notes")
    if not text:
        return ""
    with override(OFFICE_LANGUAGE if is_english_only else get_language()):
        line = gettext("The way in: %(words)s") % {"words": text}
    return in_english(line) if is_english_only else line


def _text(site, name):
    """(a text in the language that is on, else in English; whether it is in English for want of words in that language)."""
    language = get_language() or OFFICE_LANGUAGE
    if language == OFFICE_LANGUAGE:
        return getattr(site, name).strip(), False
    if text_not_in(site, name, language):
        return getattr(site, name).strip(), True
    return getattr(site, f"{name}_{language}").strip(), False
