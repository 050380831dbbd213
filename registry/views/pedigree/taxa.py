"""Taxa, and what the lists of the material share."""

from django.urls import reverse

from registry.forms.pedigree.trees import TaxonForm
from registry.imports.kinds import TaxonSheet
from registry.models import Taxon
from registry.views.shared.generic import RecordDetailView, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, SectionFormView, SectionListView, allowed
from registry.views.shared.tables import Column, ledger_table

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


def lot_url(lot):
    return reverse("lot_detail", args=[lot.pk])


def lots_table(title, lots, empty):
    columns = (
        Column("Lot", "code", kind="code", url=lot_url),
        Column("Year", "year", "right"),
        Column("Cross", "get_cross_type_display"),
        Column("Mother", "mother.code", kind="code"),
        Column("On hand", "balance", "right", "number"),
        Column("Counted in", "unit"),
    )
    return ledger_table(title, columns, lots.order_by("-year", "code")[:PART_ROWS_MAX], unit="lots", empty=empty)


# -- taxa ------------------------------------------------------------------------------------


class TaxonListView(SectionListView):
    model = Taxon
    action = "taxon.view"
    title = "Taxa"
    question = "Which species and hybrids are in the book?"
    unit = "taxa"
    sheet = TaxonSheet
    others = MATERIAL_LISTS
    add = ("New taxon", "taxon.edit", "taxon_add")
    empty = ("No taxon yet", "Start with the native species and the donor of resistance. Trees and lots point at them.", None)
    columns = (
        Column("Binomial", "name", kind="latin", url=lambda taxon: reverse("taxon_detail", args=[taxon.pk])),
        Column("Common name", "common_name"),
        Column("Part in the programme", "get_role_display"),
    )


class TaxonDetailView(RecordDetailView):
    model = Taxon
    action = "taxon.view"
    question = "What is this species here, and what is in the book of it?"

    def get_page(self):
        return {
            "state": self.object.get_role_display(),
            "where": self.object.common_name,
            "actions": allowed(self.request.user, ("Change the taxon", "taxon.edit", reverse_to("taxon_edit", self.object.pk))),
            "facts": [("Pedigree trees", f"{self.object.trees.count():,}", None), ("Lots", f"{self.object.lots.count():,}", None)],
        }


class TaxonFormView(SectionFormView):
    model = Taxon
    action = "taxon.edit"
    form_class = TaxonForm
    submit_label = "Save the taxon"
