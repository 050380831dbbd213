"""Orchards: the list of their blocks, the plan of one, and what the page of a tree takes from here."""

from urllib.parse import urlencode

from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.choices import Decision, TreeStatus
from registry.forms.orchard.orchard import PlanForm
from registry.imports.sheets.formats import CONTENT_TYPES, write_rows
from registry.models import PedigreeTree
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.orchard import orchard_rows, plan_trees
from registry.selectors.orchard.ratings import compared_ratings, latest_ratings
from registry.selectors.pedigree.shares import share_lines
from registry.views.orchard.decisions import decision_columns
from registry.views.orchard.plan import FLAG_WORDS, STATUS_MARKS, plan_grids, rating_words, spot_words, tree_drawer, tree_url, with_lineage
from registry.views.orchard.rating_words import is_superseded, rating_columns
from registry.views.orchard.shares import share_columns, share_duty
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.generic import PageView, file_response
from registry.views.shared.section_views import PART_ROWS_MAX, allowed, link, yes_no
from registry.views.shared.tables import Column, as_cell, ledger_table

_DRAWN_MAX = 1_500  # more trees than this are drawn block by block


def plan_url(orchard, block=""):
    return f"{reverse('orchard_plan')}?{urlencode({'orchard': orchard} | ({'block': block} if block else {}))}"


class OrchardListView(PageView):
    action = "orchard.view"
    template_name = "registry/orchard/orchard_list.html"
    title = "Orchards"
    question = "Which trees stand in which orchard, and which of them are decided to go?"

    def get_page(self):
        user = self.request.user
        columns = (
            Column("Orchard", "orchard", url=lambda row: plan_url(row.orchard)),
            Column("Block", lambda row: row.block or "no block", url=lambda row: plan_url(row.orchard, row.block)),
            Column("Standing", "standing", "right", "number"),
            Column("of these to be rogued", "to_rogue", "right", "number"),
            Column("Rogued", "rogued", "right", "number"),
            Column("of these without a decision", "undecided", "right", "number"),
            Column("Dead", "dead", "right", "number"),
            Column("Identity in question", "in_question", "right", "number"),
        )
        rows = orchard_rows(PedigreeTree.objects.for_user(user))
        table = ledger_table(
            "Orchards and their blocks", columns, rows, unit="blocks",
            empty="No tree stands in an orchard yet. Write the orchard on a tree, or load the trees from a sheet.",
        )  # fmt: skip
        lists = [(label, link(user, action, route)) for label, action, route in MATERIAL_LISTS]
        return {
            "parts": [table],
            "others": [(label, url) for label, url in lists if url and url != self.request.path],
            "actions": allowed(user, ("Rate the trees of a day", "rating.enter", reverse("rating_day"))),
        }


