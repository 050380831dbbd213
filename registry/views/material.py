"""Taxa and pollen pools, and what the lists of the material share."""

from django.urls import reverse

from registry.forms.filters import PollenPoolFilters
from registry.forms.material import PollenPoolForm, TaxonForm
from registry.imports.kinds import PollenPoolSheet, TaxonSheet
from registry.models import PollenPool, Taxon
from registry.views.generic import RecordDetailView, reverse_to
from registry.views.sections import PART_ROWS_MAX, SectionFormView, SectionListView, allowed
from registry.views.tables import Column, ledger_table

MATERIAL_LISTS = (
    ("Lots", "lot.view", "lot_list"),
    ("Ledger", "lot.view", "ledger_list"),
    ("Pedigree trees", "pedigree.view", "pedigreetree_list"),
    ("Pollen pools", "pedigree.view", "pollenpool_list"),
    ("Taxa", "taxon.view", "taxon_list"),
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


# -- pollen pools ----------------------------------------------------------------------------


class PollenPoolListView(SectionListView):
    model = PollenPool
    action = "pedigree.view"
    title = "Pollen pools"
    question = "What stood and flowered in a block in one year?"
    unit = "pollen pools"
    sheet = PollenPoolSheet
    filter_form = PollenPoolFilters
    others = MATERIAL_LISTS
    add = ("New pollen pool", "pedigree.edit", "pollenpool_add")
    empty = ("No pollen pool yet", "The father of an open-pollinated lot is a pollen pool: an orchard block in one flowering year.", None)
    columns = (
        Column("Pollen pool", "code", kind="code", url=lambda pool: reverse("pollenpool_detail", args=[pool.pk])),
        Column("Orchard", "orchard"),
        Column("Block", "block"),
        Column("Flowered in", "flowering_year", "right"),
        Column("Outside pollen, declared share", "outside_share", "right"),
    )


class PollenPoolDetailView(RecordDetailView):
    model = PollenPool
    action = "pedigree.view"
    question = "Whose pollen was in the air, and which lots came of it?"

    def get_page(self):
        pool = self.object
        lots = self.scoped(pool.lots.model).filter(pollen_pool=pool).select_related("mother")
        return {
            "code": pool.code,
            "where": ", ".join(
                part for part in (pool.orchard, pool.block and f"block {pool.block}", f"flowered in {pool.flowering_year}") if part
            ),
            "actions": allowed(self.request.user, ("Change the pool", "pedigree.edit", reverse_to("pollenpool_edit", pool.pk))),
            "facts": [("Outside pollen, declared share", pool.outside_share, None), ("Note", pool.note, None)],
            "parts": [lots_table("Lots of this pool", lots, "No lot names this pool as its father.")],
        }


class PollenPoolFormView(SectionFormView):
    model = PollenPool
    action = "pedigree.edit"
    form_class = PollenPoolForm
    submit_label = "Save the pollen pool"
