"""Forms of duties and their due dates, of the incident clocks of papers, and of incidents."""

import datetime

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from registry import choices
from registry.access import roles
from registry.calc.shared.screen import month_words
from registry.compliance.duties.place_zones import ZONE_NAMES
from registry.forms.shared.datetime_box import ZonedTimeField
from registry.forms.shared.fields import CodeField, PastDateField, Picker, RecordForm, reason_field
from registry.forms.shared.filters import FilterForm, pick, words
from registry.models import Authorization, Duty, Incident, Lot, Partner, Person, ReportingClock, Requirement
from registry.selectors.shared.local_words import local_day
from registry.services.duties.duties import EVERY_TOO_SMALL

_MONTHS = [("", "—"), *((month, month_words(month)) for month in range(1, 13))]


def _optional_file():
    return forms.FileField(
        label=_("File as evidence"), required=False, help_text=_("PDF, PNG, JPEG or plain text, at most 20 MiB. It is stored unchanged.")
    )


class DutyForm(RecordForm):
    authorization = CodeField(Authorization, label="Under the paper", required=False, suggest=100)
    partner = CodeField(Partner, label="With the partner", required=False, suggest=100)
    requirement = forms.ModelChoiceField(Requirement.objects.all(), label="For the rule", required=False)
    season_month = forms.TypedChoiceField(label="Month", choices=_MONTHS, coerce=int, empty_value=None, required=False)
    reason = reason_field()
    units = {"lead_days": "days", "days_before": "days"}

    groups = [
        ("What must be done", ("code", "kind", "title", "authorization", "requirement", "partner", "site_code", "evidence_wanted")),
        ("When", ("recurrence", "first_due_on", "every", "season_month", "season_day", "days_before", "until_on", "lead_days")),
        ("Who", ("responsible", "second")),
    ]
    rarely = ("requirement", "site_code", "until_on", "second")

    class Meta:
        model = Duty
        fields = [
            "code", "kind", "title", "authorization", "requirement", "partner", "site_code", "evidence_wanted", "recurrence",
            "first_due_on", "every", "season_month", "season_day", "days_before", "until_on", "lead_days", "responsible", "second", "note",
        ]  # fmt: skip
        labels = {
            "code": "Our reference", "title": "What must be done", "recurrence": "How often", "every": "Interval (months or years)",
            "season_day": "Day of that month", "days_before": "Days before", "until_on": "Last time by",
            "evidence_wanted": "Evidence required", "responsible": "Responsible person", "second": "Second person",
        }  # fmt: skip
        help_texts = {
            "code": "Leave blank for the next number.",
            "first_due_on": "For a day of the season: the earliest day it can fall due.",
            "every": "For “every … months” and “every … years”.",
            "season_day": "For a day that comes every year: the 15 of 15 June. In a shorter month the last day counts.",
            "days_before": "For “every year, … days before a day of the season”, such as 14 days before the first flowers.",
            "until_on": "Leave blank to continue until the duty is closed. The end of the paper does not end it.",
            "lead_days": "This many days before the due date it is listed as due.",
            "second": "Told when it is a week overdue. A lead, a coordinator or a manager.",
            "evidence_wanted": "Such as a copy of the report with the office's stamp.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["code"].required = False
        active = Person.objects.filter(is_active=True)
        for name, who in (("responsible", roles.ACTIONS["duty.done"]), ("second", roles.OFFICE)):
            named = Person.objects.filter(pk=getattr(self.instance, f"{name}_id"))
            self.fields[name].queryset = (active.filter(role__in=who) | named).distinct()

    def clean_every(self):
        every = self.cleaned_data["every"]
        if every is not None and every < 1:
            raise ValidationError(EVERY_TOO_SMALL)
        return every

    def clean_days_before(self):
        return self.cleaned_data["days_before"] or 0


class DutyDoneForm(forms.Form):
    due_on = forms.TypedChoiceField(label=_("Which due date"), coerce=datetime.date.fromisoformat)
    done_on = PastDateField(label=_("Done on"))
    by = forms.CharField(label=_("Done by"), max_length=80)
    evidence = forms.CharField(
        label=_("Evidence"), widget=forms.Textarea({"rows": 3}), help_text=_("Where the proof is: reference, letter, count.")
    )
    file = _optional_file()

    def __init__(self, *args, dates=(), wanted="", **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["due_on"].choices = [(day.isoformat(), f"{local_day(day)}, {state}") for day, state in dates]
        if wanted:
            self.fields["evidence"].help_text = _("Wanted: %(evidence)s") % {"evidence": wanted}


class DutyDoneCorrectForm(DutyDoneForm):
    reason = forms.CharField(label=_("Why it is corrected"), max_length=200, help_text=_("The record it replaces stays on file."))


class DutyCloseForm(forms.Form):
    closed_on = PastDateField(label="It ends on")
    reason = forms.CharField(label="Why it ends, and who said so", max_length=200, widget=forms.Textarea({"rows": 3}))


class DutyFilters(FilterForm):
    whose = pick(_("duties of"), _("anybody"), [("mine", _("mine only"))])
    status = pick(
        _("that are"),
        _("not closed"),
        [("late", _("overdue")), ("due", _("overdue or due")), ("closed", _("closed")), ("all", _("in any state"))],
    )
    within = forms.IntegerField(
        label=_("due within days"), required=False, min_value=0, max_value=3650, widget=forms.NumberInput(attrs={"size": 4})
    )
    kind = pick(_("of"), _("any kind"), choices.duty_kinds)
    paper = words(_("of the paper"), ("authorization__code", "authorization__title"))
    text = words(_("with"), ("code", "title", "site_code"))
    exact = {"kind": "kind"}


class ReportingClockForm(RecordForm):
    reason = reason_field()

    class Meta:
        model = ReportingClock
        fields = ["title", "tell", "amount", "unit", "as_written"]
        labels = {"title": "What to report", "amount": "Within", "unit": "of", "as_written": "As the paper says"}
        help_texts = {
            "title": "Such as: first call, written report.",
            "tell": "The office that must be told.",
            "amount": "0 = immediately. The clock starts when the incident is discovered.",
            "unit": "Working days are Monday to Friday. Holidays are not known here, so the earlier day is shown.",
        }


class IncidentForm(RecordForm):
    found_at = ZonedTimeField(label="Discovered at", help_text="The clocks start here, not when it happened.")
    authorizations = forms.ModelMultipleChoiceField(
        Authorization.objects.all(), label="Papers it affects", required=False, widget=Picker(),
        help_text="Those that have ended too: their clocks still run. When in doubt, choose it.",
    )  # fmt: skip
    lots = forms.CharField(
        label="Lots",
        required=False,
        help_text="Their codes, with commas between.",
        widget=forms.TextInput({"autocapitalize": "characters"}),
    )
    zone = forms.ChoiceField(
        label="Time zone of the place", required=False, choices=[("", "found from the site"), *((name, name) for name in ZONE_NAMES)],
        help_text="The clocks run in it. Without a site, that of the programme counts. The moment above is typed in the programme's.",
    )  # fmt: skip
    reason = reason_field()

    class Meta:
        model = Incident
        fields = ["title", "what", "found_at", "found_by", "place", "site_code", "zone", "authorizations", "done_about_it", "code"]
        labels = {"title": "In a few words", "code": "Our reference"}
        help_texts = {"code": "Leave blank for the next number of the year."}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["code"].required = False
        if self.instance.pk:
            self.fields["lots"].initial = ", ".join(self.instance.lots.values_list("code", flat=True))

    def clean_lots(self):
        found, unknown = [], []
        for code in filter(None, (part.strip() for part in self.cleaned_data["lots"].split(","))):
            lot = Lot.objects.filter(code__iexact=code).first()
            found.append(lot) if lot else unknown.append(code)
        if unknown:
            raise ValidationError(f"No lot on file has this code: {', '.join(unknown)}. Correct it, or write it under “what was found”.")
        return found


class IncidentNoticeForm(forms.Form):
    clocks = forms.ModelMultipleChoiceField(
        ReportingClock.objects.none(), label="Which clocks this answers", required=False, widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    told_at = ZonedTimeField(label="Told at")
    told_whom = forms.CharField(label="Who was told", max_length=160, help_text="The office, and the person there.")
    how = forms.CharField(label="How", max_length=60, help_text="By phone, mail, letter.")
    told_by = forms.CharField(label="Who told them", max_length=80)
    text = forms.CharField(label="What was said", required=False, widget=forms.Textarea({"rows": 3}))
    file = _optional_file()


class IncidentNoticeCorrectForm(IncidentNoticeForm):
    reason = forms.CharField(label="Why it is corrected", max_length=200, help_text="The notice it replaces stays on file.")


class IncidentCloseForm(forms.Form):
    closed_on = PastDateField(label="It ended on")
    reason = forms.CharField(label="How it ended", max_length=200, widget=forms.Textarea({"rows": 3}))


class IncidentFilters(FilterForm):
    status = pick("incidents that are", "open or closed", [("open", "open"), ("closed", "closed")])
    paper = words("of the paper", ("authorizations__code", "authorizations__title"))
    text = words("with", ("code", "title", "place", "site_code"))

    def narrow(self, queryset):
        status = self.cleaned_data.get("status")
        if status:
            queryset = queryset.filter(closed_on__isnull=status == "open")
        return super().narrow(queryset).distinct()
