"""Which passwords are refused although they are long enough. No rule asks for capitals or digits (NIST SP 800-63B-4, 3.1.1.2)."""

import re

from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

_DIFFERENT_MIN = 6
_LEFT_MIN = 8  # characters that must be left when runs, repeats and known words are taken out
# Phrases that everybody has read as examples, without blanks, in lower case: common knowledge, no source.
_PHRASES = (
    "correcthorsebatterystaple",
    "loremipsumdolor",
    "maytheforcebewithyou",
    "thequickbrownfox",
    "tobeornottobe",
)
_ROWS = ("qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "azertyuiop")


class GuessedPasswordValidator:
    """Refuses a phrase that is made of few characters, of a run, of one piece repeated, or of a known password or phrase, the name of the
    program or the person's own names with little added."""

    def __init__(self):
        self._common = CommonPasswordValidator()

    def validate(self, password, user=None):
        text = password.casefold()
        if len(set(text)) < _DIFFERENT_MIN:
            raise ValidationError(_("Use at least %(count)d different characters.") % {"count": _DIFFERENT_MIN}, code="password_few_signs")
        if len(_without_runs(_piece(text))) < _LEFT_MIN:
            raise ValidationError(
                _("This repeats itself or counts up. Use several words that do not belong together."), code="password_run"
            )
        if self._is_known(text, user):
            raise ValidationError(
                _("This is a well-known password or a name with a little added. Use several words that do not belong together."),
                code="password_known",
            )

    def get_help_text(self):
        return _("Several words that do not belong together are easy to remember and hard to guess. Spaces and any characters may be used.")

    def _is_known(self, text, user):
        stem = _piece(re.sub(r"^[\W\d_]+|[\W\d_]+$", "", text))
        if stem in self._common.passwords or re.sub(r"[\W_]", "", stem) in self._common.passwords:
            return True
        for name in ("mastbook", *_names(user)):
            text = text.replace(name, "")
        letters = re.sub(r"[\W\d_]", "", text)
        for phrase in _PHRASES:
            letters = letters.replace(phrase, "")
        return len(letters) < _LEFT_MIN // 2


def _names(user):
    """The names of a person, each word of at least three letters."""
    texts = [str(getattr(user, name, "") or "") for name in ("username", "first_name", "last_name", "email")] if user else []
    return sorted({word for text in texts for word in re.split(r"[\W_]+", text.casefold()) if len(word) > 2}, key=len, reverse=True)


def _piece(text):
    """The piece that a text repeats from its beginning to its end; the text itself where it repeats none."""
    found = re.fullmatch(r"(.+?)\1+(.*)", text, re.DOTALL)
    return found[1] if found and found[1].startswith(found[2]) else text


def _without_runs(text):
    """A text in which each run of three or more characters (aaa, abcd, 4321, qwerty) counts as one."""
    left, run = text[:1], 1
    for before, sign in zip(text, text[1:], strict=False):
        run = run + 1 if _follows(before, sign) else 1
        if run < 3:
            left += sign
        elif run == 3:
            left = left[:-1]
    return left


def _follows(before, sign):
    pair = before + sign
    return abs(ord(before) - ord(sign)) <= 1 or any(pair in row or pair in row[::-1] for row in _ROWS)
