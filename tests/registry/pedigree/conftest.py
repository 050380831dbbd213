"""A small pedigree, and a person who may see it."""

import pytest

from tests import factories


@pytest.fixture
def native():
    return factories.taxon(name="Juglans cinerea", role="native")


@pytest.fixture
def donor():
    return factories.taxon(name="Juglans ailantifolia", role="donor")


@pytest.fixture
def book(native, donor):
    """A programme of three backcrosses, {code: tree}: each to another native tree."""
    trees = {"J": factories.pedigree_tree(code="J", taxon=donor, generation_other="donor")}
    for step in range(4):
        trees[f"N{step}"] = factories.pedigree_tree(code=f"N{step}", taxon=native)
        father = trees[f"B{step - 1}"] if step else trees["J"]
        trees[f"B{step}"] = factories.pedigree_tree(
            code=f"B{step}", taxon=native, mother=trees[f"N{step}"], father=father, backcrosses=step, intercrosses=0
        )
    return trees


@pytest.fixture
def signed_in(client):
    client.force_login(factories.person("lead"))
    return client
