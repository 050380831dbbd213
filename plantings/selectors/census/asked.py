"""What a round asks for at each tree."""

from plantings.calc.census.measurements import FIELD_FORM, measured_at

__all__ = ["asked_at"]


def asked_at(census_round):
    """The measurements that a round asks for, in the order of the table. Today every round asks for those of the field form."""
    return measured_at(FIELD_FORM)
