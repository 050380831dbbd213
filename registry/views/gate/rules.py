"""The programme's own rules and the classes of material they name."""

from django.utils import timezone
from django.utils.functional import cached_property

from registry.calc.shared.verified import ASK_AUTHORITY, unverified_words, verified_words
from registry.forms.gate.rules import MaterialClassForm, RequirementForm, RequirementVerifyForm, VerificationCorrectForm
from registry.forms.shared.filters import RequirementFilters
from registry.imports.kinds import MaterialClassSheet, RequirementSheet
from registry.models import MaterialClass, Requirement, RuleVerification
from registry.selectors.duties.duty_line import Duty
from registry.selectors.gate.code_lists import FORM_CODES, PAPER_SETS
from registry.selectors.gate.rule_fields import RULE_FIELDS
from registry.selectors.gate.silent_rules import SilentRules, class_fault
from registry.services.gate.rules import VERIFICATION, requirement_save, requirement_verify, verification_correct
from registry.views.gate.declared_facts import declared_facts
from registry.views.permits.words import PAPER_LISTS, RULE_CAUTION
from registry.views.shared.addresses import reverse_to, yes_no
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section, as_written
from registry.views.shared.tables import Column, Link


def _verified(rule):
    return verified_words(rule, timezone.localdate(), ASK_AUTHORITY)


def _unverified(rule):
    return unverified_words(rule, timezone.localdate(), ASK_AUTHORITY)


def _is_corrected(verification):
    return getattr(verification, "superseded_by", None) is not None


def _correct_url(verification):
    return None if _is_corrected(verification) else reverse_to("ruleverification_correct", verification.pk)


def _correction_words(verification):
    if _is_corrected(verification):
        return "corrected: it counts on no day"
    return f"corrects an earlier record: {verification.reason}" if verification.supersedes_id else ""


class RequirementListView(RecordListView):
    model = Requirement
    action = "rule.view"
    question = "Which rules does the programme follow, and who verified them?"
    sheet = RequirementSheet
    filter_form = RequirementFilters
    others = PAPER_LISTS
    add = ("New rule", "rule.edit", "requirement_add")
    empty = ("No rules yet", "Enter what a text requires, with its source. It is not verified until somebody asks the authority.", None)
    row_mark = staticmethod(lambda rule: "odd" if _unverified(rule) else "")
    columns = (
        Column("Rule", "code", kind="code", url=Link("requirement_detail")),
        Column("Verified", _verified),
        Column("Title", "title", wide=True),
        Column("Edition", "edition"),
        Column("Papers needed", lambda rule: PAPER_SETS.words(rule.any_of) or "no paper answers it"),
        Column("Without them", lambda rule: "stops" if rule.blocking else "advice"),
        Column("Example, not law", lambda rule: yes_no(rule.is_example)),
    )


class RequirementDetailView(RecordDetailView):
    model = Requirement
    action = "rule.view"
    question = "What does the rule ask for, where was it read, and who verified it?"
    state = property(lambda page: "stops dispatch and planting" if page.object.blocking else "advice")
    where = property(lambda page: f"edition {page.object.edition}, {_verified(page.object)}")
    title = "{object.title}"
    trace_code = ""
    cautions = (RULE_CAUTION,)
    actions = (
        Action("Verify with the authority", "requirement_verify", "rule.verify"),
        Action("Change the rule", "requirement_edit", "rule.edit"),
    )
    facts = declared_facts(RULE_FIELDS, lambda page: page.object)
    sections = (
        as_written("What it requires, in our words", "text"),
        Section(
            title="Verifications",
            unit="verifications",
            note="For each day the last verification before it counts. An answer about an earlier day goes by what was verified then.",
            rows=lambda page: page.verifications,
            columns=(
                Column("Asked on", "verified_on", kind="date"),
                Column("With", "verified_with", wide=True),
                Column("Asked by", "verified_by"),
                Column("Ask again by", "review_by", kind="date"),
                Column("Note", _correction_words),
                Column("Correct", lambda one: "" if _is_corrected(one) else "correct it", url=_correct_url, may="rule.verify"),
            ),
            mark=lambda one: "soft" if _is_corrected(one) else "",
            counted=False,
        ),
    )

    @cached_property
    def verifications(self):
        """All of them, the last first."""
        return list(self.object.verifications.select_related("superseded_by").order_by("-verified_on", "-pk"))

    def get_due(self):
        words = _unverified(self.object)
        silent = SilentRules()
        lines = [Duty("odd", fault) for fault in silent.faults(self.object)]
        lines += [Duty("odd", f"{words[0].upper()}{words[1:]}.")] if words else []
        lines += [Duty("info", note) for note in silent.notes(self.object)]
        return [*lines, Duty("info", "An example, not law.")] if self.object.is_example else lines


