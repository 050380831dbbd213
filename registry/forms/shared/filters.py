"""Filters above the lists, written as plain words: each form reads as a sentence that begins with "Show"."""

from functools import cache

from django import forms
from django.apps import apps
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from registry import choices
from registry.calc.pedigree.generation import parse_generation
from registry.models.audit import stored_name
from registry.selectors.permits.as_of import with_state_on
from registry.selectors.shared.verified import is_verified


def pick(label, any_words, options):
    """A filter that picks one of a code list; nothing picked shows everything."""
    return forms.ChoiceField(label=label, required=False, choices=lambda: [("", any_words), *(options() if callable(options) else options)])


def year_box(label):
    return forms.IntegerField(label=label, required=False, min_value=1900, max_value=2200, widget=forms.NumberInput(attrs={"size": 5}))


def words(label, places):
    """A text looked for anywhere in the fields `places`."""
    box = forms.CharField(label=label, required=False, widget=forms.TextInput(attrs={"size": 12}))
    box.places = places
    return box


class FilterForm(forms.Form):
    """`exact` names the fields compared as they are; text fields know their `places`."""

    exact = {}

    def narrow(self, queryset):
        for name, lookup in self.exact.items():
            value = self.cleaned_data.get(name)
            if value not in (None, ""):
                queryset = queryset.filter(**{lookup: value})
        for name, field in self.fields.items():
            text = self.cleaned_data.get(name)
            if getattr(field, "places", None) and text:
                found = Q()
                for place in field.places:
                    found |= Q(**{f"{place}__icontains": text.strip()})
                queryset = queryset.filter(found)
        return queryset


class GenerationFilterForm(FilterForm):
    generation = forms.CharField(label="generation", required=False, widget=forms.TextInput(attrs={"size": 6}))

    def clean_generation(self):
        text = self.cleaned_data["generation"].strip()
        if not text:
            return None
        try:
            return parse_generation(text)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error

    def narrow(self, queryset):
        generation = self.cleaned_data.get("generation")
        if generation and generation.other:
            queryset = queryset.filter(generation_other__iexact=generation.other)
        elif generation:
            queryset = queryset.filter(backcrosses=generation.backcrosses, intercrosses=generation.intercrosses)
        return super().narrow(queryset)


class LotFilters(GenerationFilterForm):
    field_order = ["kind", "origin", "year", "generation", "holding", "text"]
    kind = pick("lots of", "any kind", [("seed", "seed"), ("stock", "stock")])
    origin = pick("from", "any origin", choices.lot_origins)
    year = year_box("of the year")
    holding = pick("holding", "any number or none", [("some", "any"), ("none", "nothing")])
    text = words("with", ("code", "mother__code", "outside_origin", "storage_place"))
    exact = {"kind": "kind", "origin": "origin", "year": "year"}

    def narrow(self, queryset):
        holding = self.cleaned_data.get("holding")
        if holding:
            queryset = queryset.filter(balance__gt=0) if holding == "some" else queryset.filter(balance=0)
        return super().narrow(queryset)


class LedgerFilters(FilterForm):
    kind = pick("entries of", "any kind", choices.ledger_kinds)
    since = forms.DateField(label="from", required=False, widget=forms.DateInput(attrs={"type": "date"}))
    until = forms.DateField(label="to", required=False, widget=forms.DateInput(attrs={"type": "date"}))
    lot = words("of lots with", ("lot__code",))
    exact = {"kind": "kind", "since": "on__gte", "until": "on__lte"}


class TreeFilters(GenerationFilterForm):
    field_order = ["status", "orchard", "generation", "source", "parent", "text"]
    status = pick("trees that are", "in any state", choices.tree_statuses)
    orchard = words("in orchard", ("orchard",))
    source = words("of source", ("source_of_resistance",))
    parent = forms.CharField(label="child of", required=False, widget=forms.TextInput(attrs={"size": 12}))
    text = words("with", ("code", "recurrent_line", "block"))
    exact = {"status": "status"}

    def narrow(self, queryset):
        parent = self.cleaned_data.get("parent", "").strip()
        if parent:
            queryset = queryset.filter(Q(mother__code__iexact=parent) | Q(father__code__iexact=parent))
        return super().narrow(queryset)


