"""At which moment plantings are compared: at one age, in one calendar season, at one visit, or each at its latest census."""

from typing import NamedTuple

from registry.calc.shared.worded import counted, worded

AGE, SEASON, VISIT, LATEST = "age", "season", "visit", "latest"
_KINDS = (AGE, SEASON, VISIT)


class CensusChoice(NamedTuple):
    """`AGE` with growing seasons completed, `SEASON` with a calendar year, `VISIT` counted from 1, or `LATEST` without a number."""

    kind: str
    number: int | None = None

    @property
    def code(self) -> str:
        """As it is in an address: age-3, season-2025, visit-2, latest."""
        return self.kind if self.number is None else f"{self.kind}-{self.number}"

    @property
    def words(self) -> str:
        """As it follows "alive": after 3 growing seasons."""
        if self.kind == AGE:
            return worded("after %(seasons)s", seasons=counted(self.number, "growing seasons"))
        if self.kind == SEASON:
            return worded("in %(year)s", year=str(self.number))
        return worded("at visit %(number)s", number=self.number) if self.kind == VISIT else worded("at the latest census of each planting")

    def holds(self, age: int, year: int, visit: int) -> bool:
        """Whether a round is of this moment."""
        return self.kind == LATEST or self.number == {AGE: age, SEASON: year, VISIT: visit}[self.kind]


def read_census_choice(code: str) -> CensusChoice:
    """A moment from its code.

    Parameters
    ----------
    code : str

    Raises
    ------
    ValueError
        When it is not a moment.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> read_census_choice("season-2025"), read_census_choice("latest").words
    (CensusChoice(kind='season', number=2025), 'at the latest census of each planting')
    """
    if code == LATEST:
        return CensusChoice(LATEST)
    kind, _, number = code.partition("-")
    if kind not in _KINDS or not (number.isascii() and number.isdigit() and len(number) <= 4):
        raise ValueError(f"“{code[:40]}” is not a census. Write age-3, season-2025, visit-2 or latest.")
    return CensusChoice(kind, int(number))
