"""What a census sheet to print lists."""

from django import forms

from registry.forms.prints.issued import PageForm


class CensusPaperForm(PageForm):
    trees = forms.ChoiceField(
        label="Trees", choices=(("all", "every tree of the round"), ("owed", "those still owed a record")), initial="all"
    )  # fmt: skip
    last = forms.BooleanField(
        label="Print what was seen last", required=False, initial=True, help_text="Leave it off where a crew is to look without knowing."
    )
