"""Taxa, and what the lists of the material share."""

from registry.forms.pedigree.trees import TaxonForm
from registry.imports.kinds import TaxonSheet
from registry.models import Taxon
from registry.views.shared.details import PART_ROWS_MAX, RecordDetailView
from registry.views.shared.forms import RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link

MATERIAL_LISTS = (
    ("Lots", "lot.view", "lot_list"),
    ("Ledger", "lot.view", "ledger_list"),
    ("Pedigree trees", "pedigree.view", "pedigreetree_list"),
    ("Pollen pools", "pedigree.view", "pollenpool_list"),
    ("How many to grow", "growing.view", "how_many"),
    ("Taxa", "taxon.view", "taxon_list"),
    ("Raised and culled", "lot.view", "lot_raised"),
    ("Handbook of species", "handbook.view", "handbook_list"),
    ("Identity in question", "identity.view", "identityquestion_list"),
    ("Orchards", "orchard.view", "orchard_list"),
    ("Ratings", "orchard.view", "rating_list"),
    ("Selection decisions", "orchard.view", "decision_list"),
    ("Measured shares", "orchard.view", "share_list"),
    ("Programme settings", "setting.view", "setting_list"),
)


def lots_section(title, lots, note=""):
    """The section of the lots that a tree or a pool is a parent of; `lots` is a function of the page."""
    return Section(
        title=title,
        unit="lots",
        note=note,
        rows=lambda page: lots(page).order_by("-year", "code"),
        columns=(
            Column("Lot", "code", kind="code", url=Link("lot_detail")),
            Column("Year", "year", "right"),
            Column("Cross", "get_cross_type_display"),
            Column("Mother", "mother.code", kind="code"),
            Column("On hand", "balance", "right", "number"),
            Column("Counted in", "unit"),
        ),
        most=PART_ROWS_MAX,
        missing="lots",
    )


# -- taxa ------------------------------------------------------------------------------------


class TaxonListView(RecordListView):
    model = Taxon
    action = "taxon.view"
    question = "Which species and hybrids does the programme record?"
    sheet = TaxonSheet
    others = MATERIAL_LISTS
    add = ("New taxon", "taxon.edit", "taxon_add")
    empty = ("No taxa yet", "Start with the native species and the donor of resistance. Every tree and lot names one.", None)
    columns = (
        Column("Binomial", "name", kind="latin", url=Link("taxon_detail")),
        Column("Common name", "common_name"),
        Column("Part in the programme", "get_role_display"),
    )


class TaxonDetailView(RecordDetailView):
    model = Taxon
    action = "taxon.view"
    question = "What part does this species play in the programme, and how many records name it?"
    state = "get_role_display"
    where = "common_name"
    facts = (
        Fact("Parents of the hybrid", "hybrid_of"),
        Fact("Pedigree trees", lambda page: f"{page.object.trees.count():,}"),
        Fact("Lots", lambda page: f"{page.object.lots.count():,}"),
    )
    actions = (Action("Change the taxon", "taxon_edit", "taxon.edit"),)


class TaxonFormView(RecordFormView):
    model = Taxon
    action = "taxon.edit"
    form_class = TaxonForm
