"""Records and pages for the tests of the numbers of a pedigree."""

from registry.models import PollenPool, PollenPoolMember


def text(response):
    return " ".join(response.content.decode().split())


def pool_of(*members, **fields):
    pool = PollenPool.objects.create(**{"code": "POOL", "orchard": "A", "flowering_year": 2018} | fields)
    for tree, weight in members:
        PollenPoolMember.objects.create(pool=pool, tree=tree, weight=weight)
    return pool
