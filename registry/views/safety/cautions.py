"""Cautions of field work: their wordings in versions, the boxes that show them, and a person's word that they have read them.

None of them says that something is allowed; each names who decides locally.
"""

from django.contrib import messages
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.generic import FormView

from registry.calc.shared.screen import day_words
from registry.choices import CautionTask
from registry.forms.safety.cautions import MONTHS, CautionFilters, CautionForm, CautionVersionForm, CautionWithdrawForm
from registry.imports.safety.cautions import CautionSheet
from registry.models import CautionText
from registry.selectors.safety.cautions import cautions_for, newest_versions, programme_rules, unread, versions_of
from registry.services.safety.cautions import caution_add, caution_withdraw, cautions_read
from registry.views.shared.generic import PageView, RecordActionView, RecordDetailView, ServiceFormMixin, reverse_to
from registry.views.shared.section_views import SectionListView, allowed
from registry.views.shared.tables import Column, ledger_table

__all__ = ["caution_line", "months_words"]

LOCAL = "These are usual cautions. The local manager may stop work, and the local law goes before them."


def caution_line(caution):
    """A caution in one line, with who decides."""
    return f"{caution.hazard}: {caution.text} Decides: {caution.decider}."


def months_words(months):
    """Months in words: “all year”, or “May to July, October”."""
    if not months:
        return "all year"
    names, runs = dict(MONTHS), []
    for month in sorted(months):
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 1 and runs[-1][-1] == 12:
        runs[0] = runs.pop() + runs[0]  # a winter goes over the turn of the year
    return ", ".join(names[run[0]] if len(run) == 1 else f"{names[run[0]]} to {names[run[-1]]}" for run in runs)


def caution_url(caution):
    return reverse_to("cautiontext_detail", caution.pk)


def _state(caution):
    word = "withdrawn from" if caution.withdrawn else "in use from"
    return f"{word} {day_words(caution.in_use_from)}"


class CautionListView(SectionListView):
    model = CautionText
    action = "caution.view"
    title = "Cautions"
    question = "What should somebody know who does this work, at this place, in this season?"
    unit = "cautions"
    sheet = CautionSheet
    filter_form = CautionFilters
    others = (("Read them for a task", "caution.view", "caution_read"),)
    add = ("New caution", "caution.edit", "cautiontext_add")
    empty = ("No caution of your own yet", "The usual ones are shown until then. Write your own, or load the starter set as a sheet.", None)
    columns = (
        Column("Caution", "code", kind="code", url=caution_url),
        Column("Task", "get_task_display"),
        Column("Hazard", "hazard"),
        Column("Months", lambda caution: months_words(caution.months)),
        Column("Sites", lambda caution: ", ".join(caution.site_codes) or "everywhere"),
        Column("Decides locally", "decider"),
        Column("Version", "version", "right", "number"),
        Column("State", _state, kind="state"),
    )

    def get_queryset(self):
        return newest_versions(super().get_queryset())

    def row_mark(self, caution):
        return "soft" if caution.withdrawn else ""


