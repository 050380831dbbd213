"""Cautions for field work: their versions, and who has read which.

A caution never says that something is allowed. It names who decides locally.
"""

from django.contrib import messages
from django.shortcuts import redirect
from django.utils.functional import cached_property
from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_lazy as _
from django.views.generic import FormView

from registry.access.languages import language_words
from registry.choices import CautionTask
from registry.forms.safety.cautions import CautionFilters, CautionForm, CautionVersionForm, CautionWithdrawForm
from registry.imports.safety.cautions import CautionSheet
from registry.models import CautionText
from registry.selectors.duties.duty_line import Duty
from registry.selectors.safety.cautions import caution_of, cautions_for, newest_versions, programme_rules, unread, versions_of
from registry.selectors.shared.local_words import local_day, local_month
from registry.services.safety.cautions import CAUTION_SAID, LOCAL_WORDS, caution_add, caution_withdraw, cautions_read
from registry.views.shared.addresses import record_url
from registry.views.shared.details import PageView, RecordDetailView
from registry.views.shared.forms import NewVersionView, RecordActionView, ServiceFormMixin
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link

__all__ = ["months_words"]


def months_words(months):
    """Months in words: "all year", or "May to July, October"."""
    if not months:
        return _("all year")
    runs = []
    for month in sorted(months):
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 1 and runs[-1][-1] == 12:
        runs[0] = runs.pop() + runs[0]  # a winter runs into the next year
    words = gettext("%(first)s to %(last)s")
    return ", ".join(
        local_month(run[0]) if len(run) == 1 else words % {"first": local_month(run[0]), "last": local_month(run[-1])} for run in runs
    )


def _sites(caution):
    return ", ".join(caution.site_codes) or _("everywhere")


def _state(caution):
    words = gettext("withdrawn from %(day)s") if caution.withdrawn else gettext("in use from %(day)s")
    return words % {"day": local_day(caution.in_use_from)}


def _without(caution):
    """The languages a caution has no words in, in English for the office."""
    return ", ".join(language_words(language) for language in LOCAL_WORDS if language not in caution_of(caution).words)


def _local_facts():
    """What a caution says in each language but English, for the office, which reads English."""
    for language, fields in LOCAL_WORDS.items():
        name = language_words(language)
        for label, field in zip(("Hazard", "The usual caution", "Decided locally by"), fields.values(), strict=True):
            yield Fact(f"{label}, in {name}", field, may="caution.edit")


class CautionListView(RecordListView):
    model = CautionText
    action = "caution.view"
    title = _("Cautions")
    question = _("What should a person know before this work, at this place, in this season?")
    unit = "cautions"
    sheet = CautionSheet
    filter_form = CautionFilters
    others = ((_("Cautions for a task"), "caution.view", "caution_read"),)
    add = ("New caution", "caution.edit", "cautiontext_add")
    empty = (_("No caution of your own yet"), _("Until then the usual cautions are shown. Write your own, or load the starter set."), None)
    read = staticmethod(newest_versions)
    row_mark = staticmethod(lambda caution: "soft" if caution.withdrawn else "")
    columns = (
        Column(_("Caution"), "code", kind="code", url=Link("cautiontext_detail")),
        Column(_("Hazard"), lambda caution: caution_of(caution).marked("hazard"), wide=True),
        Column(_("Task"), "get_task_display"),
        Column(_("Months"), lambda caution: months_words(caution.months)),
        Column(_("Sites"), _sites),
        Column(_("Decided locally by"), lambda caution: caution_of(caution).marked("decider")),
        Column("Not on file in", _without, may="caution.edit"),
        Column(_("Version"), "version", "right", "number"),
        Column(_("State"), _state, kind="state"),
    )


