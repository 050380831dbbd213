"""What is impossible or odd about a harvest, by the records of its mother and pollen."""

import datetime

from registry.calc.shared.screen import day_words
from registry.choices import TreeStatus

__all__ = ["harvest_day_fault", "harvest_doubts", "mother_fault"]


def harvest_day_fault(lot, on):
    """Why a picking of this day cannot belong to the lot; "" where it can. Seed left on the tree is picked in the year after it ripened."""
    if lot.year is None or on.year in {lot.year, lot.year + 1}:
        return ""
    return f"Lot {lot.code} ripened in {lot.year}, this picking is of {on.year}. Years are never mixed in one lot."


def mother_fault(mother, year):
    """Why no seed of this tree can have ripened in a year: it was gone before, by the records. "" where it can have."""
    if year is None:
        return ""
    first_day = datetime.date(year, 1, 1)
    gone, standing_again = None, False
    for status, on in _steps(mother):
        if on is None:
            continue  # the day is not known: `harvest_doubts` asks about it
        if on < first_day:
            gone = None if status == TreeStatus.STANDING else (TreeStatus(status).label, on)
        elif on.year == year and status == TreeStatus.STANDING:
            standing_again = True
    if gone is None or standing_again:
        return ""
    word, on = gone
    return (
        f"{mother.code} is {word} since {day_words(on)}: no seed of it can have ripened in {year}. "
        "Check the tree and the year, or correct the status of the tree first."
    )


def harvest_doubts(mother, pool, year):
    """What is odd about a new harvest though it may be right, in sentences: the form asks once."""
    doubts = []
    if pool and year and pool.flowering_year < year - 1:
        doubts.append(f"Pollen pool {pool.code} is of {pool.flowering_year}; the seed ripened in {year}. Stored pollen can be that old.")
    if mother and mother.status != TreeStatus.STANDING and mother.status_on is None:
        doubts.append(f"{mother.code} is recorded as {mother.get_status_display()}, since an unknown day.")
    return doubts


def _steps(tree):
    """(status, day) of the history in time order; the status of the tree itself where it has none."""
    steps = [(step.status, step.on) for step in tree.status_history.all()]
    steps = steps or [(tree.status, tree.status_on)]
    return sorted(steps, key=lambda step: step[1] or datetime.date.min)
