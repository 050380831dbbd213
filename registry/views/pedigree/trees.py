"""The trees of the pedigree: founders, crosses, orchard trees."""

from dataclasses import replace
from urllib.parse import urlencode

from django.shortcuts import render
from django.urls import reverse
from django.utils.functional import cached_property

from registry.calc.shared.screen import day_words
from registry.choices import Decision, TreeStatus
from registry.forms.pedigree.trees import PedigreeTreeForm, TreeStatusForm
from registry.forms.shared.filters import TreeFilters
from registry.imports.kinds import PedigreeTreeSheet
from registry.models import Lot, PedigreeTree
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.floors import floor_warnings
from registry.selectors.orchard.second import waits_for_second
from registry.selectors.pedigree.lineage import tree_lineage
from registry.selectors.pedigree.trees import maternal_line, tree_children, tree_share_words, tree_year_flags
from registry.services.orchard.tree_status import tree_status_set
from registry.services.pedigree.parents import tree_save
from registry.views.identity.parts import IDENTITY_ACTIONS, IDENTITY_FACT, IDENTITY_SECTIONS, IdentityOnPage
from registry.views.orchard.orchard import plan_url
from registry.views.orchard.plan import lineage_words, place_words
from registry.views.orchard.shares import SharesOnPage, measured_shares_section
from registry.views.orchard.tree_sections import DECIDE, EVIDENCE, ORCHARD_SECTIONS, RATE, OrchardOnPage
from registry.views.pedigree.taxa import MATERIAL_LISTS, lots_section
from registry.views.shared.addresses import record_url, yes_no
from registry.views.shared.details import PART_ROWS_MAX, RecordDetailView, chain_step
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link

_LOTS_IN_CHAIN = 3


class PedigreeTreeListView(RecordListView):
    model = PedigreeTree
    action = "pedigree.view"
    question = "Which founders, crosses and orchard trees are in the pedigree, and which are still standing?"
    unit = "trees"
    sheet = PedigreeTreeSheet
    filter_form = TreeFilters
    others = MATERIAL_LISTS
    add = ("New tree", "pedigree.edit", "pedigreetree_add")
    empty = ("No trees yet", "Enter the founders first, then their crosses, or load the pedigree from a sheet.", None)
    related = ("taxon", "mother")
    row_mark = staticmethod(lambda tree: "" if tree.status == TreeStatus.STANDING else "soft")
    columns = (
        Column("Tree", "code", kind="code", url=Link("pedigreetree_detail")),
        Column("Status", "get_status_display", kind="state"),
        Column("Generation", "generation_code"),
        Column("Place", place_words),
        Column("Source of resistance", "source_of_resistance"),
        Column("Recurrent line", "recurrent_line"),
        Column("Mother", "mother.code", kind="code", url=Link("pedigreetree_detail", "mother_id")),
        Column("Taxon", "taxon.name", kind="latin"),
    )


PARENTS = Section(
    title="Parents",
    unit="parents",
    note=lambda page, _rows: page.pool_words(),
    rows=lambda page: page.parents,
    columns=(
        Column("Tree", lambda pair: pair[1].code, kind="code", url=lambda pair: record_url(pair[1])),
        Column("As", lambda pair: pair[0]),
        Column("Generation", lambda pair: pair[1].generation_code),
        Column("Source of resistance", lambda pair: pair[1].source_of_resistance),
        Column("Recurrent line", lambda pair: pair[1].recurrent_line),
        Column("Taxon", lambda pair: pair[1].taxon.name, kind="latin"),
    ),
    missing=lambda page: "a mother" if page.object.pollen_pool else "parents (a founder has none)",
    add=Action("Change the tree", "pedigreetree_edit", "pedigree.edit"),
)

