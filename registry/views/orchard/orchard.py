"""Orchards: the list of their blocks, and the plan of one."""

from urllib.parse import urlencode

from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse

from registry.calc.shared.screen import day_words
from registry.choices import Decision
from registry.forms.orchard.orchard import PlanForm
from registry.models import PedigreeTree
from registry.selectors.orchard.orchard import orchard_rows, plan_trees
from registry.selectors.orchard.ratings import latest_ratings
from registry.views.orchard.plan import FLAG_WORDS, STATUS_MARKS, plan_grids, rating_words, spot_words, tree_drawer, with_lineage
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.addresses import allowed, record_url, yes_no
from registry.views.shared.details import PART_ROWS_MAX, PageView
from registry.views.shared.downloads import columns_response, download_links
from registry.views.shared.lists import other_lists
from registry.views.shared.tables import Column, Link, ledger_table

_DRAWN_MAX = 1_500  # more trees than this are drawn block by block


def plan_url(orchard, block=""):
    return f"{reverse('orchard_plan')}?{urlencode({'orchard': orchard} | ({'block': block} if block else {}))}"


def _decision_words(tree):
    if not tree.decision_then:
        return ""
    return f"{Decision(tree.decision_then).label}{' (not confirmed)' if tree.is_waiting else ''}"


class OrchardListView(PageView):
    action = "orchard.view"
    template_name = "registry/orchard/orchard_list.html"
    title = "Orchards"
    question = "Which trees are in which orchard, and which of them are to be rogued?"

    def get_page(self):
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
        rows = orchard_rows(self.scoped(PedigreeTree))
        empty = "No tree is in an orchard yet. Enter the orchard on the page of a tree, or load the trees from a sheet."
        return {
            "parts": [ledger_table("Orchards and their blocks", columns, rows, unit="blocks", empty=empty)],
            "others": other_lists(self, MATERIAL_LISTS),
            "actions": allowed(self.user, ("Rate the trees of a day", "rating.enter", reverse("rating_day"))),
        }


class OrchardPlanView(PageView):
    """Rows and positions of an orchard as of a day. The queries are the same for one tree and for many."""

    action = "orchard.view"
    template_name = "registry/orchard/orchard_plan.html"
    question = "Which tree is at which position, and what was decided about it?"

    def get(self, request, *args, **kwargs):
        if not request.GET.get("orchard", "").strip():
            return redirect("orchard_list")
        self.read()
        wanted = request.GET.get("download")
        if wanted:
            return columns_response(self.columns(), self.trees, f"plan-{self.day.isoformat()}", wanted)
        return super().get(request, *args, **kwargs)

    def read(self):
        """The trees as of the day, their ratings, and the form that chooses."""
        orchard, block = (self.request.GET.get(name, "").strip() for name in ("orchard", "block"))
        here = self.scoped(PedigreeTree).filter(orchard__iexact=orchard)
        blocks = sorted({name.strip() for name in here.order_by().values_list("block", flat=True).distinct()})
        if not blocks:
            raise Http404(f"There is no tree in an orchard called {orchard}.")
        self.form = PlanForm(self.request.GET, blocks=blocks, scales=())
        self.day = (self.form.is_valid() and self.form.cleaned_data["on"]) or self.today
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
            "without": [(tree.code, record_url(tree)) for tree in without],
            "marks": [*STATUS_MARKS.values(), *FLAG_WORDS.values()],
            "parts": [self.list_part()],
            "actions": self.get_actions(),
        }

    def get_actions(self):
        query = urlencode({"orchard": self.orchard, "block": self.block})
        return allowed(
            self.user,
            ("Rate these trees", "rating.enter", f"{reverse('rating_day')}?{query}"),
            ("Diversity", "orchard.view", f"{reverse('orchard_diversity')}?{query}"),
            ("All orchards", "orchard.view", reverse("orchard_list")),
        )

    def list_part(self):
        note = f"As of {day_words(self.day)}: the same as the plan, in words."
        trees = self.trees
        if len(trees) > _DRAWN_MAX:
            note, trees = f"The first {PART_ROWS_MAX} of {len(trees):,}; the downloads have all of them.", trees[:PART_ROWS_MAX]
        return ledger_table("Trees of the plan", self.columns(), trees, unit="trees", note=note, downloads=download_links(self.request.GET))

    def columns(self):
        ratings = [
            Column(f"Last rating: {scale}", lambda tree, pk=pk: self.rating_cell(tree, pk)) for pk, scale in sorted(self.scales.items())
        ]
        return (
            Column("Tree", "code", kind="code", url=Link("pedigreetree_detail")),
            Column("Place", spot_words),
            Column("Status then", lambda tree: STATUS_MARKS[tree.status_then][1], kind="state"),
            Column("Decision", _decision_words),
            Column("Identity in question", lambda tree: yes_no(tree.questioned_then)),
            Column("Generation", "generation_code"),
            Column("Recurrent line", "line_words"),
            Column("Source of resistance", "source_words"),
            *ratings,
        )

    def rating_cell(self, tree, scale):
        rating = self.ratings.get(tree.pk, {}).get(scale)
        return rating_words(rating) if rating else ""


def _place_order(tree):
    return tree.block, tree.row is None, tree.row or 0, tree.position or 0, tree.code
