"""The column of how many were planted, where some plots may hold an unknown number."""

from django.utils.translation import gettext_lazy as _

from plantings.selectors.plantings.unknown_plots import planted_words
from registry.views.shared.tables import Column

__all__ = ["planted_column"]


def planted_column(name):
    """A Column of records with a number `name`, their `unknown_plots` and `trees_left_out`: the number, or words where that is not all."""

    def in_words(record):
        return record.unknown_plots or record.trees_left_out

    def planted(record):
        number = getattr(record, name)
        return planted_words(number, record.unknown_plots, record.trees_left_out) if in_words(record) else number

    return Column(_("Planted (count)"), planted, "right", lambda record: None if in_words(record) else "number")
