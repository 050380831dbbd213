"""Boxes the forms of the registry share."""

from functools import reduce
from itertools import islice
from operator import or_

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from registry.calc.pedigree.generation import EXAMPLES, parse_generation, read_generation
from registry.calc.shared.iso import DAY_PATTERN
from registry.selectors.identity.descent import chunks
from registry.selectors.shared.local_words import has_decimal_comma
from registry.services.shared.past_day import not_yet_words


def day_box():
    """A date box of the browser; it needs ISO to show what is stored."""
    return forms.DateInput(format=DAY_PATTERN, attrs={"type": "date"})


class PastDateField(forms.DateField):
    """The day something happened: today until another is given, never a day to come."""

    def __init__(self, **kwargs):
        super().__init__(**{"widget": day_box(), "initial": timezone.localdate} | kwargs)

    def validate(self, value):
        super().validate(value)
        if value and value > timezone.localdate():
            raise ValidationError(not_yet_words(timezone.localdate()))


class WordsShownField(forms.JSONField):
    """The sentences a page has shown, sent back with the form. Anything else than a list of sentences counts as nothing shown."""

    def __init__(self):
        super().__init__(widget=forms.HiddenInput, required=False)

    def to_python(self, value):
        try:
            shown = super().to_python(value)
        except (ValidationError, ValueError, RecursionError):  # not JSON, a number of thousands of digits, nested too deep
            shown = []
        return shown if isinstance(shown, list) and all(isinstance(sentence, str) for sentence in shown) else []

    def bound_data(self, data, initial):
        return self.to_python(data)


class AsTyped:
    """A number typed into a text box: 1_0 is a slip of the finger, which Python alone would read as 10.

    On a page in French 12,5 and 12.5 are the same. In English a comma is refused: 1,204 might be either.
    """

    def to_python(self, value):
        if isinstance(value, str) and "_" in value:
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        if isinstance(value, str) and has_decimal_comma():
            value = value.replace(",", ".").replace("\N{NO-BREAK SPACE}", "")
        return super().to_python(value)


class WholeNumberField(AsTyped, forms.IntegerField):
    pass


class NumberField(AsTyped, forms.FloatField):
    pass


class ExactNumberField(AsTyped, forms.DecimalField):
    pass


class CodeBox(forms.TextInput):
    """A text box for a code. A script offers what fits while somebody types (see `offers.py`); without it the browser offers the first
    `suggest` codes."""

    template_name = "registry/widgets/code_box.html"
    choices = ()

    def __init__(self, suggest=0):
        super().__init__({"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false", "data-offers": True})
        self.suggest = suggest

    def get_context(self, name, value, attrs):
        context = super().get_context(name, value, attrs)
        if "data-offers" in self.attrs:
            words = {"fits": _("What fits"), "none": _("Nothing fits."), "some": _("Fitting: %s"), "more": _("Fitting: more than %s")}
            context["widget"]["attrs"] |= {f"data-words-{key}": text for key, text in words.items()}
        if self.suggest:
            offered = [(code, "" if str(label) == str(code) else label) for code, label in islice(self.choices, self.suggest) if code]
            context["widget"]["suggestions"] = offered
            context["widget"]["attrs"]["list"] = f"{context['widget']['attrs'].get('id', name)}_codes"
        return context


class WordsBox(CodeBox):
    """A box for words or codes in a sentence of choices; with `several` a script completes the code after the last comma."""

    def __init__(self, size=None, *, several=False):
        super().__init__()
        self.attrs |= {"autocapitalize": "off"} | ({"size": size} if size else {})
        if several:
            self.attrs["data-several"] = True
        else:
            del self.attrs["data-offers"]


