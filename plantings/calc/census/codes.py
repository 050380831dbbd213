"""The statuses of a tree, the causes of death and the reasons of removal, with their words."""

from typing import NamedTuple

from plantings.calc.census.fate import Status
from registry.calc.shared.marked import gettext_noop


class Code(NamedTuple):
    """One code of a list, its words, and what it means in a sentence."""

    code: int | str
    label: str
    meaning: str


STATUSES = (
    Code("A", gettext_noop("Alive"), gettext_noop("On its original stem.")),
    Code("AR", gettext_noop("Alive by resprout"), gettext_noop("The original top is dead. Height starts again from the new shoot.")),
    Code("D", gettext_noop("Dead"), gettext_noop("Remains seen at the position. Give the cause, or unknown.")),
    Code("SU", gettext_noop("Seen but state unclear"), gettext_noop("The tree was seen, but not whether it lives. Look again.")),
    Code("NF", gettext_noop("Not found"), gettext_noop("The position was found, but no tree and no remains.")),
    Code("NL", gettext_noop("Position not located"), gettext_noop("The position itself could not be found.")),
    Code("NV", gettext_noop("Not visited"), gettext_noop("Nobody looked at this position. It does not mean missing.")),
    Code("RM", gettext_noop("Removed"), gettext_noop("Taken out on purpose. Give the reason.")),
)

CAUSES_OF_DEATH = (
    Code("canker", gettext_noop("Canker"), gettext_noop("Natural infection of the stem.")),
    Code("root_rot", gettext_noop("Root rot"), gettext_noop("Roots or collar decayed.")),
    Code("drought", gettext_noop("Drought"), gettext_noop("Dried out, no other damage.")),
    Code("frost", gettext_noop("Frost or winter"), gettext_noop("Killed by late frost or winter cold.")),
    Code("deer", gettext_noop("Deer"), gettext_noop("Browsed, rubbed or pulled up.")),
    Code("rodent", gettext_noop("Rodent"), gettext_noop("Gnawed, girdled or dug up.")),
    Code("insect", gettext_noop("Insect"), gettext_noop("Defoliated or bored.")),
    Code("mechanical", gettext_noop("Mechanical"), gettext_noop("Limb, mower, vehicle.")),
    Code("shelter", gettext_noop("Shelter or fence failure"), gettext_noop("The protection failed or harmed the tree.")),
    Code("flooding", gettext_noop("Flooding"), gettext_noop("Roots or stem were under water.")),
    Code("herbicide", gettext_noop("Herbicide drift"), gettext_noop("Spray damage.")),
    Code("theft", gettext_noop("Theft or vandalism"), gettext_noop("Taken or broken by people.")),
    Code("suppressed", gettext_noop("Suppressed"), gettext_noop("Overgrown by other plants.")),
    Code("planting", gettext_noop("Poor planting"), gettext_noop("Poor handling or planting.")),
    Code("test", gettext_noop("Test, intended"), gettext_noop("Died of a test that was meant to kill some trees.")),
    Code("unknown", gettext_noop("Unknown"), gettext_noop("The cause could not be determined.")),
)

# (code, label, biological): with a biological reason the tree stays in the denominator of survival.
# An unknown reason counts as biological, since leaving the tree out would flatter survival.
# No code is in both lists: one field of the record holds either.
REMOVAL_REASONS = (
    ("sanitation", gettext_noop("Sanitation of a diseased tree"), True),
    ("rogued", gettext_noop("Rogued on its rating"), True),
    ("identity", gettext_noop("Not the recorded material"), False),
    ("thinned", gettext_noop("Thinned"), False),
    ("sampled", gettext_noop("Sampled for the laboratory"), False),
    ("landowner", gettext_noop("Landowner asked for it"), False),
    ("permit", gettext_noop("Permit requires it"), False),
    ("reason_unknown", gettext_noop("Reason unknown"), True),
)

DEAD, REMOVED, NOT_VISITED, RESPROUT = "D", "RM", "NV", "AR"
UNSEEN = frozenset({"NF", "NL", NOT_VISITED})  # nobody saw the tree, so nothing can have been measured
ALIVE = frozenset({"A", "AR"})
# The statuses that take a cause, and the list it is taken from.
CAUSES_BY_STATUS = {DEAD: CAUSES_OF_DEATH, REMOVED: REMOVAL_REASONS}
UNKNOWN_CAUSE = "unknown"  # what a death without a cause is stored with

STATUS_LABELS = {code: label for code, label, _ in STATUSES}
CAUSE_LABELS = {code: label for codes in CAUSES_BY_STATUS.values() for code, label, _ in codes}
STATUS_CODES = frozenset(STATUS_LABELS)
CAUSE_CODES = frozenset(code for code, _, _ in CAUSES_OF_DEATH)
REMOVAL_IS_BIOLOGICAL = {code: biological for code, _, biological in REMOVAL_REASONS}


def listed_words(code: int | str, label: str) -> str:
    """A code with its label, without repeating a word.

    Parameters
    ----------
    code : int or str
        A code of any list, such as 2 or "frost".
    label : str

    Source
    ------
    A wording: no source.

    Examples
    --------
    >>> listed_words("A", "Alive"), listed_words("root_rot", "Root rot"), listed_words("frost", "Frost or winter")
    ('A alive', 'root_rot', 'frost (or winter)')
    >>> listed_words("identity", "Not the recorded material")
    'identity (not the recorded material)'
    """
    words, own = label.lower(), str(code).replace("_", " ")
    if words == own:
        return str(code)
    if words.startswith((f"{own} ", f"{own},")):
        return f"{code} ({words.removeprefix(own).lstrip(', ')})"
    # a code that is a word needs a break before the words that explain it
    return f"{code} ({words})" if len(own) > 2 else f"{code} {words}"


def status_code(status: str, cause: str = "") -> Status:
    """The code that `fates` reads for a recorded status: RX for a removal for a non-biological reason.

    Parameters
    ----------
    status : str
        One of `STATUSES`.
    cause : str
        For RM the removal reason. An empty or unlisted one counts as biological, so the tree stays
        in the denominator.

    Returns
    -------
    Status

    Raises
    ------
    ValueError
        When the status is not one of `STATUSES`.

    Source
    ------
    Definition of this programme: trees removed for reasons that are not biological leave the denominator.

    Examples
    --------
    >>> status_code("RM", "landowner").name, status_code("RM", "sanitation").name
    ('RX', 'RM')
    """
    if status not in STATUS_CODES:
        raise ValueError(f"“{status}” is not a status. Use one of {', '.join(code for code, _, _ in STATUSES)}.")
    if status == REMOVED and not REMOVAL_IS_BIOLOGICAL.get(cause, True):
        return Status.RX
    return Status[status]
