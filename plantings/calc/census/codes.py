"""The codes a census row may hold, with their words, and what each status means to `fates`."""

from plantings.calc.census.fate import Status

STATUSES = (
    ("A", "Alive", "Alive on its original stem."),
    ("AR", "Alive by resprout", "The original top is dead. Height starts again from the new shoot."),
    ("D", "Dead", "Remains seen at the position. Give the cause, or unknown."),
    ("NF", "Not found", "The position was found. No tree and no remains stand there."),
    ("NL", "Position not located", "The position itself could not be found."),
    ("NV", "Not visited", "Nobody looked at this position. It does not mean missing."),
    ("RM", "Removed", "Taken out on purpose. Give the reason."),
)

CAUSES_OF_DEATH = (
    ("canker", "Canker", "Natural infection of the stem."),
    ("root_rot", "Root rot", "Roots or collar decayed."),
    ("drought", "Drought", "Died dry, no other damage."),
    ("frost", "Frost or winter", "Killed by late frost or winter cold."),
    ("deer", "Deer", "Browsed, rubbed or pulled up."),
    ("rodent", "Rodent", "Gnawed, girdled or dug up."),
    ("insect", "Insect", "Defoliated or bored."),
    ("mechanical", "Mechanical", "Limb, mower, vehicle."),
    ("shelter", "Shelter or fence failure", "The protection failed or harmed the tree."),
    ("flooding", "Flooding", "Stood in water."),
    ("herbicide", "Herbicide drift", "Spray damage."),
    ("theft", "Theft or vandalism", "Taken or broken by people."),
    ("suppressed", "Suppressed", "Overgrown by other plants."),
    ("planting", "Planting", "Poor handling or planting."),
    ("test", "Test, intended", "Died of a test that was meant to kill some trees."),
    ("unknown", "Unknown", "An honest answer."),
)

# (code, label, biological): a biological reason keeps the tree in the denominator of survival.
# An unknown reason counts as biological, since leaving the tree out would flatter survival.
# No code is in both lists: one field of the record holds either.
REMOVAL_REASONS = (
    ("sanitation", "Sanitation of a diseased tree", True),
    ("rogued", "Rogued on its rating", True),
    ("identity", "Not the recorded material", False),
    ("thinned", "Thinned", False),
    ("sampled", "Taken as a sample", False),
    ("landowner", "Asked by the landowner", False),
    ("permit", "Required by a permit", False),
    ("reason_unknown", "Reason not known", True),
)

CANKER_CLASSES = (
    (0, "None", "No canker seen."),
    (1, "Superficial", "Swollen or superficial, callusing."),
    (2, "Sunken, under half", "Sunken, less than half of the stem girdled."),
    (3, "Sunken, over half", "More than half of the stem girdled."),
    (4, "Dead above", "The stem is dead above the canker."),
)

BROWSE_CLASSES = (
    ("none", "None", "No shoot browsed."),
    ("light", "Light", "Under a third of the shoots."),
    ("moderate", "Moderate", "A third to two thirds of the shoots."),
    ("heavy", "Heavy", "Over two thirds of the shoots."),
)

FLOWERING = (
    ("none", "None", "Looked for, and none seen."),
    ("male", "Male", "Catkins only."),
    ("female", "Female", "Female flowers or fruit only."),
    ("both", "Both", "Catkins, and female flowers or fruit."),
)

STATUS_CODES = frozenset(code for code, _, _ in STATUSES)
CAUSE_CODES = frozenset(code for code, _, _ in CAUSES_OF_DEATH)
REMOVAL_IS_BIOLOGICAL = {code: biological for code, _, biological in REMOVAL_REASONS}
CANKER_CODES = frozenset(code for code, _, _ in CANKER_CLASSES)
BROWSE_CODES = frozenset(code for code, _, _ in BROWSE_CLASSES)
FLOWERING_CODES = frozenset(code for code, _, _ in FLOWERING)


def unknown_status_message(status: object) -> str:
    """What to say when a status is none of `STATUSES`.

    Source
    ------
    Definition of this programme.
    """
    codes = ", ".join(code for code, _, _ in STATUSES)
    derived = " Presumed dead is worked out from the records, never typed." if status == "PD" else ""
    return f"“{status}” is not a status. Use one of {codes}.{derived}"


def status_code(status: str, cause: str = "") -> Status:
    """The code that `fates` reads for a recorded status, telling the two kinds of removal apart.

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
        raise ValueError(unknown_status_message(status))
    if status == "RM" and not REMOVAL_IS_BIOLOGICAL.get(cause, True):
        return Status.RX
    return Status[status]
