"""The trees of the pedigree: founders, crosses, orchard trees."""

from urllib.parse import urlencode

from django.shortcuts import render
from django.urls import reverse

from registry.calc.shared.screen import day_words
from registry.choices import Decision, TreeStatus
from registry.forms.pedigree.trees import PedigreeTreeForm, TreeStatusForm
from registry.forms.shared.filters import TreeFilters
from registry.imports.kinds import PedigreeTreeSheet
from registry.models import PedigreeTree
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.floors import floor_warnings
from registry.selectors.pedigree.lineage import tree_lineage
from registry.selectors.pedigree.trees import maternal_line, tree_children, tree_share_words, tree_year_flags
from registry.services.orchard.tree_status import tree_status_set
from registry.services.pedigree.parents import tree_save
from registry.views.identity.parts import identity_parts
from registry.views.orchard.orchard import orchard_parts
from registry.views.orchard.plan import lineage_words
from registry.views.pedigree.taxa import MATERIAL_LISTS, lot_url, lots_table
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, SectionFormView, SectionListView, allowed, yes_no
from registry.views.shared.tables import Column, ledger_table


def tree_url(tree):
    return reverse("pedigreetree_detail", args=[tree.pk])


def place_words(tree):
    parts = [tree.orchard, tree.block and f"block {tree.block}", tree.plot and f"plot {tree.plot}"]
    if tree.row or tree.position:
        parts.append(f"row {tree.row or '–'}, position {tree.position or '–'}")
    return ", ".join(part for part in parts if part)


class PedigreeTreeListView(SectionListView):
    model = PedigreeTree
    action = "pedigree.view"
    title = "Pedigree trees"
    question = "Which founders, crosses and orchard trees are in the pedigree, and which still stand?"
    unit = "trees"
    sheet = PedigreeTreeSheet
    filter_form = TreeFilters
    others = MATERIAL_LISTS
    add = ("New tree", "pedigree.edit", "pedigreetree_add")
    empty = ("No tree yet", "Enter the founders first, then their crosses, or load the pedigree from a sheet.", None)
    columns = (
        Column("Tree", "code", kind="code", url=tree_url),
        Column("Status", "get_status_display", kind="state"),
        Column("Generation", "generation_code"),
        Column("Where it stands", place_words),
        Column("Source of resistance", "source_of_resistance"),
        Column("Recurrent line", "recurrent_line"),
        Column("Mother", "mother.code", kind="code", url=lambda tree: tree.mother and tree_url(tree.mother)),
        Column("Taxon", "taxon.name", kind="latin"),
    )

    def get_queryset(self):
        return super().get_queryset().select_related("taxon", "mother")

    def row_mark(self, tree):
        return "" if tree.status == TreeStatus.STANDING else "soft"