class OrchardPlanView(PageView):
    """Rows and positions of an orchard as of a day. The queries are the same for one tree and for many."""

    action = "orchard.view"
    template_name = "registry/orchard/orchard_plan.html"
    question = "What stands at which position, and what is decided about it?"

    def get(self, request, *args, **kwargs):
        if not request.GET.get("orchard", "").strip():
            return redirect("orchard_list")
        self.read()
        wanted = request.GET.get("download")
        if wanted:
            if wanted not in CONTENT_TYPES:
                raise Http404("There is no such download.")
            return self.download(wanted)
        return super().get(request, *args, **kwargs)

    def read(self):
        """The trees as of the day, their ratings, and the form that chooses."""
        orchard, block = (self.request.GET.get(name, "").strip() for name in ("orchard", "block"))
        here = self.scoped(PedigreeTree).filter(orchard__iexact=orchard)
        blocks = sorted({name.strip() for name in here.order_by().values_list("block", flat=True).distinct()})
        if not blocks:
            raise Http404(f"No tree stands in an orchard called {orchard}.")
        self.form = PlanForm(self.request.GET, blocks=blocks, scales=())
        self.day = (self.form.is_valid() and self.form.cleaned_data["on"]) or timezone.localdate()
        trees = plan_trees(self.scoped(PedigreeTree), orchard, block, self.day)
        self.trees = with_lineage(sorted(trees.select_related("taxon"), key=_place_order))
        self.ratings, self.scales = latest_ratings(trees.order_by().values("pk"), self.day)
        self.orchard, self.block, self.blocks = orchard, block, blocks
        given = self.request.GET.copy()
        given["on"] = given.get("on") or self.day.isoformat()
        self.form = PlanForm(given, blocks=blocks, scales=sorted(self.scales.items()))

    def get_page(self):
        self.form.is_valid()
        shown = getattr(self.form, "cleaned_data", {}).get("show") or "status"
        drawn = len(self.trees) <= _DRAWN_MAX
        grids, without = plan_grids(self.trees if drawn else [], tree_drawer(shown, self.ratings))
        place = f"{self.orchard}, block {self.block}" if self.block else self.orchard
        return {
            "title": f"Plan of {place}",
            "form": self.form,
            "day": self.day,
            "shown": dict(self.form.fields["show"].choices).get(shown),
            "grids": grids,
            "too_many": None if drawn else [(block or "no block", plan_url(self.orchard, block)) for block in self.blocks if block],
            "without": [(tree.code, tree_url(tree)) for tree in without],
            "marks": [*STATUS_MARKS.values(), *FLAG_WORDS.values()],
            "parts": [self.list_part()],
            "actions": self.get_actions(),
        }

    def get_actions(self):
        query = urlencode({"orchard": self.orchard, "block": self.block})
        return allowed(
            self.request.user,
            ("Rate these trees", "rating.enter", f"{reverse('rating_day')}?{query}"),
            ("Diversity", "orchard.view", f"{reverse('orchard_diversity')}?{query}"),
            ("All orchards", "orchard.view", reverse("orchard_list")),
        )

    def list_part(self):
        query = self.request.GET.copy()
        downloads = [(wanted.upper(), f"?{urlencode(query.dict() | {'download': wanted})}") for wanted in CONTENT_TYPES]
        note = f"As of {day_words(self.day)}: the same as the plan, in words."
        trees = self.trees
        if len(trees) > _DRAWN_MAX:
            note, trees = f"The first {PART_ROWS_MAX} of {len(trees):,}; the downloads hold all.", trees[:PART_ROWS_MAX]
        return ledger_table("Trees of the plan", self.columns(), trees, unit="trees", note=note, downloads=downloads)

    def columns(self):
        ratings = [
            Column(f"Last rating: {scale}", lambda tree, pk=pk: self.rating_cell(tree, pk)) for pk, scale in sorted(self.scales.items())
        ]
        return (
            Column("Tree", "code", kind="code", url=tree_url),
            Column("Where it stands", spot_words),
            Column("Status then", lambda tree: STATUS_MARKS[tree.status_then][1], kind="state"),
            Column("Decision", lambda tree: Decision(tree.decision_then).label if tree.decision_then else ""),
            Column("Identity in question", lambda tree: yes_no(tree.questioned_then)),
            Column("Generation", "generation_code"),
            Column("Recurrent line", "line_words"),
            Column("Source of resistance", "source_words"),
            *ratings,
        )

    def rating_cell(self, tree, scale):
        rating = self.ratings.get(tree.pk, {}).get(scale)
        return rating_words(rating) if rating else ""

    def download(self, wanted):
        columns = self.columns()
        rows = [[as_cell(column.cell(tree)[0]) for column in columns] for tree in self.trees]
        content = write_rows([column.label for column in columns], rows, wanted)
        return file_response(content, CONTENT_TYPES[wanted], f"plan-{self.day.isoformat()}.{wanted}")


def _place_order(tree):
    return tree.block, tree.row is None, tree.row or 0, tree.position or 0, tree.code


# -- what the page of a tree takes from here ---------------------------------------------------


