"""Reads data.csv beside it and prints survival by site and lineage, as the page of Mastbook has it. Needs Python 3.9 and nothing else.

python survival.py                        lineage taken as source of resistance, at the age half of the plantings have reached
python survival.py --level mother --age 5
"""

import argparse
import csv
import math
from collections import defaultdict
from pathlib import Path

LEVELS = ("lot", "mother", "family", "source", "line", "generation")
UNKNOWN = ("not stated", "outside origin")


def read(path):
    """The rows that count: test trees and checks of complete rounds."""
    with open(path, encoding="utf-8-sig", newline="") as file:
        for row in csv.DictReader(file):
            if row["counted"] == "yes" and row["complete"] == "yes":
                yield row


def default_age(rows):
    """The oldest age that at least half of the plantings have reached."""
    oldest, ages = {}, set()
    for row in rows:
        age = int(row["growing_seasons"])
        ages.add(age)
        oldest[row["planting"]] = max(age, oldest.get(row["planting"], age))
    reached = [age for age in ages if 2 * sum(last >= age for last in oldest.values()) >= len(oldest)]
    return max(reached) if reached else None


def label(row, level):
    """The lineage of a row; a check without one at this level goes by its generation, else by its lot."""
    if row["role"] == "test":
        return row[level]
    return next(word for word in (row[level], row["generation"], row["lot"]) if word not in UNKNOWN)


def wilson(alive, n, z=1.959963984540054):
    """Wilson's 95 % interval of a share (1927)."""
    p, middle = alive / n, z * z / (2 * n)
    half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return (p + middle - half) / (1 + z * z / n), (p + middle + half) / (1 + z * z / n)


def table(rows, level, age):
    """[site, lineage, role, population, planted, assessed, alive, survival, low, high], each planting at its last round of the age."""
    rows = [row for row in rows if int(row["growing_seasons"]) == age]
    last = {}
    for row in rows:
        key = row["planting"], row["population"]
        last[key] = max(row["round_opens_on"], last.get(key, ""))
    groups = defaultdict(lambda: [0, 0, 0])
    for row in rows:
        if row["round_opens_on"] == last[row["planting"], row["population"]]:
            role = "test" if row["role"] == "test" else f"{row['check_kind']} check"
            sums = groups[row["site"], label(row, level), role, row["population"]]
            for place, name in enumerate(("planted", "assessed", "alive")):
                sums[place] += int(row[name])
    lines = []
    for key, (planted, n, alive) in sorted(groups.items()):
        figures = [round(value, 4) for value in (alive / n, *wilson(alive, n))] if n else [None, None, None]
        lines.append([*key, planted, n, alive, *figures])
    return lines


def main():
    parser = argparse.ArgumentParser(description="Survival by site and lineage from data.csv.")
    parser.add_argument("file", nargs="?", default=Path(__file__).with_name("data.csv"))
    parser.add_argument("--level", choices=LEVELS, default="source")
    parser.add_argument("--age", type=int, help="growing seasons completed")
    given = parser.parse_args()
    rows = list(read(given.file))
    age = default_age(rows) if given.age is None else given.age
    if age is None:
        raise SystemExit("No complete census is in this file.")
    print("site,lineage,role,population,planted,assessed,alive,survival,low,high")
    for line in table(rows, given.level, age):
        print(
            ",".join(
                '"' + str(cell).replace('"', '""') + '"' if isinstance(cell, str) else "" if cell is None else str(cell) for cell in line
            )
        )


if __name__ == "__main__":
    main()
