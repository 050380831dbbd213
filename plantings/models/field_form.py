"""The printed field form and what comes back from it."""

from django.db import models

from plantings.calc.census.page_codes import PageCode
from plantings.models.census import CensusRound
from registry.access import roles
from registry.access.scoping import READERS
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered


class FormPage(AppendOnly, Entered):
    """One page of a printed field form: the trees it lists, by their keys, in the order in which they are printed.

    Printed again with the same trees on each page, a form keeps its number, so that its codes stay the same.
    """

    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="form_pages")
    form = models.PositiveSmallIntegerField("1 for the first form of its round, 2 for the next that differs …")
    number = models.PositiveSmallIntegerField("page")
    count = models.PositiveSmallIntegerField("pages of the form")
    trees = models.JSONField("trees in the order of the page", default=list, blank=True)

    SCOPE = READERS | {roles.VOLUNTEER: "round__planting__crew"}

    class Meta:
        ordering = ["round", "form", "number"]
        constraints = [models.UniqueConstraint(fields=["round", "form", "number"], name="formpage_once")]

    def __str__(self):
        return self.code

    @property
    def code(self):
        """The page code."""
        return str(PageCode(self.round_id, self.form, self.number))
