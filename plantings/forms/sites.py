"""Forms of sites, their outlines, and the layers of jurisdictions an administrator adds."""

from copy import deepcopy

from django import forms
from django.utils.translation import gettext_lazy as _

from plantings import choices
from plantings.forms.census_boxes import number_as_typed
from plantings.models import BoundaryLayer, Site
from plantings.selectors.sites.local_texts import SITE_TEXTS
from plantings.selectors.sites.places import BY_HAND, TYPED
from plantings.services.sites import point_check
from registry.access.languages import OTHER_LANGUAGES
from registry.forms.shared.fields import RecordForm
from registry.forms.shared.filters import FilterForm, pick, words

_LARGEST_BYTES = 20_000_000


class SiteFilters(FilterForm):
    status = pick(_("sites that are"), _("active or closed"), choices.site_statuses)
    jurisdiction = words(_("in"), ("jurisdiction",))
    partner = words(_("of partner"), ("partner__code", "partner__name"))
    text = words(_("with"), ("code", "name"))
    exact = {"status": "status"}


class ComparedTexts(forms.Form):
    """A form of texts in several languages: where the English changes and another language stays, it asks whether both say the same."""

    compared = ()  # the fields in English
    is_compared = forms.BooleanField(
        label="I compared: the French says the same as the English", required=False,
        help_text="Only needed where the English changes and the French does not.",
    )  # fmt: skip

    def clean(self):
        cleaned = super().clean()
        changed = set(self.changed_data)
        for name in self.compared if not cleaned.get("is_compared") else ():
            for local in (f"{name}_{language}" for language in OTHER_LANGUAGES):
                if name in changed and local not in changed and cleaned.get(local):
                    self.add_error(local, "The English changes and this does not. Change it too, or tick that it says the same.")
        return cleaned


