"""Signs that nobody sees in a text: those that control a machine, turn the direction of reading, or take no room.

With one in it a name can read as another, and two texts that look the same differ. Whatever comes from outside is looked at by the one
function here: forms, sheets, what a phone sends.
"""

import re

from registry.calc.shared.marked import gettext_noop

__all__ = ["HIDDEN_SIGN", "hidden_sign"]

HIDDEN_SIGN = gettext_noop("It holds a sign that cannot be seen (%(sign)s, after “%(before)s”). Delete the text and type it again.")
_BEFORE = 12  # signs quoted before it, so that the place can be found

# Control characters without tab and line breaks; the null character has a rule of its own. Then marks of direction, embeddings,
# overrides and isolates; spaces of no width, and what only layout programs write. What joins letters and emoji (U+200C, U+200D) is text.
_HIDDEN = re.compile(
    "[\x01-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u180e\u200b\u200e\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff\ufff9-\ufffb]"
)
_OF_A_LINE = re.compile("[\t\r\n\u2028\u2029]|" + _HIDDEN.pattern)


def hidden_sign(text: str, *, one_line: bool = False) -> dict[str, str] | None:
    """The first sign of a text that cannot be seen, as the values of `HIDDEN_SIGN`; None where there is none.

    Parameters
    ----------
    text : str
    one_line : bool
        A text of one line, such as a name: line breaks and tabs are signs too.

    Source
    ------
    Unicode 16, general categories Cc and Cf; for those that turn the direction, Unicode Standard Annex 9, table 4 (from memory).

    Examples
    --------
    >>> hidden_sign("Mia\\u202eamoR"), hidden_sign("José ☘ 山田")
    ({'sign': 'U+202E', 'before': 'Mia'}, None)
    """
    found = (_OF_A_LINE if one_line else _HIDDEN).search(text)
    if found is None:
        return None
    return {"sign": f"U+{ord(found.group()):04X}", "before": text[max(found.start() - _BEFORE, 0) : found.start()]}
