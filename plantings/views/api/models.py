"""How far the model of large figures is: for the script of a page, and for programs."""

from django.http import Http404, JsonResponse
from django.urls import reverse
from django.utils import timezone
from django.views import View

from plantings.calc.api.models import MODEL_TASK
from plantings.calc.api.openapi import Endpoint, Parameter
from plantings.models import Planting
from registry.access.views import AccessMixin
from registry.selectors.jobs.answers import question_job, rows_of
from registry.selectors.jobs.jobs import job_now
from registry.services.jobs.answers import answer_follow
from registry.views.jobs.awaited import LOOK_AGAIN_S, how_far
from registry.views.shared.json_api import JsonApiView
from registry.views.shared.problems import Problem

AGAIN = "Ask for the figures again when it has ended. Retry-After says how many seconds to wait before you look again."
OPEN_PAGE = "It did not come to its end. Somebody has to start it again on the page of these figures."


def _job_of(user, question):
    """The job of a question about the rows that a person sees; whoever sees others gets a 404."""
    job = question_job(question)
    if job is None or job.given["scope"] != rows_of(user, Planting):
        raise Http404("Nobody asked this of the rows that this person sees.")
    return job


class ModelNowView(AccessMixin, View):
    action = "survival.view"

    def get(self, request, *args, **kwargs):
        return JsonResponse(how_far(_job_of(self.user, kwargs["question"])))


class ModelTaskView(JsonApiView):
    action = "survival.view"
    endpoint = Endpoint(
        "/models/{question}", "api_model", "How far the model of large figures is",
        (Parameter("question", {"type": "string"}, "Which model, as the address in task has it.", is_part=True),), MODEL_TASK,
    )  # fmt: skip

    def get_answer(self):
        return task_values(self.request, _job_of(self.user, self.kwargs["question"]), None)


def task_values(request, job, made):
    found = job_now(job, timezone.now())
    answer = {
        "step": job.step, "done": job.done, "total": job.total, "earlier": made, "detail": OPEN_PAGE if found.can_again else AGAIN,
        "task": request.build_absolute_uri(reverse("api_model", args=[job.given["question"]])),
    }  # fmt: skip
    return MODEL_TASK.values(found, answer)


class ModelAwaited(Problem):
    """The answer of an address while the model of its figures is being worked out: 202, with how far it is. It is started where nobody
    started it."""

    def __init__(self, request, awaited, title, page):
        super().__init__(202, AGAIN, headers={"Retry-After": str(LOOK_AGAIN_S)})
        job = answer_follow(actor=request.user, awaited=awaited, title=title, page=page, is_program=True)
        self.values = task_values(request, job, awaited.made)

    def answer(self):
        return JsonResponse(self.values, status=self.status, headers=self.headers)