class CodeField(forms.ModelChoiceField):
    """A record named by its code. Thousands of lots do not fit a list to pick from; a code is what people have on paper.

    `describe` says in words what a record is; `search` names fields of related records that are searched while somebody types.
    """

    def __init__(self, model, *, suggest=0, describe=str, search=(), **kwargs):
        self.describe = describe
        self.search = search
        super().__init__(model._default_manager.all(), to_field_name="code", empty_label=None, widget=CodeBox(suggest), **kwargs)

    def label_from_instance(self, obj):
        return self.describe(obj)

    def prepare_value(self, value):
        if isinstance(value, int):
            return self.queryset.filter(pk=value).values_list("code", flat=True).first()
        return super().prepare_value(value)

    def to_python(self, value):
        code = str(getattr(value, "code", value) or "").strip()
        if not code:
            return None
        found = self.queryset.filter(code=code).first() or self.queryset.filter(code__iexact=code).first()
        if found is None:
            name = self.queryset.model._meta.verbose_name
            raise ValidationError(f"There is no {name} '{code}' to choose here. Check the code, or enter the {name} first.")
        return found


class CodesField(CodeField):
    """Several records named by their codes, with commas between them; it gives a list."""

    def __init__(self, model, **kwargs):
        super().__init__(model, **kwargs)
        self.widget = WordsBox(several=True)
        self.widget.is_required = self.required

    def clean(self, value):
        text = str(value or "").strip()
        whole = "," in text and self.queryset.filter(code=text).exists()  # a code may have a comma itself
        codes = dict.fromkeys(filter(None, [text] if whole else map(str.strip, text.split(","))))
        if self.required and not codes:
            raise ValidationError(self.error_messages["required"], code="required")
        found = {row.code.casefold(): row for row in self._named(codes)}
        for code in codes:
            if code.casefold() not in found:
                name = self.queryset.model._meta.verbose_name
                raise ValidationError(
                    _("There is no %(name)s “%(code)s” to choose here. Check the code.") % {"name": _(str(name)), "code": code}
                )
        return [found[code.casefold()] for code in codes]

    def _named(self, codes):
        """The records of these codes, some hundreds a query: SQLite refuses a condition of more than 1,000 (sqlite.org/limits.html)."""
        for some in chunks(codes):
            yield from self.queryset.filter(reduce(or_, (Q(code__iexact=code) for code in some)))


class Picker(forms.SelectMultiple):
    """Several of many records: a script makes a search box and the list of what is chosen out of it; without it, it is a plain list."""

    def __init__(self):
        super().__init__({"data-picker": True, "size": 8})


class RecordForm(forms.ModelForm):
    """A form of one record. `units` puts the unit beside the box; date boxes are the browser's own."""

    units = {}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            field.unit = self.units.get(name, "")
            if type(field) is forms.DateField:
                field.widget = day_box()
            if isinstance(field.widget, forms.Textarea):
                field.widget.attrs["rows"] = 3
        if "reason" in self.fields and not self.instance.pk:
            del self.fields["reason"]


def reason_field():
    """Why a record of identity is changed; a new record needs none (see `RecordForm`)."""
    return forms.CharField(label="Why it is changed", max_length=200, help_text="Stored in the history with the old value.")


class GenerationForm(RecordForm):
    """A form of a record with a generation: one box for the code, which is stored as two whole numbers or a word."""

    generation = forms.CharField(
        label="Generation", max_length=20, required=False, help_text=f"Write it like {EXAMPLES}. Left blank, it follows from the parents."
    )
    generation_word = forms.CharField(
        label="Generation in another word", max_length=20, required=False, help_text="Only when no code fits, such as an outcross."
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        code = self.instance.generation_code
        try:
            parse_generation(code)
        except ValueError:
            self.fields["generation_word"].initial = code
        else:
            self.fields["generation"].initial = code

    def clean_generation(self):
        text = self.cleaned_data["generation"].strip()
        if not text:
            return None
        try:
            return parse_generation(text)
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def clean_generation_word(self):
        text = self.cleaned_data["generation_word"].strip()
        if not text:
            return ""
        try:
            found = read_generation(text)
        except ValueError as error:
            raise ValidationError(str(error)) from error
        if not found.other:
            raise ValidationError(f"{found.code} is a code. Write it in the box Generation.")
        return found.other

    def clean(self):
        cleaned = super().clean()
        generation, word = cleaned.get("generation"), cleaned.get("generation_word", "")
        if generation and word:
            self.add_error("generation_word", "Give the code or the word, not both.")
        self.instance.backcrosses = generation.backcrosses if generation else None
        self.instance.intercrosses = generation.intercrosses if generation else None
        self.instance.generation_other = generation.other if generation else word
        return cleaned