class RequirementFormView(RecordFormView):
    model = Requirement
    action = "rule.edit"
    form_class = RequirementForm
    service = requirement_save
    argument = "rule"
    question = "What does the text ask for, of whom, and where was it read?"
    cautions = (RULE_CAUTION,)


class RequirementVerifyView(RecordActionView):
    model = Requirement
    action = "rule.verify"
    form_class = RequirementVerifyForm
    service = requirement_verify
    argument = "rule"
    title = "Verify {object}"
    question = "Who asked which authority, when, and when do we ask again?"
    submit_label = "Save the verification"
    success_message = "Verification saved."
    cautions = (RULE_CAUTION,)


class VerificationCorrectView(RecordActionView):
    model = RuleVerification
    action = "rule.verify"
    form_class = VerificationCorrectForm
    service = verification_correct
    argument = "verification"
    title = "Correct a verification of {object.requirement.code}"
    question = "What is correct, and why was it wrong?"
    submit_label = "Save the correction"
    success_message = "Correction saved. The record it replaces stays on file."
    cautions = (RULE_CAUTION,)
    initial = property(lambda page: {name: getattr(page.object, name) for name in VERIFICATION})
    back_to = property(lambda page: page.object.requirement)


class MaterialClassListView(RecordListView):
    model = MaterialClass
    action = "rule.view"
    title = "Material classes"
    question = "Which classes of material do rules name, and what is in them?"
    unit = "classes"
    sheet = MaterialClassSheet
    others = PAPER_LISTS
    add = ("New class", "rule.edit", "materialclass_add")
    empty = ("No classes yet", "Rules name classes of material, such as hybrids of a non-native donor.", None)
    row_mark = staticmethod(lambda kind: "odd" if class_fault(kind) else "")
    columns = (
        Column("Class", "code", kind="code", url=Link("materialclass_detail")),
        Column("Title", "title"),
        Column("Recognised by", "get_rule_display", wide=True),
        Column("Species or genera", lambda kind: ", ".join(kind.taxa)),
        Column("Example, not law", lambda kind: yes_no(kind.is_example)),
    )


class MaterialClassDetailView(RecordDetailView):
    model = MaterialClass
    action = "rule.view"
    question = "What is in this class?"
    state = "get_rule_display"
    trace_code = ""
    actions = (Action("Change the class", "materialclass_edit", "rule.edit"),)
    facts = (
        Fact("Species or genera", lambda page: ", ".join(page.object.taxa)),
        Fact("Forms of material", lambda page: FORM_CODES.words(page.object.forms)),
        Fact("Seed inherits it from its parents", "is_inherited"),
        Fact("Lots declared by hand", lambda page: ", ".join(page.object.declared_lots.values_list("code", flat=True))),
        Fact("Source", "source"),
        Fact("Example, not law", "is_example"),
        Fact("Note", "note"),
    )

    def get_due(self):
        fault, note = class_fault(self.object), SilentRules().class_note(self.object)
        return [Duty("odd", fault)] if fault else [Duty("info", note)] if note else []


class MaterialClassFormView(RecordFormView):
    model = MaterialClass
    action = "rule.edit"
    form_class = MaterialClassForm
    question = "Which material is in this class?"
    submit_label = "Save the class"
    success_message = "Class saved."