CHILDREN = Section(
    title="Children",
    unit="trees",
    rows=lambda page: tree_children(page.object),
    columns=lambda page, _rows: (
        Column("Tree", "code", kind="code", url=Link("pedigreetree_detail")),
        Column("As", lambda child: "mother" if child.mother_id == page.object.pk else "father"),
        Column("Generation", "generation_code"),
        Column("Recurrent line", "recurrent_line"),
        Column("Status", "get_status_display", kind="state"),
    ),
    most=PART_ROWS_MAX,
    actions=(
        Action(
            "All children as CSV", "pedigreetree_list", "pedigree.view", key=None,
            query=lambda page: {"parent": page.object.code, "download": "csv"},
        ),
    ),
    missing="children",
)  # fmt: skip

SET_STATUS = Action("Set its status", "pedigreetree_status", "status.enter")
NUMBERS = Action("Pedigree and shares", "pedigreetree_numbers", "pedigree.view")


class PedigreeTreeDetailView(OrchardOnPage, SharesOnPage, IdentityOnPage, RecordDetailView):
    model = PedigreeTree
    action = "pedigree.view"
    question = "What is this tree, where does it come from, and which trees and lots came from it?"
    related = ("taxon", "mother__taxon", "father__taxon", "pollen_pool")
    state = "get_status_display"
    where = property(lambda page: place_words(page.object))
    facts = (
        Fact("Taxon", "taxon.name", Link("taxon_detail", "taxon_id")),
        Fact("Generation", "generation_code", always=True),
        Fact("Expected native share", lambda page: tree_share_words(page.object)),
        Fact("Source of resistance", lambda page: lineage_words(page.object.source_of_resistance, page.lineage.source)),
        Fact("Recurrent line", lambda page: lineage_words(page.object.recurrent_line, page.lineage.line)),
        Fact("Cross", lambda page: page.object.get_cross_type_display() if page.parents or page.object.pollen_pool else ""),
        Fact("Pollen pool", "pollen_pool.code", Link("pollenpool_detail", "pollen_pool_id")),
        Fact("Planted in", "planted_year"),
        Fact("First flowered in", "first_flowering_year"),
        Fact("Status since", "status_on"),
        Fact("Regulated as genetically engineered", lambda page: yes_no(page.object.regulated_engineered)),
        Fact(
            "Plan", lambda page: page.object.orchard and f"plan of {page.object.orchard}",
            lambda page: plan_url(page.object.orchard, page.object.block), may="orchard.view",
        ),
        IDENTITY_FACT,
        Fact("Note", "note"),
    )  # fmt: skip
    actions = (
        replace(NUMBERS, when=lambda page: not page.is_standing),
        replace(SET_STATUS, when=lambda page: page.is_standing),
        RATE,
        DECIDE,
        EVIDENCE,
        replace(NUMBERS, when=lambda page: page.is_standing),
        replace(SET_STATUS, when=lambda page: not page.is_standing),
        Action(
            "How its seed lives",
            "survival_lineage",
            "survival.view",
            key=None,
            when=lambda page: page.is_mother,
            query=lambda page: {"level": "mother", "lineage": page.code},
        ),
        *IDENTITY_ACTIONS,
        Action("Change the tree", "pedigreetree_edit", "pedigree.edit"),
    )
    sections = (
        PARENTS,
        CHILDREN,
        lots_section("Lots of this tree", lambda page: page.lots.filter(mother=page.object) | page.lots.filter(father=page.object)),
        *ORCHARD_SECTIONS,
        measured_shares_section("pedigreetree_share"),
        *IDENTITY_SECTIONS,
    )

    is_standing = property(lambda page: page.object.status == TreeStatus.STANDING)

    lots = cached_property(lambda page: page.scoped(Lot).select_related("mother"))
    is_mother = property(lambda page: page.lots.filter(mother=page.object).exists())
    lineage_and_contradictions = cached_property(lambda page: tree_lineage(page.object))
    lineage = property(lambda page: page.lineage_and_contradictions[0])

    @property
    def parents(self):
        return [(role, parent) for role, parent in (("mother", self.object.mother), ("father", self.object.father)) if parent]

    def pool_words(self):
        pool = self.object.pollen_pool
        return f"Father: pollen pool {pool.code}, not a tree." if pool else ""

    def get_chain(self):
        tree, line = self.object, maternal_line(self.object)
        labels = ["mother tree", "grandmother tree"] + ["earlier mother"] * len(line)
        steps = [
            chain_step(labels[len(line) - 1 - place], mother.code, record_url(mother), mother.generation_code)
            for place, mother in enumerate(line)
        ]
        steps.append(chain_step("this tree", tree.code, note=tree.generation_code, current=True))
        lots = list(self.lots.filter(mother=tree).order_by("-year", "code")[: _LOTS_IN_CHAIN + 1])
        steps += [chain_step(f"{lot.kind} lot", lot.code, record_url(lot), f"{lot.year}") for lot in lots[:_LOTS_IN_CHAIN]]
        if len(lots) > _LOTS_IN_CHAIN:
            steps.append(chain_step("and more", "all lots", f"{reverse('lot_list')}?{urlencode({'text': tree.code})}"))
        return steps

    def get_due(self):
        odd = [Duty("odd", f"{line.words} Correct the statement or the parents.") for line in self.lineage_and_contradictions[1]]
        odd += [Duty("odd", words) for words in tree_year_flags(self.object)]
        return [*self.identity_due(), *odd, *self._status_due(), *self.orchard_due(), *self.shares_due()]

    def _status_due(self):
        tree = self.object
        if self.is_standing:
            return []
        words = ": ".join(filter(None, (tree.get_status_display().capitalize(), tree.status_reason)))
        return [Duty("info", words, tree.status_on), Duty("info", "The record stays. Its lots and children still name it.")]


