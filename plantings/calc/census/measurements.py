"""The table of measurements: everything the census measures or looks for at a tree, each declared once.

A programme adds measurements of its own as records; `own_measurements` turns one into a `Measurement` like those of the table.

The columns and limits of the model, the checks of a row, the census form, the keying grid, the columns of the sheet, the boxes
of the field form, the tables of rounds and trees and the help page are built from it. To add one: an entry here, and a migration.

Source
------
What is measured, and within which limits, is a definition of this programme.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from dataclasses import field as dataclass_field

from plantings.calc.census.codes import Code
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.screen import number_words

ERROR, WARNING = "error", "warning"

# Where a measurement appears. What is printed on the field form must be keyed from it, so both are one place.
FORM = "census form"
FIELD_FORM = "field form and keying grid"
SHEET = "sheet"
ROUND = "records of a round"
TREE = "page of a tree"
EVERYWHERE = frozenset({FORM, FIELD_FORM, SHEET, ROUND, TREE})

MEASURED, LOOKED_FOR = gettext_noop("Measured"), gettext_noop("Looked for")

CODE_LENGTH_MAX = 10  # of a class that is a word; the width of its column in the database
_DIGITS, _MOST_WRITTEN = 12, 1e12  # significant figures, so that a limit and a reading just beyond it differ


@dataclass(frozen=True, slots=True)
class Growth:
    """What looks odd beside the last reading of the same tree.

    `loss` and `loss_share` are how much less a reading may be: more than both asks for a second look. `gain_a_year` is the most
    a tree adds in a year, None for no limit; `at_planting` the most it has when it is planted. `damage_explains`: browse or
    dieback explains a lower reading, as a resprout always does.
    """

    loss: float
    loss_words: str
    loss_share: float = 0.0
    gain_a_year: float | None = None
    at_planting: float | None = None
    damage_explains: bool = False


@dataclass(frozen=True, slots=True)
class Measurement:
    """One thing the census measures (a number with unit and range) or looks for (a class of an ordered list).

    name, field : the word for it in names of the code, and its column
    label, short : its words on a form, and where there is little room
    unit, low, high, whole : of a number
    classes : `Code` of each class, from nothing to most; the first says that somebody looked and found nothing
    taken : how it is taken, and at which point of the tree
    unseen : how a value for a tree that nobody saw is treated: an error, a warning, or "" for neither
    dead : the same for a dead tree; the first class is always allowed
    explains_loss : a value above nothing explains that the tree is lower than it was
    places : where it appears
    shown_last : the field form prints its last reading
    fine_below : up to here it is read to the whole unit, above in coarser steps; None where nobody judges its digits
    limit_in_database : the database itself refuses a number outside the range
    header, column_title : its words on sheets and in the model, where they differ from label and unit
    is_own : a measurement of the programme, whose values are in `own_values` of a record by `field`, not in a column
    from_season : the growing seasons completed from which on it is asked for
    """

    name: str
    field: str
    label: str
    group: str
    short: str = ""
    unit: str = ""
    low: float = 0
    high: float | None = None
    whole: bool = False
    classes: tuple[Code, ...] = ()
    example: str = ""
    taken: str = ""
    phrase: str = ""
    header: str = ""
    column_title: str = ""
    unseen: str = WARNING
    dead: str = ""
    growth: Growth | None = None
    explains_loss: bool = False
    places: frozenset[str] = EVERYWHERE
    shown_last: bool = False
    fine_below: float | None = None
    limit_in_database: bool = True
    is_own: bool = False
    from_season: int = 0
    codes: tuple[int | str, ...] = dataclass_field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "codes", tuple(code for code, _, _ in self.classes))
        if bool(self.classes) == (self.high is not None):
            raise ValueError(f"{self.name} has either classes or a highest value")
        if self.is_own:
            return
        if self.is_word and any(len(code) > CODE_LENGTH_MAX for code in self.codes):
            raise ValueError(f"a code of {self.name} is longer than {CODE_LENGTH_MAX} characters")
        if self.is_whole and self.range[0] < 0:
            raise ValueError(f"{self.name} is a whole number, which its column holds from 0")

    @property
    def range(self) -> tuple[float, float]:
        """Lowest and highest value of a number, or of a class that is one."""
        return (self.codes[0], self.codes[-1]) if self.classes else (self.low, self.high)

    @property
    def is_word(self) -> bool:
        """Whether a value is a word of its list; otherwise it is a number."""
        return bool(self.classes) and isinstance(self.classes[0].code, str)

    @property
    def is_whole(self) -> bool:
        return self.whole or (bool(self.classes) and not self.is_word)

    @property
    def blank(self) -> str | None:
        """What a record holds when nobody looked."""
        return "" if self.is_word else None

    @property
    def nothing(self) -> int | str:
        """The value that says somebody looked and found nothing."""
        return self.classes[0].code if self.classes else 0

    @property
    def short_label(self) -> str:
        return self.short or self.label

    @property
    def hint(self) -> str:
        """What is beside the short label: the unit, or the span of numbered classes."""
        return f"{self.codes[0]}–{self.codes[-1]}" if self.classes and not self.is_word else self.unit

    @property
    def sheet_header(self) -> str:
        return self.header or (f"{self.label} ({self.unit})" if self.unit else self.label)

    @property
    def sheet_example(self) -> float | str:
        if self.classes:
            return self.nothing
        return int(self.example) if self.example.isdecimal() else float(self.example)

    def words(self, value: float | str, say: Callable[[str], str] = str, write: Callable[[str], str] = str) -> str:
        """A value as part of a sentence: 142 cm, canker 1, browse light. `say` translates, `write` writes its number.

        Examples
        --------
        >>> HEIGHT.words(142.0), CANKER.words(1), BROWSE.words("light")
        ('142 cm', 'canker 1', 'browse light')
        """
        if isinstance(value, str):
            names = {code: name for code, name, _meaning in self.classes}
            shown = say(names[value]).lower() if value in names else value
        else:
            shown = write(f"{value:g}")
        unit = say(self.unit) if self.unit else ""
        phrase = say(self.phrase) if self.phrase else f"{say(self.short_label).lower()} %(value)s {unit}".strip()
        return phrase.replace("%(value)s", shown)


def reading_words(value: float) -> str:
    """A reading as people write it.

    Parameters
    ----------
    value : float or Decimal
        In the unit of its measurement; not finite, or beyond what anything measures, it is written as it came.

    Source
    ------
    As of `number_words`.

    Examples
    --------
    >>> reading_words(10000.0), reading_words(142.5), reading_words(6000.4), reading_words(float("nan"))
    ('10,000', '142.5', '6,000.4', 'nan')
    """
    return number_words(float(value), _DIGITS) if abs(value) < _MOST_WRITTEN else str(value)


HEIGHT = Measurement(
    "height", "height_cm", gettext_noop("Height"), MEASURED, unit=gettext_noop("cm"), high=6_000, example="142",
    taken=gettext_noop("Ground on the uphill side to the tip of the tallest live bud."), phrase=gettext_noop("%(value)s cm"),
    unseen=ERROR, dead=WARNING, shown_last=True, fine_below=300,  # centimetres to about 3 m, decimetres above: common practice, no source
    growth=Growth(
        loss=5, loss_share=0.1, gain_a_year=200, at_planting=300, damage_explains=True,
        loss_words=gettext_noop("No dieback, browse or resprout is recorded. Check the reading, or say in the note what happened."),
    ),
)  # fmt: skip
DIAMETER = Measurement(
    "diameter", "diameter_mm", gettext_noop("Diameter"), MEASURED, unit=gettext_noop("mm"), high=2_000, example="12.5",
    taken=gettext_noop("Two readings at right angles; write their mean."), phrase=gettext_noop("%(value)s mm"), unseen=ERROR,
    growth=Growth(
        loss=1, loss_words=gettext_noop("Check the reading and the height above ground where it was taken."), gain_a_year=30,
    ),
)  # fmt: skip
DIAMETER_AT = Measurement(
    "diameter_at", "diameter_at_cm", gettext_noop("Diameter taken at"), MEASURED, unit=gettext_noop("cm above ground"), high=300,
    example="2.5",
    taken=gettext_noop("Height above ground where the diameter was taken."), phrase=gettext_noop("at %(value)s cm"),
    unseen="", places=frozenset({FORM, SHEET, TREE}), limit_in_database=False,
    column_title="height above ground where the diameter was taken (cm)",
)  # fmt: skip
CANKER = Measurement(
    "canker", "canker_class", gettext_noop("Canker, worst class"), LOOKED_FOR, short=gettext_noop("Canker"),
    header="Canker class (0-4)", taken=gettext_noop("The worst canker on the stem counts."),
    classes=(
        Code(0, gettext_noop("None"), gettext_noop("No canker seen.")),
        Code(1, gettext_noop("Superficial"), gettext_noop("Swollen or shallow, callusing.")),
        Code(2, gettext_noop("Sunken, under half"), gettext_noop("Less than half of the stem girdled.")),
        Code(3, gettext_noop("Sunken, over half"), gettext_noop("More than half of the stem girdled.")),
        Code(4, gettext_noop("Dead above"), gettext_noop("The stem is dead above the canker.")),
    ),
)  # fmt: skip
BROWSE = Measurement(
    "browse", "browse_class", gettext_noop("Browse"), LOOKED_FOR, header="Browse class", explains_loss=True,
    phrase=gettext_noop("browse %(value)s"),
    taken=gettext_noop("Share of the shoots that were browsed."),
    classes=(
        Code("none", gettext_noop("None"), gettext_noop("No shoot browsed.")),
        Code("light", gettext_noop("Light"), gettext_noop("Under a third of the shoots.")),
        Code("moderate", gettext_noop("Moderate"), gettext_noop("A third to two thirds of the shoots.")),
        Code("heavy", gettext_noop("Heavy"), gettext_noop("Over two thirds of the shoots.")),
    ),
)  # fmt: skip
DIEBACK = Measurement(
    "dieback", "dieback_percent", gettext_noop("Dieback"), LOOKED_FOR, unit=gettext_noop("%"), high=100, whole=True, example="30",
    explains_loss=True,
    taken=gettext_noop("Share of the crown that died back, in steps of 10, such as 30."),
)  # fmt: skip
FLOWERS = Measurement(
    "flowering", "flowering", gettext_noop("Flowers or fruit"), LOOKED_FOR, short=gettext_noop("Flowers"), header="Flowering", dead=WARNING,
    phrase=gettext_noop("flowers %(value)s"),
    taken=gettext_noop("Flowers or fruit seen on the tree."),
    classes=(
        Code("none", gettext_noop("None"), gettext_noop("Looked for, and none seen.")),
        Code("male", gettext_noop("Male"), gettext_noop("Male flowers only.")),
        Code("female", gettext_noop("Female"), gettext_noop("Female flowers or fruit only.")),
        Code("both", gettext_noop("Both"), gettext_noop("Male flowers, and female flowers or fruit.")),
    ),
)  # fmt: skip

MEASUREMENTS = (HEIGHT, DIAMETER, DIAMETER_AT, CANKER, BROWSE, DIEBACK, FLOWERS)
FIELDS = tuple(item.field for item in MEASUREMENTS)


def measured_at(place: str) -> tuple[Measurement, ...]:
    """The measurements that appear at a place, in the order of the table.

    Examples
    --------
    >>> [item.name for item in measured_at(FIELD_FORM)]
    ['height', 'diameter', 'canker', 'browse', 'dieback', 'flowering']
    """
    return tuple(item for item in MEASUREMENTS if place in item.places)


def value_of(record: object, item: Measurement) -> float | int | str | None:
    """What a record says of a measurement, from its column or from `own_values`.

    Returns
    -------
    float, int, str or None
        A number in the unit of the measurement, or a code; None or "" where nobody looked.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> value_of(SimpleNamespace(height_cm=142.0), HEIGHT)
    142.0
    """
    return record.own_values.get(item.field) if item.is_own else getattr(record, item.field)


def measures_words(
    record: object, say: Callable[[str], str] = str, write: Callable[[str], str] = str, own: Sequence[Measurement] = ()
) -> str:
    """What was measured and looked for in a record, in one line: 142 cm, 12 mm, canker 0. `say` translates, `write` writes numbers.

    `own` are the programme's measurements at hand; the value of another is named by its code, without the unit.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> seen = dict.fromkeys(FIELDS) | {"height_cm": 142.0, "canker_class": 0, "browse_class": "", "own_values": {"leaf_spot_v1": 2}}
    >>> measures_words(SimpleNamespace(**seen))
    '142 cm, canker 0, leaf spot 2'
    """
    values = [(item, getattr(record, item.field)) for item in measured_at(TREE)]
    known = {item.field: item for item in own}
    words = [item.words(value, say, write) for item, value in values if value not in (None, "")]
    for field, value in record.own_values.items():
        code = field.rpartition("_v")[0]
        words.append(known[field].words(value, say, write) if field in known else f"{code.replace('_', ' ')} {value}")
    return ", ".join(words)