class PedigreeTreeDetailView(RecordDetailView):
    model = PedigreeTree
    action = "pedigree.view"
    question = "What is this tree, where does it come from, and what came of it?"

    def get_queryset(self):
        return super().get_queryset().select_related("taxon", "mother__taxon", "father__taxon", "pollen_pool")

    def get_page(self):
        tree = self.object
        self.lots = self.scoped(tree.lots_as_mother.model).select_related("mother")
        self.lineage, self.contradictions = tree_lineage(tree)
        orchard, identity = orchard_parts(self.request.user, tree), identity_parts(self.request.user, tree)
        return {
            "code": tree.code,
            "state": tree.get_status_display(),
            "where": place_words(tree),
            "chain": self.get_chain(),
            "due": [*identity["due"], *self.get_due(), *orchard["due"]],
            "actions": [*self.get_actions(), *orchard["actions"], *identity["actions"]],
            "facts": [*self.get_facts(), *orchard["facts"], *identity["facts"], ("Note", tree.note, None)],
            "parts": [*self.get_parts(), *orchard["parts"], *identity["parts"]],
        }

    def get_chain(self):
        tree, line = self.object, maternal_line(self.object)
        labels = ["mother tree", "grandmother tree"] + ["earlier mother"] * len(line)
        steps = [
            {"label": labels[len(line) - 1 - place], "code": mother.code, "url": tree_url(mother), "note": mother.generation_code}
            for place, mother in enumerate(line)
        ]
        steps.append({"label": "this tree", "code": tree.code, "note": tree.generation_code, "current": True})
        lots = list(self.lots.filter(mother=tree).order_by("-year", "code")[:4])
        steps += [{"label": f"{lot.kind} lot", "code": lot.code, "url": lot_url(lot), "note": f"{lot.year}"} for lot in lots[:3]]
        if len(lots) > 3:
            steps.append({"label": "and more", "code": "all lots", "url": f"{reverse('lot_list')}?{urlencode({'text': tree.code})}"})
        return steps

    def get_due(self):
        tree = self.object
        odd = [Duty("odd", f"{line.words} Correct the statement or the parents.") for line in self.contradictions]
        odd += [Duty("odd", words) for words in tree_year_flags(tree)]
        if tree.status == TreeStatus.STANDING:
            return odd
        word = tree.get_status_display().capitalize()
        return [
            *odd,
            Duty(
                "info", f"{word}: {tree.status_reason} The tree stays in the book; its lots and children go on naming it.", tree.status_on
            ),
        ]

    def get_actions(self):
        pk = self.object.pk
        return allowed(
            self.request.user,
            ("Set its status", "status.enter", reverse_to("pedigreetree_status", pk)),
            ("Pedigree and shares", "pedigree.view", reverse_to("pedigreetree_numbers", pk)),
            ("Change the tree", "pedigree.edit", reverse_to("pedigreetree_edit", pk)),
        )

    def get_facts(self):
        tree = self.object
        return [
            ("Taxon", tree.taxon.name, reverse_to("taxon_detail", tree.taxon_id)),
            ("Generation", tree.generation_code, None),
            ("Expected native share", tree_share_words(tree), None),
            ("Source of resistance", lineage_words(tree.source_of_resistance, self.lineage.source), None),
            ("Recurrent line", lineage_words(tree.recurrent_line, self.lineage.line), None),
            ("Cross", tree.get_cross_type_display(), None),
            ("Planted in", tree.planted_year, None),
            ("First flowered in", tree.first_flowering_year, None),
            ("Status since", f"{day_words(tree.status_on)}" if tree.status_on else "", None),
            ("Regulated as genetically engineered", yes_no(tree.regulated_engineered), None),
        ]

    def get_parts(self):
        tree = self.object
        lots = self.lots.filter(mother=tree) | self.lots.filter(father=tree)
        return [self.parents_table(), self.children_table(), lots_table("Lots of this tree", lots, "No lot names it as mother or father.")]

    def children_table(self):
        tree = self.object
        children = tree_children(tree)
        total = children.count()
        columns = (
            Column("Tree", "code", kind="code", url=tree_url),
            Column("As", lambda child: "mother" if child.mother_id == tree.pk else "father"),
            Column("Generation", "generation_code"),
            Column("Recurrent line", "recurrent_line"),
            Column("Status", "get_status_display", kind="state"),
        )
        everything = f"{reverse('pedigreetree_list')}?{urlencode({'parent': tree.code, 'download': 'csv'})}"
        return ledger_table(
            "Children", columns, children[:PART_ROWS_MAX], unit="trees",
            note=f"The first {PART_ROWS_MAX} of {total:,}." if total > PART_ROWS_MAX else "",
            downloads=[("all children as CSV", everything)] if total else (), empty="No tree in the book names it as a parent.",
        )  # fmt: skip

    def parents_table(self):
        tree = self.object
        parents = [(role, parent) for role, parent in (("mother", tree.mother), ("father", tree.father)) if parent]
        columns = (
            Column("Tree", lambda pair: pair[1].code, kind="code", url=lambda pair: tree_url(pair[1])),
            Column("As", lambda pair: pair[0]),
            Column("Generation", lambda pair: pair[1].generation_code),
            Column("Source of resistance", lambda pair: pair[1].source_of_resistance),
            Column("Recurrent line", lambda pair: pair[1].recurrent_line),
            Column("Taxon", lambda pair: pair[1].taxon.name, kind="latin"),
        )
        pool = f"Father: pollen pool {tree.pollen_pool.code}, not a tree." if tree.pollen_pool else ""
        empty = pool or "No parent is stated: a founder, or a tree whose parents nobody recorded."
        return ledger_table("Parents", columns, parents, unit="parents", note=pool if parents else "", empty=empty)


class PedigreeTreeFormView(SectionFormView):
    model = PedigreeTree
    action = "pedigree.edit"
    form_class = PedigreeTreeForm
    submit_label = "Save the tree"

    def save(self, record, many, form):
        return tree_save(actor=self.request.user, tree=record, many=many, reason=form.cleaned_data.get("reason", ""))


class PedigreeTreeStatusView(RecordActionView):
    model = PedigreeTree
    action = "status.enter"
    form_class = TreeStatusForm
    question = "Does it still stand, and why not?"
    submit_label = "Save the status"
    success_message = "The status is in the book."

    def get_title(self):
        return f"Status of {self.object.code}"

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"tree": self.object}

    def form_valid(self, form):
        last = self.object.decisions.first()
        undecided = form.cleaned_data["status"] == TreeStatus.ROGUED and (last is None or last.decision != Decision.ROGUED)
        if not undecided or form.cleaned_data["confirmed"]:
            return super().form_valid(form)
        said = f"The last decision, of {day_words(last.decided_on)}, is “{last.get_decision_display()}”." if last else "There is none."
        cautions = [
            {
                "title": "Nobody decided to rogue this tree",
                "text": f"Two people decide, with evidence. {said} Stored like this, the tree is listed as rogued without a decision.",
            }
        ]
        broken = floor_warnings(self.object)
        cautions += [{"title": "It breaks a floor of diversity", "lines": broken}] if broken else []
        page = {
            "text": f"{self.object.code} is to be stored as rogued.",
            "submit_label": "Store it without a decision",
            "cautions": cautions,
        }
        return render(self.request, "generic/confirm.html", self.get_context_data(form=form.asks_to_confirm()) | page)

    def perform(self, form):
        data = form.cleaned_data
        return tree_status_set(
            actor=self.request.user, tree=self.object, status=data["status"], on=data["status_on"],
            reason=data["status_reason"], stump_treated=data["stump_treated"],
        )  # fmt: skip