class PedigreeTreeFormView(RecordFormView):
    model = PedigreeTree
    action = "pedigree.edit"
    form_class = PedigreeTreeForm
    service = tree_save
    argument = "tree"
    submit_label = "Save the tree"
    success_message = "Tree {result} saved."


class PedigreeTreeStatusView(RecordActionView):
    """The status of a tree. Roguing without a decision of two people is confirmed in a second step."""

    model = PedigreeTree
    action = "status.enter"
    form_class = TreeStatusForm
    service = tree_status_set
    argument = "tree"
    form_extras = property(lambda page: {"tree": page.object})
    title = "Status of {object.code}"
    question = "Is it still standing? If not, why?"
    submit_label = "Save the status"
    success_message = "Status saved."

    def form_valid(self, form):
        last = self.object.decisions.first()
        undecided = form.cleaned_data["status"] == TreeStatus.ROGUED and (
            last is None or last.decision != Decision.ROGUED or waits_for_second(last)
        )
        if not undecided or form.cleaned_data["confirmed"]:
            return super().form_valid(form)
        page = {
            "text": f"{self.object.code} is to be recorded as rogued.",
            "submit_label": "Save it without a decision",
            "cautions": self.undecided_cautions(last),
        }
        return render(self.request, "generic/confirm.html", self.get_context_data(form=form.asks_to_confirm()) | page)

    def undecided_cautions(self, last):
        found = (
            f"The last decision, of {day_words(last.decided_on)}, is “{last.get_decision_display()}”." if last else "Nothing is decided."
        )
        title = "Nobody has decided to rogue this tree"
        if last and last.decision == Decision.ROGUED:
            found = f"{last.second_name} has not confirmed the decision of {day_words(last.decided_on)}."
            title = "The decision to rogue this tree is not confirmed"
        text = f"Two people decide, with evidence. {found} Saved like this, the tree is listed as rogued without a decision."
        broken = floor_warnings(self.object)
        cautions = [{"title": title, "text": text}]
        return cautions + ([{"title": "It breaks a floor of diversity", "lines": broken}] if broken else [])

    def values(self, form):
        data = form.cleaned_data
        boxes = {"status": "status", "on": "status_on", "reason": "status_reason", "stump_treated": "stump_treated"}
        return {name: data[box] for name, box in boxes.items()}
