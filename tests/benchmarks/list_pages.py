"""List pages against a bare page of 50 rows (one query with its related records, one loop in a template), same run.

Run by name: `.venv/bin/python tests/benchmarks/list_pages.py`. Target: at most 4 times the bare page.
"""

from temporary_book import open_book, peak_mb, report, seconds

RUNS = 25
BARE = """<!doctype html><title>bare</title><table>{% for tree in trees %}<tr><td>{{ tree.planting.code }}</td><td>{{ tree.tag }}</td>
<td>{{ tree.entry.lot.code }}</td><td>{{ tree.entry.role }}</td><td>{{ tree.block.code }}</td><td>{{ tree.row }}</td><td>{{ tree.position }}</td>
<td>{{ tree.fate }}</td></tr>{% endfor %}</table>"""


def main():
    open_book()
    from django.http import HttpResponse
    from django.template import engines
    from django.test import Client
    from django.urls import path, reverse

    from plantings.models import Tree
    from plantings.services.trees import TreeAsPlanted, trees_plant
    from registry import urls
    from registry.models import PedigreeTree
    from tests import factories

    template = engines["django"].from_string(BARE)

    def bare(request):
        trees = Tree.objects.for_user(request.user).select_related("planting", "entry__lot", "block")[:50]
        return HttpResponse(template.render({"trees": trees}, request))

    urls.urlpatterns.append(path("bare/", bare))
    actor = factories.person("lead")
    for _number in range(60):
        lot = factories.stock_lot(actor=actor, plants=100)
        owner = factories.partner()
        factories.shipment(
            actor=actor,
            receiver=owner,
            lots=[(lot, "bareroot", 20)],
            dispatched_on=factories.day(2019, 4),
            received_on=factories.day(2019, 4, 3),
        )
        planting = factories.planting(site=factories.site(partner=owner))
        rows = [TreeAsPlanted(f"{n:04d}", lot, "test", "1", n // 10 + 1, n % 10 + 1) for n in range(50)]
        trees = trees_plant(actor=actor, planting=planting, trees=rows)
        factories.observe(factories.census_round(planting), dict.fromkeys(trees, "A"), actor=actor)
        factories.authorization()
    taxon = factories.taxon()
    PedigreeTree.objects.bulk_create(PedigreeTree(code=f"B{n}", taxon=taxon, generation_other="native") for n in range(1_000))
    client = Client(HTTP_HOST="localhost")
    client.force_login(actor)

    def page(address):
        response = client.get(address)
        assert response.status_code == 200, (address, response.status_code)

    page("/bare/")
    floor, _ = seconds(lambda: page("/bare/"), RUNS)
    report("bare page of 50 rows", ms=f"{floor * 1000:.1f}")
    for name in ("lot", "pedigreetree", "shipment", "receipt", "partner", "authorization", "site", "planting", "tree", "round"):
        address = reverse(f"{name}_list")
        page(address)
        taken, _ = seconds(lambda address=address: page(address), RUNS)
        report(f"{name} list", ms=f"{taken * 1000:.1f}", times_the_bare_page=f"{taken / floor:.2f}")
    report("memory", peak_MB=f"{peak_mb():.0f}")


if __name__ == "__main__":
    main()