class CautionDetailView(RecordDetailView):
    model = CautionText
    action = "caution.view"
    question = "What does it say, where and when is it shown, who decides?"

    def get_title(self):
        return self.object.hazard

    def get_trace_code(self):
        return ""

    def get_page(self):
        caution, user = self.object, self.request.user
        newest = newest_versions(self.scoped(CautionText).filter(code=caution.code)).get()
        current = newest.pk == caution.pk
        change = [("Write a new version", "caution.edit", reverse_to("cautiontext_edit", caution.pk))]
        if not caution.withdrawn:
            change.append(("Take it out of use", "caution.edit", reverse_to("cautiontext_withdraw", caution.pk)))
        note = f"Version {newest.version} of it is newer"
        return {
            "code": caution.code,
            "state": f"version {caution.version}, {_state(caution)}",
            "where": caution.get_task_display(),
            "due": [] if current else [{"severity": "info", "text": note, "url": caution_url(newest)}],
            "actions": allowed(user, *change) if current else [],
            "facts": [
                ("The usual caution", caution.text, None),
                ("Decides locally", caution.decider, None),
                ("For the task", caution.get_task_display(), None),
                ("Months", months_words(caution.months), None),
                ("Sites", ", ".join(caution.site_codes) or "everywhere", None),
                ("Source", caution.source, None),
            ],
            "parts": [self.versions_table()],
        }

    def versions_table(self):
        columns = (
            Column("Version", "version", url=lambda item: caution_url(item) if item.pk != self.object.pk else None),
            Column("State", _state, kind="state"),
            Column("What it says", "text"),
            Column("Entered by", lambda item: str(item.entered_by or "")),
        )
        versions = self.scoped(CautionText).filter(code=self.object.code).select_related("entered_by").order_by("-version")
        return ledger_table("Versions", columns, versions, unit="versions")


class CautionAddView(ServiceFormMixin, FormView):
    action = "caution.edit"
    form_class = CautionForm
    title = "New caution"
    question = "What is the hazard, what do careful people do, who decides?"
    submit_label = "Save the caution"

    def get_cancel_url(self):
        return reverse("cautiontext_list")

    def perform(self, form):
        return caution_add(actor=self.request.user, version=1, **form.cleaned_data)

    def get_success_url(self):
        return caution_url(self.result)


class CautionVersionView(RecordActionView):
    model = CautionText
    action = "caution.edit"
    form_class = CautionVersionForm
    question = "What does it say from now on? Everybody is asked to read it anew."
    submit_label = "Save the new version"

    def get_title(self):
        return f"New version of {self.object.code}"

    def get_initial(self):
        names = ("hazard", "text", "decider", "task", "months", "site_codes", "source")
        return {name: getattr(self.object, name) for name in names}

    def perform(self, form):
        return caution_add(actor=self.request.user, code=self.object.code, **form.cleaned_data)

    def get_cancel_url(self):
        return caution_url(self.object)

    def get_success_url(self):
        return caution_url(self.result)


class CautionWithdrawView(RecordActionView):
    model = CautionText
    action = "caution.edit"
    form_class = CautionWithdrawForm
    question = "Why is it no longer shown? What it said stays in the book."
    submit_label = "Take it out of use"

    def get_title(self):
        return f"Take {self.object.code} out of use"

    def get_initial(self):
        return {"on": timezone.localdate()}

    def perform(self, form):
        return caution_withdraw(actor=self.request.user, caution=self.object, **form.cleaned_data)

    def get_cancel_url(self):
        return caution_url(self.object)

    def get_success_url(self):
        return caution_url(self.result)


class CautionReadView(PageView):
    """The cautions of a task, to read before going, and the button that says so."""

    action = "caution.view"
    template_name = "registry/safety/cautions_read.html"
    title = "Cautions for a task"
    question = "What is usual to watch for in this work, in this season?"

    def get_task(self, given):
        return given if given in CautionTask.values else CautionTask.CENSUS

    def get_page(self):
        task, site = self.get_task(self.request.GET.get("task")), self.request.GET.get("site", "").strip()
        cautions = cautions_for({task}, timezone.localdate(), site)
        return {
            "tasks": [(key, label, key == task) for key, label in CautionTask.choices if key != CautionTask.ANY],
            "task": task,
            "site": site,
            "lines": cautions,
            "rules": programme_rules({task}),
            "unread": bool(unread(self.request.user, cautions)),
            "versions": versions_of(cautions),
        }

    def post(self, request):
        task, site = self.get_task(request.POST.get("task")), request.POST.get("site", "")
        cautions_read(actor=request.user, task=task, versions=request.POST.getlist("version"), subject=site)
        messages.success(request, "Kept, with today's date and the versions you read.")
        return redirect(f"{request.path}?task={task}")
