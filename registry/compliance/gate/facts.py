"""The input of the gate: the question, the rules on file, the papers on file. Plain values, no clock.

Every tuple that limits something is "not limited" when it is empty. Order within these tuples means nothing, but for
`Paper.states`, which is read in the order of entry where two changes bear one day. Days are local calendar dates, and
both ends of a period belong to it.
"""

from dataclasses import dataclass
from datetime import date

from registry.compliance.gate.answers import EDITION


@dataclass(frozen=True, slots=True)
class Place:
    """A place as far as it is known.

    Parameters
    ----------
    code : str
        ISO 3166: “US-VT”, or “US” when only the country is known.
    county, site, partner : str
    also : tuple of str
        Other ISO codes of the same place: a territory has two.
    near : tuple of str
        Place patterns of what lies so near that the place may be in it.
    areas : tuple of str
        Codes of the areas of added layers, such as protected areas, in which it lies.
    areas_known : bool
        False where no point tells.
    county_typed : bool
        Somebody typed the county; no outline was looked at.
    """

    code: str = ""
    county: str = ""
    site: str = ""
    partner: str = ""
    also: tuple[str, ...] = ()
    near: tuple[str, ...] = ()
    areas: tuple[str, ...] = ()
    areas_known: bool = True
    county_typed: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One line of material: a lot in one form.

    Parameters
    ----------
    lot : str
    taxa : tuple of str
        Names of what is in the line; ancestors are expressed by classes.
    parent_taxa : tuple of str
        Species that a hybrid among `taxa` descends from, as far as they are known.
    classes, may_classes : tuple of str
        Codes of the material classes it certainly has, and of those it may have.
    form, unit : str
        “” when not known.
    quantity : int or None
        In `unit`; None when not known.
    use_by : date or None
        Last day of use.
    in_question : str
        Why its identity is in question; “” when it is not.
    draw_on : tuple of str
        Codes of the capped papers this line is to draw on. Empty: any.
    """

    lot: str
    taxa: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    may_classes: tuple[str, ...] = ()
    form: str = ""
    quantity: int | None = None
    unit: str = ""
    use_by: date | None = None
    in_question: str = ""
    draw_on: tuple[str, ...] = ()
    parent_taxa: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """May this be done, there, on that day?

    `destination` is where it goes, or the place itself for an activity at one place; `also_to` are other places it goes to, such as
    the receiver's where the material is for a site elsewhere. `receiver` is the named
    person who takes a shipment in. `people` are those who do it. `edition` is the edition of the gate that was asked: an answer is
    repeated as that edition gave it. `acting_for` is the body it is done for, “” when that is not known; `arrives_on` the day on which a
    shipment is expected.
    """

    activity: str
    on: date
    lines: tuple[Line, ...] = ()
    origin: Place = Place()
    destination: Place = Place()
    transit: tuple[Place, ...] = ()
    receiver: str = ""
    landowner_agreement_wanted: bool = False
    people: tuple[str, ...] = ()
    edition: int = EDITION
    also_to: tuple[Place, ...] = ()
    acting_for: str = ""
    arrives_on: date | None = None

    @property
    def destinations(self) -> tuple[Place, ...]:
        """Every place it goes to, the final one first."""
        return (self.destination, *self.also_to)


@dataclass(frozen=True, slots=True)
class Requirement:
    """A rule on file: for this, from here to there, such papers are needed.

    Parameters
    ----------
    code, edition : str
        Together they name the rule; the edition is that of the text it was read in.
    activities, classes, forms, taxa : tuple of str
        What it is about; how names of taxa are compared: see `taxa.named`.
    origins, destinations, transits : tuple of str
        Place patterns, see `places.matches`.
    from_on, until_on : date or None
        First and last day on which it applies.
    any_of : tuple of tuple of str
        Each inner tuple is a set of authorization types of which one is needed; every set must be met.
        Empty: no paper answers it. An advisory rule is then a notice, a blocking one stops what it is about.
    blocking : bool
        False: advisory.
    verified_on, verified_with, verified_by, review_by
        Who verified it with which authority and when, and until when that is good. Unverified rules apply too.
    """

    code: str
    edition: str
    title: str
    activities: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    forms: tuple[str, ...] = ()
    taxa: tuple[str, ...] = ()
    origins: tuple[str, ...] = ()
    destinations: tuple[str, ...] = ()
    transits: tuple[str, ...] = ()
    from_on: date | None = None
    until_on: date | None = None
    any_of: tuple[tuple[str, ...], ...] = ()
    blocking: bool = True
    source: str = ""
    verified_on: date | None = None
    verified_with: str = ""
    verified_by: str = ""
    review_by: date | None = None
    is_example: bool = False
    text: str = ""


@dataclass(frozen=True, slots=True)
class StateChange:
    """From this day on the paper is in this state (draft, applied, in_force, suspended, expired, closed)."""

    on: date
    state: str


@dataclass(frozen=True, slots=True)
class Version:
    """What a paper says from `from_on` (None: from its beginning) until the next version: the original is number 0, amendments follow.

    Parameters
    ----------
    starts_on, ends_on : date or None
        First and last day in force.
    under : tuple of str
        Codes of the requirements it was issued under. Empty: the paper does not say.
    sites : tuple of str
        Site codes at which it holds (the destination, or the place of the activity).
    origins, destinations, transits : tuple of str
        Place patterns.
    people : tuple of str
        Those who may act under it: people, or bodies by their name.
    cap_quantity, cap_unit, cap_activities
        The most that may be drawn, in which unit, by which activities (empty: by every activity).
    """

    number: int = 0
    from_on: date | None = None
    starts_on: date | None = None
    ends_on: date | None = None
    under: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    taxa: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()
    forms: tuple[str, ...] = ()
    activities: tuple[str, ...] = ()
    origins: tuple[str, ...] = ()
    destinations: tuple[str, ...] = ()
    transits: tuple[str, ...] = ()
    sites: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    cap_quantity: int | None = None
    cap_unit: str = ""
    cap_activities: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Paper:
    """An authorization on file.

    Parameters
    ----------
    states : tuple of StateChange
    versions : tuple of Version
    drawn : int
        Drawn from the cap so far, in the unit of the cap, this question not counted.
    holder_left_on : date or None
        First day without the holder; `date.min` when the day is not recorded.
    transferable : bool
        Whether it outlives the holder; then `second_contact` must be named, and be there.
    documents_present : bool
        Whether its document is on file.
    duties_overdue : tuple of str
        Titles of duties under it that fell due before the day of the question and are not done; that day may be to come.
    review_by : date or None
        Of a determination that none is needed: last day before somebody must ask again.
    partner : str
        Code of the partner it was made with.
    used_for : str
        Code of the shipment that has used up a paper for one consignment.
    """

    code: str
    type: str
    title: str = ""
    states: tuple[StateChange, ...] = ()
    versions: tuple[Version, ...] = ()
    drawn: int = 0
    holder_body: str = ""
    holder_person: str = ""
    second_contact: str = ""
    holder_left_on: date | None = None
    transferable: bool = False
    documents_present: bool = True
    duties_overdue: tuple[str, ...] = ()
    review_by: date | None = None
    partner: str = ""
    used_for: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything an answer rests on."""

    requirements: tuple[Requirement, ...] = ()
    papers: tuple[Paper, ...] = ()