class SiteForm(ComparedTexts, RecordForm):
    compared = SITE_TEXTS
    jurisdiction = forms.RegexField(
        r"^[A-Z]{2}(-[A-Z0-9]{1,3})?$", label="Jurisdiction set by hand", max_length=10, required=False,
        help_text="Left blank, it is found from the point. Otherwise a code of ISO 3166-2, such as US-VT.",
        error_messages={"invalid": "Write a code such as US-VT or CA-ON, or leave the box blank."},
    )  # fmt: skip
    county = forms.CharField(
        label="County typed in", max_length=60, required=False,
        help_text="Left blank, it is found from the point or outline in the United States. What is typed is marked as not checked.",
    )  # fmt: skip
    reason = forms.CharField(label="Why", max_length=120, required=False, help_text="Needed when the jurisdiction is set by hand.")

    groups = [
        ("What it is", ("code", "name", "partner", "status", "status_reason")),
        ("Location", ("longitude", "latitude", "elevation_m", "jurisdiction", "county", "reason")),
        ("Vegetation and hazards", ("light", "soil", "disease_history", "protection")),
        ("Going there", ("access_notes", "access_notes_fr", "cautions", "cautions_fr", "is_compared")),
    ]
    units = {"longitude": "degrees", "latitude": "degrees", "elevation_m": "m"}

    class Meta:
        model = Site
        fields = [
            "code", "name", "partner", "status", "status_reason", "longitude", "latitude", "elevation_m", "light", "soil",
            "disease_history", "protection", "access_notes", "access_notes_fr", "cautions", "cautions_fr",
        ]  # fmt: skip
        labels = {"code": "Site", "status_reason": "Why it is closed", "elevation_m": "Elevation", "access_notes": "Access"}
        help_texts = {
            "longitude": "WGS 84; west of Greenwich is negative.",
            "latitude": "WGS 84; south of the equator is negative.",
            "light": "Treatment and year of cut, residual basal area or canopy share.",
            "soil": "Drainage first, then texture and pH.",
            "disease_history": "Root rot, canker nearby, tests and their dates.",
            "protection": "Fence, cage or shelter with height, and the dates it was put up, breached, repaired, removed.",
            "access_notes": "Gate, road, parking, where to find the start corner, whom to call.",
            "access_notes_fr": "The same in French. Left blank, a page in French shows the English, marked as English.",
            "cautions": "One a line. Shown above every census form of this site.",
            "cautions_fr": "The same lines in French. Left blank, a page in French shows the English, marked as English.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if "reason" not in self.fields:  # a new site needs one too when its jurisdiction is set by hand
            self.fields["reason"] = deepcopy(self.base_fields["reason"])
            self.fields["reason"].unit = ""
        self.initial = {name: number_as_typed(value) for name, value in self.initial.items()}
        if self.instance.jurisdiction_basis.startswith(BY_HAND):
            self.fields["jurisdiction"].initial = self.instance.jurisdiction
        if self.instance.county_basis == TYPED:
            self.fields["county"].initial = self.instance.county

    def clean(self):
        cleaned = super().clean()
        if "longitude" in cleaned and "latitude" in cleaned:
            try:
                point_check(cleaned["longitude"], cleaned["latitude"])
            except forms.ValidationError as error:
                self.add_error(None, error)
        return cleaned


class BoundaryForm(forms.Form):
    file = forms.FileField(label="File with the outline", help_text="GeoJSON, GeoPackage, KML, or a zipped shapefile, up to 20 MB.")
    source_crs = forms.CharField(
        label="Coordinate reference system", max_length=40, required=False,
        help_text="Only for a file that does not name its own, such as EPSG:26918.",
    )  # fmt: skip
    layer = forms.CharField(label="Layer", max_length=80, required=False, help_text="Only for a file with several layers.")

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > _LARGEST_BYTES:
            raise forms.ValidationError(f"{file.name} has {file.size / 1e6:.0f} MB; the limit is 20 MB. Export only what is needed.")
        return file


class SiteBoundaryForm(BoundaryForm):
    """The outline of one site; of a file with those of many, by a value of a column."""

    field_order = ["file", "column", "value", "layer", "source_crs", "is_meant"]
    column = forms.CharField(
        label="Column that names the site", max_length=80, required=False, help_text="Only for a file with the outlines of several sites."
    )
    value = forms.CharField(label="Its value for this site", max_length=120, required=False)
    is_meant = forms.BooleanField(
        label="This outline is right", required=False, help_text="Only after a question about its size or its distance from the point."
    )

    def clean(self):
        cleaned = super().clean()
        if bool(cleaned.get("column")) != bool(cleaned.get("value")):
            self.add_error("value" if cleaned.get("column") else "column", "Give both the column and its value, or neither.")
        return cleaned


class BoundaryWithdrawForm(forms.Form):
    reason = forms.CharField(
        label="Why it is withdrawn", max_length=160, help_text="Stored in the list of changes, with the layer as it was."
    )


class BoundaryLayerForm(BoundaryForm):
    field_order = ["kind", "name", "source", "file", "code_column", "name_column", "layer", "source_crs"]
    kind = forms.ChoiceField(label="What it outlines", choices=choices.layer_kinds, initial=choices.LayerKind.JURISDICTIONS)
    name = forms.CharField(label="Name of the layer", max_length=80)
    source = forms.CharField(label="Where it comes from", max_length=200, help_text="Publisher, edition and date.")
    code_column = forms.CharField(
        label="Column with the codes", max_length=60,
        help_text="Codes of ISO 3166, such as US-VT; of areas, codes that rules then name as area:CODE.",
    )  # fmt: skip
    name_column = forms.CharField(label="Column with the names", max_length=60, required=False)

    def clean_name(self):
        name = self.cleaned_data["name"]
        if BoundaryLayer.objects.filter(name=name).exists():
            raise forms.ValidationError(f"There is a layer {name} already. Give this one its own name, with its edition or year.")
        return name
