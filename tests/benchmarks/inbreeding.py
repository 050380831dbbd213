"""How long inbreeding takes on large pedigrees, against one plain pass over the same pedigree.

Run by name: python tests/benchmarks/inbreeding.py

The floor is one pass in plain Python that adds the positions of both parents of every tree. Reading the rows into order
is timed apart: it is paid once for a file. Prints times, ratios to the floor and peak memory; exit code 1 when 100,000
trees take 2 s or a million trees take 10 s.
"""

import importlib
import random
import resource
import sys
import time
from pathlib import Path

# trees, generations, parents of each generation, trees of a family, limit in seconds
CASES = (
    (100_000, 4, 50, 20, 2),
    (100_000, 15, 100, 20, 2),
    (100_000, 15, 100, 1, 2),
    (1_000_000, 4, 50, 20, 10),
    (1_000_000, 15, 100, 20, 10),
)


def rows(trees, generations, parents, family):
    """Trees of each generation from pairs drawn among the parents chosen in the one before; rows in random order."""
    chance = random.Random(7)
    each = trees // generations
    chosen = [f"founder {number}" for number in range(parents)]
    made = []
    for generation in range(generations):
        names = [f"{generation}-{number}" for number in range(each)]
        for number in range(0, each, family):
            mother, father = chance.sample(chosen, 2)
            made += [(name, mother, father) for name in names[number : number + family]]
        chosen = chance.sample(names, parents)
    chance.shuffle(made)
    return made


def seconds(work):
    began = time.perf_counter()
    result = work()
    return time.perf_counter() - began, result


def one_pass(pedigree):
    total = 0
    for mother, father in zip(pedigree.mothers, pedigree.fathers, strict=True):
        total += mother + father
    return total


def main():
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    read_pedigree = importlib.import_module("registry.calc.pedigree.pedigree").read_pedigree
    inbreeding = importlib.import_module("registry.calc.pedigree.inbreeding").inbreeding
    missed = False
    for trees, generations, parents, family, limit_s in CASES:
        given = rows(trees, generations, parents, family)
        reading_s, pedigree = seconds(lambda given=given: read_pedigree(given))
        floor_s, _ = seconds(lambda pedigree=pedigree: one_pass(pedigree))
        spent_s, found = seconds(lambda pedigree=pedigree: inbreeding(pedigree))
        missed = missed or spent_s >= limit_s
        print(
            f"{trees:,} trees, {generations} generations, {parents} parents, families of {family}: reading {reading_s:.2f} s, "
            f"inbreeding {spent_s:.2f} s ({spent_s / floor_s:.0f} × the floor of {floor_s:.3f} s), mean F {found.mean():.4f}"
            f"{'; misses its target' if spent_s >= limit_s else ''}"
        )
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"targets: 100,000 trees under 2 s, a million under 10 s; peak memory {peak_mb:.0f} MB")
    sys.exit(int(missed))


if __name__ == "__main__":
    main()
