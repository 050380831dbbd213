"""Names that can be read and still mean nothing: a rule that has one would be silent, and a paper would cover something else."""

import re
import unicodedata

from registry.compliance.shared.taxon_names import HELP, bare_epithets, is_family, read_name

# words of sentences, where the epithet of a species or variety would be: common practice, no source
_NO_EPITHETS = frozenset(
    (
        "all", "and", "any", "every", "genera", "genus", "group", "native", "no", "none", "nut", "nuts", "of", "or", "other", "others",
        "plant", "plants", "pollen", "pure", "scion", "scions", "seed", "seedling", "seedlings", "seeds", "species", "stock", "tree",
        "trees", "unknown", "unspecified", "with", "wood",
    )
)  # fmt: skip
_LEAVES_OUT = re.compile(r"\b(?:but|except|excepting|excluding|not|unless|without)\b", re.IGNORECASE)
_IN_BRACKETS = re.compile(r"\(\s*(?!hort\b|auct\b|ex\b)([a-z][^()×]*)\)")
_X_AS_SIGN = re.compile(r"x(?=[bcdfghjklmnpqrstvwz])")  # no Latin or Greek word begins so (from memory): “xbixbyi” is ×bixbyi
_CROSS = re.compile(r"×|(?<!\S)[xX](?!\S)")


def name_fault(text: str) -> str:
    """Why a name would match nothing, or not what its writer means.

    Parameters
    ----------
    text : str
        As somebody writes it on a rule, a class of material, a paper or a taxon.

    Returns
    -------
    str
        A sentence with what to do; “” for a name that says what it means.

    Source
    ------
    Definition of this programme: which words are taken for words of a sentence.

    Examples
    --------
    >>> name_fault("Juglans and Carya")
    '“Juglans and Carya”: “and” is not part of a name. Write each name by itself.'
    >>> name_fault("Juglandaceae")
    '“Juglandaceae” is a family or an order. Write the genera of it that are meant.'
    >>> name_fault("Juglans spp."), name_fault("Juglans cinerea L. × J. ailantifolia")
    ('', '')
    """
    if is_family(text):
        return f"“{text}” is a family or an order. Write the genera of it that are meant."
    if found := _LEAVES_OUT.search(text):
        return f"“{text}”: a name cannot leave anything out (“{found[0]}”). List what is meant, each name by itself."
    if foreign := next((sign for sign in text if sign.isalpha() and not unicodedata.name(sign, "").startswith("LATIN")), ""):
        return f"“{text}”: “{foreign}” is not a Latin letter. Type the name: a letter that looks alike matches nothing."
    try:
        name = read_name(text)
    except ValueError as error:
        return str(error)
    every = (name, *name.parents)
    if stuck := next((one.species for one in every if _X_AS_SIGN.match(one.species)), ""):
        return f"“{text}”: write the sign of a hybrid, ×{stuck[1:]}. With the letter x it is taken for a species."
    if wrong := sorted({word for one in every for word in (one.genus, one.species, *one.below) if word in _NO_EPITHETS}):
        return f"“{text}”: “{wrong[0]}” is not part of a name. Write each name by itself."
    if (found := _IN_BRACKETS.search(text)) and not _CROSS.search(found[1]):
        return f"“{text}”: “({found[1]})” is not part of a name. Write the botanical name alone."
    words = text.split()
    if words[0][:1].islower() and any(word.strip("()")[:1].isupper() and len(word.strip("().,")) > 2 for word in words[1:]):
        return f"“{text}” does not begin with a genus. {HELP}."
    if _is_in_one_case(text) and any(parent.below for parent in name.parents):
        return f"“{text}”: write each genus with a capital letter and each species in small letters."
    if bare := bare_epithets(text):
        genus = name.genus[:1].upper()
        return f"“{text}”: write each parent with its genus, such as {genus}. {bare[0]}."
    return ""


def means_nothing(text: str) -> bool:
    """Whether a name can be read and has a fault all the same. What cannot be read counts as unknown, so a rule that has it applies.

    Source
    ------
    As of `name_fault`.

    Examples
    --------
    >>> means_nothing("Juglans and Carya"), means_nothing("12"), means_nothing("Juglans")
    (True, False, False)
    """
    try:
        read_name(text)
    except ValueError:
        return False
    return bool(name_fault(text))


def _is_in_one_case(text: str) -> bool:
    letters = _CROSS.sub("", text)
    return letters.islower() or letters.isupper()