def orchard_parts(user, tree):
    """What the orchard knows of a tree, for its page: {"due": […], "facts": […], "parts": […], "actions": […]}.

    Parameters
    ----------
    user : Person
    tree : PedigreeTree

    Returns
    -------
    dict
        Empty lists for somebody who may not see the orchard.
    """
    page = {"due": [], "facts": [], "parts": [], "actions": []}
    if not user.may("orchard.view"):
        return page
    steps = list(tree.status_history.select_related("entered_by"))
    decisions = list(tree.decisions.select_related("tree", "entered_by"))
    ratings = compared_ratings(tree.ratings.select_related("tree__taxon", "scale", "superseded_by"))
    shares = share_lines(tree.measured_shares.select_related("tree", "lot"))
    page["due"] = [
        *_status_duties(tree, steps),
        *_decision_duties(tree, decisions),
        *map(share_duty, [line for line in shares if line.check.odd]),
    ]
    if tree.orchard:
        page["facts"] = [("Plan", f"plan of {tree.orchard}", plan_url(tree.orchard, tree.block))]
    page["parts"] = [
        _status_part(steps),
        ledger_table("Ratings", rating_columns(tree_column=False), ratings, unit="ratings", note=RATINGS_NOTE, empty="It was never rated.",
                     mark=lambda line: "soft" if is_superseded(line.rating) else ""),
        ledger_table("Selection decisions", decision_columns(tree_column=False), decisions, unit="decisions", empty="Nobody decided."),
        ledger_table("Measured shares", share_columns(of_column=False), shares, unit="shares", empty="No share was measured.",
                     note="Beside the expected share, never in its place."),
    ]  # fmt: skip
    page["actions"] = allowed(
        user,
        ("Decide on the tree", "decision.enter", reverse("pedigreetree_decide", args=[tree.pk])),
        ("Rate the tree", "rating.enter", reverse("pedigreetree_rate", args=[tree.pk])),
        ("Enter a measured share", "share.enter", reverse("pedigreetree_share", args=[tree.pk])),
    )
    return page


RATINGS_NOTE = (
    "A position of 0 is the mean of the native checks rated that day, 1 the mean of the donor checks. Two diseases stay two numbers."
)


def _status_part(steps):
    columns = (
        Column("Since", lambda step: step.on or "day not known", kind=lambda step: "date" if step.on else None),
        Column("Status", "get_status_display", kind="state"),
        Column("Why", "reason"),
        Column("Stump treated", lambda step: "" if step.status != TreeStatus.ROGUED else _treated_words(step.stump_treated)),
        Column("Entered by", lambda step: str(step.entered_by) if step.entered_by else "taken over from the tree"),
    )
    return ledger_table("Status history", columns, steps, unit="steps", empty="No step is written down: it has stood since it was planted.")


def _treated_words(treated):
    return "not known" if treated is None else yes_no(treated)


def _status_duties(tree, steps):
    rogued = [step for step in steps if step.status == TreeStatus.ROGUED]
    if tree.status != TreeStatus.ROGUED or (rogued and rogued[-1].stump_treated):
        return []
    known = "was not treated" if rogued and rogued[-1].stump_treated is False else "may not have been treated: nobody wrote it down"
    return [Duty("odd", f"Its stump {known}. A stump that sprouts again still sheds pollen (common practice, no source).", tree.status_on)]


def _decision_duties(tree, decisions):
    if decisions and decisions[0].decision == Decision.ROGUED and tree.status == TreeStatus.STANDING:
        words = "It is decided to be rogued and still stands. Enter its status once it is cut."
        return [Duty("soon", words, decisions[0].decided_on, reverse("pedigreetree_status", args=[tree.pk]))]
    if tree.status == TreeStatus.ROGUED and (not decisions or decisions[0].decision != Decision.ROGUED):
        words = f"Rogued without a decision of two people{_last_words(decisions)}. If there was one, enter it with its day."
        return [Duty("odd", words, tree.status_on, reverse("pedigreetree_decide", args=[tree.pk]))]
    return []


def _last_words(decisions):
    if not decisions:
        return ""
    return f": the last one, of {day_words(decisions[0].decided_on)}, is “{decisions[0].get_decision_display()}”"
