"""The programme's own rules and the classes of material they speak of."""

from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.choices import authorization_types, material_forms
from registry.compliance.gate.words import ACTIVITIES
from registry.forms.gate.rules import MaterialClassForm, RequirementForm, RequirementVerifyForm
from registry.forms.shared.filters import RequirementFilters
from registry.imports.kinds import MaterialClassSheet, RequirementSheet
from registry.models import MaterialClass, Requirement
from registry.selectors.duties.duty_line import Duty
from registry.services.gate.rules import requirement_save, requirement_verify
from registry.views.gate.draws import AUTHORITY_CAUTION
from registry.views.permits.authorizations import PAPER_LISTS
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed, yes_no
from registry.views.shared.tables import Column

NOT_VERIFIED = "not verified: ask the authority"


def verified_words(rule, today):
    if rule.verified_on is None:
        return NOT_VERIFIED
    if rule.review_by and rule.review_by < today:
        return f"{NOT_VERIFIED} (review was due {day_words(rule.review_by)})"
    return f"verified {day_words(rule.verified_on)} with {rule.verified_with}"


def papers_words(rule):
    names = dict(authorization_types())
    return "; and ".join(" or ".join(names.get(code, code) for code in kinds) for kinds in rule.any_of) or "no paper answers it"


def list_words(codes, names=None):
    return ", ".join((names or {}).get(code, code) for code in codes) or "all"


class RequirementListView(SectionListView):
    model = Requirement
    action = "rule.view"
    title = "Rules"
    question = "Which rules does the programme keep, and who verified them?"
    unit = "rules"
    sheet = RequirementSheet
    filter_form = RequirementFilters
    others = PAPER_LISTS
    add = ("New rule", "rule.edit", "requirement_add")
    empty = (
        "No rule yet",
        "Enter what a text asks for, with its source. It counts as not verified until somebody asked the authority.",
        None,
    )

    @property
    def columns(self):
        today = timezone.localdate()
        return (
            Column("Rule", "code", kind="code", url=lambda rule: reverse("requirement_detail", args=[rule.pk])),
            Column("Title", "title", wide=True),
            Column("Edition", "edition"),
            Column("Papers needed", papers_words),
            Column("Without them", lambda rule: "stops" if rule.blocking else "advice"),
            Column("Verified", lambda rule: verified_words(rule, today)),
            Column("Example, not law", lambda rule: yes_no(rule.is_example)),
        )

    def row_mark(self, rule):
        return "odd" if verified_words(rule, timezone.localdate()).startswith(NOT_VERIFIED) else ""


class RequirementDetailView(RecordDetailView):
    model = Requirement
    action = "rule.view"
    question = "What is asked for, where was it read, and who verified it?"

    def get_title(self):
        return self.object.title

    def get_trace_code(self):
        return ""

    def get_page(self):
        rule = self.object
        words = verified_words(rule, timezone.localdate())
        due = [Duty("odd", f"{words[0].upper()}{words[1:]}.")] if words.startswith(NOT_VERIFIED) else []
        if rule.is_example:
            due.append(Duty("info", "An example, not law."))
        return {
            "code": rule.code,
            "state": "stops dispatch and establishing" if rule.blocking else "advice",
            "where": f"edition {rule.edition}",
            "due": due,
            "cautions": [AUTHORITY_CAUTION],
            "actions": allowed(
                self.request.user,
                ("Change the rule", "rule.edit", reverse_to("requirement_edit", rule.pk)),
                ("Verified with the authority", "rule.verify", reverse_to("requirement_verify", rule.pk)),
            ),
            "facts": self.get_facts(words),
            "parts": [{"title": "What it asks for, in our words", "include": "registry/shared/_as_written.html", "text": rule.text}]
            if rule.text
            else [],
        }

    def get_facts(self, verified):
        rule = self.object
        classes = dict(MaterialClass.objects.values_list("code", "title"))
        return [
            ("Papers needed", papers_words(rule), None),
            ("Activities", list_words(rule.activities, ACTIVITIES), None),
            ("Material classes", list_words(rule.classes, classes), None),
            ("Forms", list_words(rule.forms, dict(material_forms())), None),
            ("Species or genera", list_words(rule.taxa), None),
            ("From places", list_words(rule.origins), None),
            ("To places", list_words(rule.destinations), None),
            ("Applies from", f"{day_words(rule.from_on)}" if rule.from_on else "its beginning", None),
            ("Applies until", f"{day_words(rule.until_on)}" if rule.until_on else "further notice", None),
            ("Source", rule.source, None),
            ("Verified", verified, None),
            ("To be asked again by", f"{day_words(rule.review_by)}" if rule.review_by else "", None),
        ]


class RequirementFormView(SectionFormView):
    model = Requirement
    action = "rule.edit"
    form_class = RequirementForm
    question = "What does the text ask for, of whom, and where was it read?"
    submit_label = "Save the rule"

    def get_cautions(self):
        return [AUTHORITY_CAUTION]

    def save(self, record, many, form):
        return requirement_save(actor=self.request.user, rule=record, reason=form.cleaned_data.get("reason", ""))


class RequirementVerifyView(RecordActionView):
    model = Requirement
    action = "rule.verify"
    form_class = RequirementVerifyForm
    question = "Who asked which authority, when, and until when is that good?"
    submit_label = "Save the verification"
    success_message = "The verification is in the book."

    def get_title(self):
        return f"Verify {self.object}"

    def get_cautions(self):
        return [AUTHORITY_CAUTION]

    def perform(self, form):
        return requirement_verify(actor=self.request.user, rule=self.object, **form.cleaned_data)


class MaterialClassListView(SectionListView):
    model = MaterialClass
    action = "rule.view"
    title = "Material classes"
    question = "Of which classes do rules speak, and what falls into them?"
    unit = "classes"
    sheet = MaterialClassSheet
    others = PAPER_LISTS
    add = ("New class", "rule.edit", "materialclass_add")
    empty = ("No class yet", "Rules speak of classes of material, such as hybrids of a non-native donor.", None)
    columns = (
        Column("Class", "code", kind="code", url=lambda kind: reverse("materialclass_detail", args=[kind.pk])),
        Column("Title", "title"),
        Column("What falls into it", "get_rule_display"),
        Column("Species or genera", lambda kind: ", ".join(kind.taxa)),
        Column("Example, not law", lambda kind: yes_no(kind.is_example)),
    )


class MaterialClassDetailView(RecordDetailView):
    model = MaterialClass
    action = "rule.view"
    question = "What falls into this class?"

    def get_trace_code(self):
        return ""

    def get_page(self):
        kind = self.object
        return {
            "code": kind.code,
            "state": kind.get_rule_display(),
            "actions": allowed(self.request.user, ("Change the class", "rule.edit", reverse_to("materialclass_edit", kind.pk))),
            "facts": [
                ("Species or genera", ", ".join(kind.taxa), None),
                ("Forms", list_words(kind.forms, dict(material_forms())) if kind.forms else "", None),
                ("Lots declared by hand", ", ".join(kind.declared_lots.values_list("code", flat=True)), None),
                ("Source", kind.source, None),
                ("Example, not law", yes_no(kind.is_example), None),
                ("Note", kind.note, None),
            ],
        }


class MaterialClassFormView(SectionFormView):
    model = MaterialClass
    action = "rule.edit"
    form_class = MaterialClassForm
    submit_label = "Save the class"
