"""One answer of the gate at 2,000 papers and 500 rules, from the database to the answer, beside the bare rules on facts in memory.

Run by name: `.venv/bin/python tests/benchmarks/gate.py`. Target: under 50 ms, and queries that do not grow with papers and rules.
"""

import gc
from dataclasses import replace
from datetime import date

from temporary_book import open_book, peak_mb, report, seconds

PAPERS, RULES, RUNS = 2_000, 500, 15
DAY = date(2026, 4, 6)
STATES = ("US-VT", "US-NH", "US-NY", "US-ME", "US-MA", "US-PA", "US-OH", "US-MI", "US-WI", "US-IN")
TYPES = ("permit", "certificate", "licence", "notification", "consent", "transfer", "insurance", "applicator")


def main():
    open_book()
    from django.db import connection
    from django.db.models import QuerySet
    from django.test.utils import CaptureQueriesContext

    from registry.compliance.gate.decide import decide
    from registry.models import (
        Authorization,
        AuthorizationStateRecord,
        AuthorizationVersion,
        MaterialClass,
        PaperDocument,
        Requirement,
        StoredFile,
    )
    from registry.selectors.gate.determinations import shipment_answer
    from registry.selectors.gate.facts import gate_facts, rules_on_file
    from registry.selectors.gate.questions import shipment_question
    from tests import factories

    actor = factories.person("lead")
    MaterialClass.objects.create(code="hybrid", title="Hybrid", rule="donor_ancestry")
    donor = factories.taxon(name="Juglans ailantifolia", role="donor")
    parent = factories.pedigree_tree(taxon=donor)
    for _generation in range(5):
        parent = factories.pedigree_tree(father=parent, mother=factories.pedigree_tree())
    lots = [factories.seed_lot(actor=actor, seeds=500, mother=parent) for _ in range(5)]
    shipment = factories.shipment(
        actor=actor, lots=[(lot, "seed", 50) for lot in lots], receiver=factories.partner(kind="nursery", region="US-VT"),
        receiving_person="A. Receiver", origin_region="US-NY",
    )  # fmt: skip

    def small_and_large():
        with CaptureQueriesContext(connection) as queries:
            shipment_answer(shipment, DAY)
        return len(queries)

    shipment_answer(shipment, DAY)  # a new connection asks its database once what it can do
    few = small_and_large()
    rules = [
        Requirement(
            code=f"R{n:03d}", edition="2026", title=f"Rule {n}", source="invented", activities=["dispatch"] if n % 2 else [],
            classes=["hybrid"] if n % 3 else [], destinations=[STATES[n % 10]], any_of=[[TYPES[n % 8], TYPES[(n + 3) % 8]]],
        )
        for n in range(RULES)
    ]  # fmt: skip
    Requirement.objects.bulk_create(rules)
    papers = Authorization.objects.bulk_create(
        Authorization(code=f"P{n:04d}", type=TYPES[n % 8], title=f"Paper {n}", issuer="office", covers="x", state="in_force")
        for n in range(PAPERS)
    )
    now = factories.day(2026)
    stamp = f"{now.isoformat()}T00:00Z"
    QuerySet(AuthorizationVersion).bulk_create(
        AuthorizationVersion(
            authorization=paper, number=0, starts_on=date(2025, 1, 1), ends_on=date(2026, 12, 31), destinations=[STATES[n % 10]],
            classes=["hybrid"], forms=["seed"] if n % 4 else ["bareroot"], entered_at=stamp,
        )
        for n, paper in enumerate(papers)
    )  # fmt: skip
    QuerySet(AuthorizationStateRecord).bulk_create(
        AuthorizationStateRecord(authorization=paper, state="in_force", on=date(2025, 1, 1), entered_at=stamp) for paper in papers
    )
    stored = StoredFile(sha256="0" * 64, size_bytes=1, content_type="application/pdf", filename="p.pdf", entered_at=stamp)
    [file] = factories.put_in(stored)
    QuerySet(PaperDocument).bulk_create(
        PaperDocument(authorization=paper, file=file, title="Paper", entered_at=stamp) for n, paper in enumerate(papers) if n % 10
    )
    many = small_and_large()
    gc.collect()
    gc.freeze()  # as the server does at its start (wsgi.py)
    gc.set_threshold(50_000, 10, 10)
    question = shipment_question(shipment, DAY)
    facts = replace(gate_facts(question), requirements=rules_on_file())
    bare, _answer = seconds(lambda: decide(question, facts), RUNS)
    asked, answer = seconds(lambda: shipment_answer(shipment, DAY), RUNS)
    report(
        "gate",
        papers=PAPERS,
        rules=RULES,
        findings=len(answer.findings),
        queries=f"{few} with none, {many} with all",
        bare_rules_ms=f"{bare * 1000:.1f}",
        answer_ms=f"{asked * 1000:.1f}",
        ratio=f"{asked / bare:.1f}",
        target_under_50_ms="kept" if asked < 0.05 else "missed",
        peak_mb=f"{peak_mb():.0f}",
    )


if __name__ == "__main__":
    main()