class CautionDetailView(RecordDetailView):
    model = CautionText
    action = "caution.view"
    question = _("What does it say, where and when is it shown, who decides?")
    where = "get_task_display"
    title = property(lambda page: caution_of(page.object).marked("hazard"))
    trace_code = ""
    state = property(lambda page: _("version %(number)s, %(state)s") % {"number": page.object.version, "state": _state(page.object)})
    facts = (
        Fact(_("The usual caution"), lambda page: caution_of(page.object).marked("text")),
        Fact(_("Decided locally by"), lambda page: caution_of(page.object).marked("decider")),
        *_local_facts(),
        Fact("Not on file in", lambda page: _without(page.object), may="caution.edit"),
        Fact(_("For the task"), "get_task_display"),
        Fact(_("Months"), lambda page: months_words(page.object.months)),
        Fact(_("Sites"), lambda page: _sites(page.object)),
        Fact(_("Source"), "source"),
    )
    actions = (
        Action("Write a new version", "cautiontext_edit", "caution.edit", when=lambda page: page.is_newest),
        Action(
            "Withdraw the caution", "cautiontext_withdraw", "caution.edit",
            when=lambda page: page.is_newest and not page.object.withdrawn,
        ),
    )  # fmt: skip
    sections = (
        Section(
            title=_("Versions"),
            unit="versions",
            rows=lambda page: page.versions if len(page.versions) > 1 else [],
            columns=lambda page, versions: (
                Column(_("Version"), "version", url=lambda item: None if item == page.object else record_url(item)),
                Column(_("State"), _state, kind="state"),
                Column(_("What it says"), lambda item: caution_of(item).marked("text"), wide=True),
                Column(_("Entered by"), lambda item: str(item.entered_by or "")),
            ),
        ),
    )

    is_newest = property(lambda page: page.object == page.versions[0])

    @cached_property
    def versions(self):
        versions = self.scoped(CautionText).filter(code=self.object.code)
        return list(versions.select_related("entered_by").order_by("-version"))

    def get_due(self):
        newest = self.versions[0]
        text = _("There is a newer version: %(number)s") % {"number": newest.version}
        return [] if self.is_newest else [Duty("info", text, url=record_url(newest))]


class CautionAddView(ServiceFormMixin, FormView):
    action = "caution.edit"
    form_class = CautionForm
    service = caution_add
    title = "New caution"
    question = "What is the hazard, what do careful people do, who decides?"
    submit_label = "Save the caution"
    success_message = "Caution saved."
    back_to = "cautiontext_list"
    leads_to = property(lambda page: page.result)

    def values(self, form):
        return super().values(form) | {"version": 1}


class CautionVersionView(NewVersionView):
    model = CautionText
    action = "caution.edit"
    form_class = CautionVersionForm
    service = caution_add
    title = "New version of {object.code}"
    question = "What does it say from now on? Everyone will see it as unread."
    starts_with = CAUTION_SAID


class CautionWithdrawView(RecordActionView):
    model = CautionText
    action = "caution.edit"
    form_class = CautionWithdrawForm
    confirm = True
    title = "Withdraw {object.code}"
    question = "Why is it no longer shown? The record of what it said stays."
    submit_label = "Withdraw the caution"
    success_message = "Caution withdrawn."
    service = caution_withdraw
    argument = "caution"
    initial = property(lambda page: {"on": page.today})
    leads_to = property(lambda page: page.result)


class CautionReadView(PageView):
    """The cautions of a task, to read before the work, and the button that says they were read."""

    action = "caution.view"
    template_name = "registry/safety/cautions_read.html"
    title = _("Cautions for a task")
    question = _("What should you watch for in this work, in this season?")

    def get_task(self, given):
        return given if given in CautionTask.values else CautionTask.CENSUS

    def get_page(self):
        task, site = self.get_task(self.request.GET.get("task")), self.request.GET.get("site", "").strip()
        cautions = cautions_for({task}, self.today, site)
        return {
            "tasks": [(key, label, key == task) for key, label in CautionTask.choices if key != CautionTask.ANY],
            "task": task,
            "site": site,
            "lines": cautions,
            "rules": programme_rules({task}),
            "unread": bool(unread(self.user, cautions)),
            "versions": versions_of(cautions),
        }

    def post(self, request):
        task, site = self.get_task(request.POST.get("task")), request.POST.get("site", "")
        versions = request.POST.getlist("version")
        cautions_read(actor=self.user, task=task, versions=versions, subject=site, language=get_language())
        messages.success(request, gettext("Saved: you have read these versions today."))
        return redirect(f"{request.path}?task={task}")