class PollenPoolFilters(FilterForm):
    year = year_box("pools that flowered in")
    text = words("with", ("code", "orchard", "block"))
    exact = {"year": "flowering_year"}


class PartnerFilters(FilterForm):
    kind = pick(_("partners of"), _("any kind"), choices.partner_kinds)
    text = words(_("with"), ("code", "name"))
    exact = {"kind": "kind"}


class ShipmentFilters(FilterForm):
    state = pick(
        _("shipments that are"), _("in any state"), [*choices.shipment_states(), ("unreceived", _("dispatched without a receipt"))]
    )
    since = forms.DateField(label=_("dispatched from"), required=False, widget=forms.DateInput(attrs={"type": "date"}))
    until = forms.DateField(label=_("to"), required=False, widget=forms.DateInput(attrs={"type": "date"}))
    text = words(_("with"), ("code", "receiver__code", "receiver__name", "carrier"))
    exact = {"since": "dispatched_on__gte", "until": "dispatched_on__lte"}

    def narrow(self, queryset):
        state = self.cleaned_data.get("state")
        if state:
            queryset = queryset.unreceived() if state == "unreceived" else queryset.filter(state=state)
        return super().narrow(queryset)


class ReceiptFilters(FilterForm):
    since = forms.DateField(label=_("received from"), required=False, widget=forms.DateInput(attrs={"type": "date"}))
    until = forms.DateField(label=_("to"), required=False, widget=forms.DateInput(attrs={"type": "date"}))
    box = pick(_("in a box that was"), _("in any condition"), choices.box_conditions)
    text = words(_("with"), ("receipt__shipment__code", "line__lot__code", "receipt__received_by"))
    exact = {"since": "receipt__received_on__gte", "until": "receipt__received_on__lte", "box": "receipt__box_condition"}


class AuthorizationFilters(FilterForm):
    type = pick("papers of", "any type", choices.authorization_types)
    state = pick("that are", "in any state", choices.authorization_states)
    ends = forms.DateField(label="ending by", required=False, widget=forms.DateInput(attrs={"type": "date"}))
    text = words("with", ("code", "title", "issuer", "issuer_reference", "holder_body", "holder_person"))
    exact = {"type": "type", "state": "state_then", "ends": "ends_then__lte"}

    def narrow(self, queryset):
        return super().narrow(with_state_on(queryset, timezone.localdate()))


class RequirementFilters(FilterForm):
    verified = pick("rules that are", "verified or not", [("no", "not verified"), ("yes", "verified")])
    example = pick("and", "examples or not", [("False", "no examples"), ("True", "examples, not law")])
    text = words("with", ("code", "title", "source", "edition"))
    exact = {"example": "is_example"}

    def narrow(self, queryset):
        verified = self.cleaned_data.get("verified")
        if verified:
            found = is_verified(queryset.model, timezone.localdate())
            queryset = queryset.filter(found if verified == "yes" else ~found)
        return super().narrow(queryset)


class PersonFilters(FilterForm):
    role = pick("people who are", "in any role", choices.role_choices)
    active = pick("and", "active or not", [("True", "active"), ("False", "no longer active")])
    text = words("with", ("username", "first_name", "last_name", "email", "partner__code", "partner__name"))
    exact = {"role": "role", "active": "is_active"}


def record_types():
    """Every record type by the name it has on screen."""
    models = [model for model in apps.get_models() if hasattr(model, "SCOPE")]
    return sorted(((stored_name(model), str(model._meta.verbose_name)) for model in models), key=lambda pair: pair[1])


@cache
def record_type_names():
    """{name in the audit trail: name on screen}."""
    return dict(record_types())


class AuditFilters(FilterForm):
    record_type = pick("changes of", "any record", record_types)
    person = words("made by", ("actor__username", "actor__first_name", "actor__last_name"))
    text = words("to", ("record_label",))
    exact = {"record_type": "record_type"}
