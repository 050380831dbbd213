"""Forms of the handbook of species."""

from django import forms
from django.utils import timezone

from registry.forms.shared.fields import PastDateField, RecordForm
from registry.forms.shared.filters import FilterForm, pick, words
from registry.models import SpeciesHandbook
from registry.selectors.lots.handbook import handbook_problems
from registry.selectors.shared.verified import is_verified


class HandbookForm(RecordForm):
    """A row of the table. Figures that contradict each other are refused, with what to check."""

    groups = [
        ("Which species, which page", ("binomial", "source")),
        ("Seeds per kilogram", ("seeds_per_kg_low", "seeds_per_kg_mean", "seeds_per_kg_high")),
        ("Seeds per pound", ("seeds_per_lb_low", "seeds_per_lb_mean", "seeds_per_lb_high")),
        ("Warm period", ("warm_days_low", "warm_days_high", "warm_temperature")),
        ("Cold period", ("cold_days_low", "cold_days_high", "cold_temperature")),
        ("Germination test", ("test_temperature", "test_days", "germination_percent", "germination_samples")),
        ("Storage", ("storage_class", "use_by_month", "use_by_day")),
        ("Fruit", ("fruit",)),
        ("Hot water bath", ("bath_c_low", "bath_c_high", "bath_minutes", "bath_against", "bath_source")),
    ]

    class Meta:
        model = SpeciesHandbook
        fields = [
            "binomial", "source", "seeds_per_kg_low", "seeds_per_kg_mean", "seeds_per_kg_high", "seeds_per_lb_low", "seeds_per_lb_mean",
            "seeds_per_lb_high", "warm_days_low", "warm_days_high", "warm_temperature", "cold_days_low", "cold_days_high",
            "cold_temperature", "test_temperature", "test_days", "germination_percent", "germination_samples", "storage_class",
            "use_by_month", "use_by_day", "fruit", "bath_c_low", "bath_c_high", "bath_minutes", "bath_against", "bath_source", "note",
        ]  # fmt: skip
        labels = {
            "seeds_per_kg_low": "Low", "seeds_per_kg_mean": "Mean", "seeds_per_kg_high": "High",
            "seeds_per_lb_low": "Low", "seeds_per_lb_mean": "Mean", "seeds_per_lb_high": "High",
            "warm_days_low": "At least", "warm_days_high": "At most", "warm_temperature": "At",
            "cold_days_low": "At least", "cold_days_high": "At most", "cold_temperature": "At",
            "test_temperature": "Day/night", "test_days": "Days", "germination_percent": "Germination", "germination_samples": "Samples",
            "storage_class": "Storage", "use_by_month": "Use by, month", "use_by_day": "Use by, day",
            "fruit": "What is picked", "bath_c_low": "From", "bath_c_high": "To", "bath_minutes": "For", "bath_against": "Against",
            "bath_source": "Source of the bath",
        }  # fmt: skip
        help_texts = {
            "source": "Author, year, title, table and page, so that others can find it.",
            "use_by_month": "The last day on which the seed is considered good. 30 June is common practice for seed that must not dry out.",
            "fruit": "The word for its fruits, such as acorns or cones. Leave blank for fruits.",
            "bath_c_low": "Only for a species whose seed is bathed in hot water. Cooler, the pest lives; hotter, the embryo dies.",
            "bath_against": "The pest that the bath kills.",
            "bath_source": "Where these figures come from: author, year, page, or common practice.",
        }

    units = {
        "warm_days_low": "days", "warm_days_high": "days", "warm_temperature": "°C", "cold_days_low": "days", "cold_days_high": "days",
        "cold_temperature": "°C", "test_temperature": "°C", "test_days": "days", "germination_percent": "%",
        "bath_c_low": "°C", "bath_c_high": "°C", "bath_minutes": "minutes",
    }  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        # 155, not 155.0, as the page prints it
        self.initial = {
            name: int(value) if isinstance(value, float) and value.is_integer() else value for name, value in self.initial.items()
        }

    def _post_clean(self):
        super()._post_clean()
        if not self.errors:
            for column, message in handbook_problems(self.instance):
                self.add_error(column, message)


class VerifyForm(forms.Form):
    on = PastDateField(label="Checked on")
    by = forms.CharField(label="Checked by", max_length=80, help_text="Who checked this row against the printed page.")


class HandbookFilters(FilterForm):
    verified = pick("rows", "verified or not", [("yes", "verified"), ("no", "not verified")])
    text = words("with", ("binomial", "source"))

    def narrow(self, queryset):
        verified = self.cleaned_data.get("verified")
        if verified:
            found = is_verified(queryset.model, timezone.localdate())
            queryset = queryset.filter(found if verified == "yes" else ~found)
        return super().narrow(queryset)
