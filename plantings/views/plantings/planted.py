"""The column of how many were planted, where some plots may hold an unknown number."""

from django.utils.translation import gettext_lazy as _

from plantings.selectors.plantings.unknown_plots import planted_words
from registry.views.shared.tables import Column

__all__ = ["planted_column"]


def planted_column(name):
    """A Column of records with a number `name` and their `unknown_plots`: the number, or words where that is not all."""

    def planted(record):
        number = getattr(record, name)
        return planted_words(number, record.unknown_plots) if record.unknown_plots else number

    return Column(_("Planted (count)"), planted, "right", lambda record: None if record.unknown_plots else "number")
