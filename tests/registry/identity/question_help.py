"""Evidence about a tree, a lot or a pool, for the tests of questions and of their pages."""

import datetime

from registry.services.identity.questions import evidence_enter

DAY = datetime.date(2024, 6, 3)


def evidence(actor, about, outcome="contradicts", on=DAY):
    return evidence_enter(actor=actor, about=about, kind="genotype", outcome=outcome, on=on, by="A. Reader", text="two loci do not fit")
