"""What the tests of seed enter and read."""

from registry.models import Lot
from tests import factories

DAY = factories.day(2019)


def fresh(lot):
    return Lot.objects.get(pk=lot.pk)


# -- harvest ---------------------------------------------------------------------------------


def new_lot(**fields):
    mother = factories.pedigree_tree(code="M1")
    return Lot(code="S19-M1", kind="seed", origin="harvest", mother=mother, taxon=mother.taxon, year=2019, **fields)
