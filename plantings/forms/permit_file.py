"""Forms of the permit file."""

from django import forms

from registry.forms.prints.issued import PageForm


class PermitFileForm(PageForm):
    """The page the file is printed on."""


class YearForm(forms.Form):
    """The year of a report."""

    year = forms.IntegerField(label="Year", min_value=1900, max_value=2200)
