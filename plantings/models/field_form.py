"""The printed field form and what comes back from it."""

from django.db import models

from plantings.calc.census.page_codes import PageCode
from plantings.models.census import CensusRound
from registry.access import roles
from registry.access.scoping import READERS
from registry.models.append_only import AppendOnly, AppendOnlyQuerySet
from registry.models.entered import Entered
from registry.models.files import StoredFile
from registry.models.shared.part_date_field import PartDateField


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


class KeyingQuerySet(AppendOnlyQuerySet):
    def to_settle(self):
        """Second keyings that differ from the records, and that nobody has settled."""
        return self.filter(differing__gt=0, settlement__isnull=True)


class PageKeying(AppendOnly, Entered):
    """A page keyed by one person. Number 1 is the first keying, which stores census records; number 2 is that of a second person.

    A page whose records came by phone or in a sheet has only a number 2, which is compared with those records.

    A second keying stores no census record: `cells` has what was keyed, {tree key: {box: text}}, and `differing` how many of its cells
    said something else than the records on file when it was handed in.
    """

    page = models.ForeignKey(FormPage, on_delete=models.PROTECT, related_name="keyings")
    number = models.PositiveSmallIntegerField("1 for the first keying, 2 for the second")
    observed_on = PartDateField(null=True, blank=True)
    observer = models.CharField(max_length=120, blank=True)
    cells = models.JSONField(default=dict, blank=True)
    differing = models.PositiveIntegerField("cells that differ", default=0)

    SCOPE = READERS | {roles.VOLUNTEER: "page__round__planting__crew"}
    objects = KeyingQuerySet.as_manager()

    class Meta:
        ordering = ["page", "number"]
        constraints = [models.UniqueConstraint(fields=["page", "number"], name="pagekeying_once")]

    def __str__(self):
        return f"{self.page} keyed {self.number}"


class KeyingSettlement(AppendOnly, Entered):
    """That a person settled where two keyings of a page differ: `decided` is {tree key: {box: text}}, what each cell says now."""

    keying = models.OneToOneField(PageKeying, on_delete=models.PROTECT, related_name="settlement")
    decided = models.JSONField(default=dict, blank=True)

    SCOPE = READERS | {roles.VOLUNTEER: "keying__page__round__planting__crew"}

    class Meta:
        ordering = ["keying"]

    def __str__(self):
        return f"{self.keying} settled"


class FormScan(AppendOnly, Entered):
    """A photo or scan of a filled-in field form: of one page, or of the round where the page is not known.

    The office sees all of them, whoever sent one in their own: what is written on it is not for somebody who measures again.
    """

    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="scans")
    page = models.ForeignKey(FormPage, on_delete=models.PROTECT, null=True, blank=True, related_name="scans")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="form_scans")

    SCOPE = READERS | {roles.VOLUNTEER: "entered_by"}

    class Meta:
        ordering = ["round", "page", "id"]

    def __str__(self):
        return f"{self.file} of {self.page or self.round}"

    @property
    def is_picture(self):
        return self.file.content_type == "image/jpeg"
