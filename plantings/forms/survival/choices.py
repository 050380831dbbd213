"""The choices of the survival desk, declared once: every page of results takes its boxes, its limits and its links from here.

Each choice is in the address under its name, so that a link gives the page again and leads to the next page with the same choices.
"""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from plantings.calc.survival.census_choice import AGE, CensusChoice, read_census_choice
from plantings.calc.survival.groups import CHECK, LEVELS, TEST, level_choices
from plantings.choices import causes
from plantings.models import Site
from plantings.selectors.survival.filters import NO_PROTECTION, NOT_KNOWN, REVIEWED, UNREVIEWED, SurvivalFilter
from registry.calc.pedigree.generation import parse_generation
from registry.forms.shared.fields import CodesField, WordsBox
from registry.selectors.shared.local_text import local_text


def translated(listed):
    """The choices that pure code lists, in the language of the reader."""
    return [(code, local_text(words)) for code, words in listed]


class JurisdictionsField(forms.CharField):
    """Several codes of jurisdictions of the sites that a person sees."""

    def __init__(self, **kwargs):
        super().__init__(widget=WordsBox(several=True), max_length=400, **kwargs)
        self.sites = Site.objects.none()

    def known(self):
        return [code or NOT_KNOWN for code in self.sites.order_by("jurisdiction").values_list("jurisdiction", flat=True).distinct()]

    def offered(self, text):
        """[(code, words)] of those that hold a text."""
        words = [(code, str(_(NOT_KNOWN)) if code == NOT_KNOWN else code) for code in self.known()]
        return [(code, label) for code, label in words if text.casefold() in f"{code} {label}".casefold()]

    def clean(self, value):
        codes = tuple(dict.fromkeys(code.strip() for code in super().clean(value).split(",") if code.strip()))
        known = {code.casefold(): code for code in self.known()} if codes else {}
        for code in codes:
            if code.casefold() not in known:
                raise ValidationError(_("No site to choose here is in “%(code)s”.") % {"code": code})
        return tuple(known[code.casefold()] for code in codes)


class SurvivalChoices(forms.Form):
    """What every page of results may be limited to. A page without one of them sets it to None; `usual` are always in sight."""

    usual = ("level", "population", "site", "jurisdiction", "role")
    defaults = {}
    order = then = view = None

    level = forms.ChoiceField(label=_("lineage taken as"), choices=lambda: translated(level_choices()))
    site = CodesField(Site, label=_("at"), required=False, describe=str)
    jurisdiction = JurisdictionsField(label=_("in"), required=False)
    role = forms.ChoiceField(
        label=_("of"),
        required=False,
        choices=[("", _("trees under test and checks")), (TEST, _("trees under test only")), (CHECK, _("checks only"))],
    )
    generation = forms.CharField(label=_("of generation"), required=False, max_length=200, widget=WordsBox(size=7))
    protection = forms.CharField(label=_("protected by"), required=False, max_length=80, widget=WordsBox(size=9))
    cause = forms.ChoiceField(label=_("in plantings that lost trees to"), required=False)
    review = forms.ChoiceField(
        label=_("from censuses"),
        required=False,
        choices=[("", _("reviewed or not")), (REVIEWED, _("with every record accepted")), (UNREVIEWED, _("with records nobody accepted"))],
    )
    open = forms.BooleanField(label=_("including censuses that are not complete"), required=False)
    at = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)
    planting = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)
    of_level = forms.ChoiceField(required=False, choices=list(LEVELS.items()), widget=forms.HiddenInput)
    of_lineage = forms.CharField(required=False, max_length=400, strip=False, widget=forms.HiddenInput)

    def __init__(self, user, data):
        given = data.copy()
        for name, value in self.defaults.items():
            if not given.get(name):
                given[name] = value
        if given.get("season") and not given.get("at"):  # addresses of earlier editions
            given["at"] = CensusChoice(AGE, given["season"]).code
        super().__init__(given)
        sites = Site.objects.for_user(user)
        self.fields["site"].queryset = sites
        self.fields["site"].widget.attrs["placeholder"] = _("all sites")
        self.fields["jurisdiction"].sites = sites
        self.fields["jurisdiction"].widget.attrs["placeholder"] = _("all jurisdictions")
        self.fields["generation"].widget.attrs["placeholder"] = _("any")
        self.fields["protection"].widget.attrs["placeholder"] = _("anything")
        self.fields["protection"].widget.attrs["title"] = _(
            "A word of what is on file of a site, such as fence, or “%(none)s” for nothing"
        ) % {"none": NO_PROTECTION}
        self.fields["cause"].choices = [("", _("any cause")), *causes()]

    def clean_at(self):
        code = self.cleaned_data["at"]
        try:
            return read_census_choice(code) if code else None
        except ValueError as error:
            raise ValidationError(str(error)) from None

    def clean_generation(self):
        """The code as it is printed, or the words of a mixture as they are."""
        text = self.cleaned_data["generation"]
        try:
            return parse_generation(text).code if text else ""
        except ValueError:
            return text

    @property
    def usual_boxes(self):
        return [box for box in self.visible_fields() if box.name in self.usual]

    @property
    def more_boxes(self):
        return [box for box in self.visible_fields() if box.name not in self.usual]

    @property
    def more_chosen(self):
        """Whether one of the boxes that are folded away is in use."""
        return any(box.value() for box in self.more_boxes)

    @property
    def within(self):
        """(level, label) of the one lineage that is shown, or None."""
        level, label = self.cleaned_data.get("of_level"), self.cleaned_data.get("of_lineage")
        return (level, label) if level and label else None

    @property
    def limits(self):
        given = self.cleaned_data
        return SurvivalFilter(
            site=tuple(site.code for site in given["site"]), jurisdiction=given["jurisdiction"], role=given.get("role", ""),
            within=self.within, open_rounds=given.get("open", True), planting=given["planting"], generation=given["generation"],
            protection=given["protection"], cause=given["cause"], review=given["review"],
        )  # fmt: skip

    @property
    def problems(self):
        """What could not be read, as sentences: label and message."""
        return [f"{self[name].label}{_(':')} {message}" for name, messages in self.errors.items() for message in messages]
