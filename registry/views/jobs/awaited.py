"""How far an answer is that a job works out, on the page that shows it: for everybody who may ask the same."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext

from registry.selectors.jobs.jobs import job_now
from registry.selectors.shared.local_words import local_moment
from registry.services.audit.busy import Busy
from registry.services.jobs.answers import answer_ask, answer_follow, answer_seen

LOOK_AGAIN_S = 10


class ShowsAnswer:
    """A page of an answer that may be long work. Declare `now_route`, `answer_table()`, which gives what has `question` and `awaited`, and
    `answer_title(table)`. A person who posts to the page starts the work again."""

    now_route = ""
    shows_earlier = True  # whether the page shows an earlier answer meanwhile

    def post(self, request, *args, **kwargs):
        table = self.answer_table()
        if table is not None and table.awaited:
            answer_ask(actor=self.user, awaited=table.awaited, title=self.answer_title(table), page=self.request.get_full_path())
        return redirect(request.get_full_path())

    def answer_of(self, made):
        """What on the page is of the earlier answer, in a sentence with the moment it was made."""
        return ""

    def answer_changed(self, awaited):
        """What changed in what the earlier answer rests on, in a sentence."""
        return ""

    def answer_part(self, table):
        """What `registry/jobs/_awaited.html` shows; {} where nothing is awaited."""
        if table.awaited is None:
            if table.question:
                answer_seen(actor=self.user, question=table.question)
            return {}
        try:
            job = answer_follow(actor=self.user, awaited=table.awaited, title=self.answer_title(table), page=self.request.get_full_path())
        except Busy:  # somebody saves for long: the page is shown all the same, with the button
            job = None
        found = job and job_now(job, timezone.now())
        mine = job is not None and job.asked_by_id == self.user.pk and self.may("job.view")
        return {
            "awaited": {
                "made": table.awaited.made,
                "of": self.answer_of(local_moment(timezone.localtime(table.awaited.made))) if table.awaited.stored else "",
                "others_today": self.shows_earlier,
                "changed": self.answer_changed(table.awaited) if table.awaited.stored else "",
                "moving": found is not None and found.is_moving,
                "ended_without": found is not None and not found.is_moving and found.can_again,
                "late": found is not None and found.is_moving and bool(found.note),
                "far": job and how_far(job),
                "now_url": reverse(self.now_route, args=[table.awaited.question.sha256]),
                "job_url": reverse("job_detail", args=[job.pk]) if mine else "",
            }
        }

    def answer_later(self, table):
        """The answer to whoever wants a file of what is not there yet, in English as the file."""
        self.answer_part(table)
        words = "The model of these figures is not there yet. Their page shows how far it is. Download them when it is there."
        return HttpResponse(words, status=202, content_type="text/plain; charset=utf-8", headers={"Retry-After": str(LOOK_AGAIN_S)})


def how_far(job):
    """How far the job of an answer is, for the script of its page: in the language of whoever looks, who need not be who started it."""
    found, step = job_now(job, timezone.now()), gettext(job.step) if job.step else ""
    far = {"moving": found.is_moving, "words": "", "step": step, "progress": "", "note": ""}
    return far | {"done": job.done, "total": job.total, "page": ""}
