"""What a service that stores a list refuses, row by row."""

from django.core.exceptions import ValidationError

__all__ = ["RowsRefused"]


class RowsRefused(ValidationError):
    """Rows of a list cannot be stored, so nothing was.

    Parameters
    ----------
    faults : dict of {place in the list, from 0: ValidationError or its message}
    tied : dict of {place: places of the rows that can be stored only with that one}
    said : what a page says of the list; the first fault where it is not given
    """

    def __init__(self, faults, tied=None, said=None):
        self.faults = {place: fault if isinstance(fault, ValidationError) else ValidationError(fault) for place, fault in faults.items()}
        self.tied = tied or {}
        super().__init__(said or self.faults[min(self.faults)])
