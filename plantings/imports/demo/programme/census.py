"""The yearly rounds: what the crews wrote down, with everything that goes wrong on the way."""

import datetime
from random import Random

from plantings.calc.census.measurements import BROWSE, CANKER, DIAMETER, DIAMETER_AT, DIEBACK, FIELDS, FLOWERS, HEIGHT
from plantings.imports.demo.programme.flow import counted_plots
from plantings.imports.demo.programme.layout import FILLER, REPLACED, replacements
from plantings.imports.demo.programme.lives import Tree
from plantings.imports.demo.programme.people import NAMES
from plantings.imports.demo.programme.places import BY_CODE, PLANS, SOWN_PLANTING
from plantings.imports.demo.programme.standards import MEASUREMENTS, PROTOCOL, PROTOCOL_FROM

# Growing seasons with a round: every year for the plantings of 2020; later ones were spared the fourth visit.
SEASONS = {2020: (1, 2, 3, 4, 5), 2021: (1, 2, 3, 5), 2022: (1, 2, 3, 5)}
SEASONS_OF = {"ST-12-2022": (1, 2)}  # sold after its second round
SOWN_SEASONS = (1, 2, 3, 5)
NOT_VISITED = {("ST-06-2022", 2023): "track washed out, road closed by the county"}
ROWS_NOT_LOCATED = {("ST-10-2022", 2024): (21, 22), ("ST-07-2020", 2021): (9,)}
# Rounds still open: the first blocks are done, the others wait for the crew.
BLOCKS_DONE = {("ST-06-2022", 2026): 10}
WINDOWS = {("ST-06-2022", 2026): ("2026-09-15", "2026-12-15", "2026-11-07")}
# The last round is not reviewed yet; the office accepted all others.
UNREAD = {("ST-06-2022", 2026)}
# The paper of these blocks came back months later and is in the second census sheet.
LATE_FROM_BLOCK = {("ST-02-2020", 2023): 15}
REMOVED = {
    ("ST-03-2021", 2022): ("landowner", 5, lambda tree: tree.planted.block == "26"),
    ("ST-09-2020", 2023): ("sanitation", 6, lambda tree: tree.planted.lot == "P19-NAT" and tree.canker >= 2),
    ("ST-05-2021", 2023): ("sampled", 2, lambda tree: tree.planted.role == "test" and tree.canker >= 1),
}
_REMOVAL_NOTES = {
    "landowner": "in the way of the new hay track",
    "sanitation": "cut and burnt, canker spreading",
    "sampled": "stem taken to the laboratory",
}


class Census:
    """All rounds of all plantings. `replaced` is {planting: replacements}, found on the way."""

    def __init__(self, seed, planted):
        self.rounds, self.rows, self.late_rows, self.replaced = [], [], [], {}
        for plan in PLANS:
            self._planting(plan, planted[plan.code], Random(f"{seed} census {plan.code}"))
        self.plot_counts = self._count_plots(Random(f"{seed} plots"))
        self._correct()
        self._contradict()
        self._leave_odd()

    def _planting(self, plan, planted, rng):
        climate = BY_CODE[plan.site].climate
        trees = [Tree(tree, climate, rng) for tree in planted]
        gone = set()  # tags that are off the list: removed, or replaced
        seasons = SEASONS_OF.get(plan.code, SEASONS[plan.year])
        for season in range(1, max(seasons) + 1):
            year = plan.year + season - 1
            for tree in trees:
                tree.step(year)
            if season in seasons:
                self._round(plan, season, year, trees, gone, rng)
            if season == 1 and plan.code in REPLACED:
                made = self._replace(plan, trees, gone, rng)
                trees += [Tree(tree, climate, rng) for tree in made]

    def _replace(self, plan, trees, gone, rng):
        count, day = REPLACED[plan.code]
        dead = [
            tree.planted for tree in trees
            if not tree.alive and not tree.vanished and not tree.shoots_next and tree.planted.lot != FILLER
        ]  # fmt: skip
        chosen = sorted(rng.sample([tree.tag for tree in dead], count))
        gone.update(chosen)
        made = self.replaced[plan.code] = replacements([tree.planted for tree in trees], dict.fromkeys(chosen, day))
        return made

    def _round(self, plan, season, year, trees, gone, rng):
        label, key = f"{year} autumn", (plan.code, year)
        opens, closes, first_day = WINDOWS.get(key, (f"{year}-09-01", f"{year}-10-15", ""))
        self.rounds.append(_round_row(plan.code, label, season, opens, closes))
        first_day = datetime.date.fromisoformat(first_day or f"{year}-09-{rng.randint(6, 28):02d}")
        removed = self._remove(key, trees, gone, rng)
        for number, tree in enumerate(trees):
            block = int(tree.planted.block) if tree.planted.block.isdecimal() else 999
            if tree.planted.tag in gone or block > BLOCKS_DONE.get(key, 999):
                continue
            second_half = number * 2 >= len(trees) and key not in NOT_VISITED
            row = {
                "planting": plan.code, "round": label, "tag": tree.planted.tag,
                "observed_on": (first_day + datetime.timedelta(days=int(second_half))).isoformat(),
                "observer": NAMES[plan.crew[second_half]],
            }  # fmt: skip
            reason = removed.get(tree.planted.tag)
            if key not in UNREAD:
                row["accepted"] = "yes"
            row |= _removal(reason) if reason else _seen(tree, season, key, row["observer"], rng)
            late = block >= LATE_FROM_BLOCK.get(key, 1000)
            (self.late_rows if late else self.rows).append(row)
        gone.update(removed)

    def _remove(self, key, trees, gone, rng):
        if key not in REMOVED:
            return {}
        reason, count, wanted = REMOVED[key]
        standing = [tree for tree in trees if tree.alive and tree.planted.tag not in gone and wanted(tree)]
        chosen = rng.sample(standing, min(count, len(standing)))
        return {tree.planted.tag: reason for tree in chosen}

    # -- the sown plots ------------------------------------------------------------------------

    def _count_plots(self, rng):
        """Seedlings of the sown plots; a count now and then finds one more than the year before."""
        self.rounds += [_round_row(SOWN_PLANTING, f"{2019 + season} autumn", season) for season in SOWN_SEASONS]
        rows = []
        for plot in counted_plots():
            check = plot["role"] == "check"
            alive, dead = rng.randint(36, 49), rng.randint(0, 3)
            for season in range(1, max(SOWN_SEASONS) + 1):
                if season > 1:
                    lost = sum(rng.random() < (0.2 if check and season > 2 else 0.09) for _ in range(alive))
                    alive, dead = alive - lost + (rng.random() < 0.1), min(60 - alive, dead + round(lost * 0.6))
                if season in SOWN_SEASONS:
                    rows.append(
                        {
                            "planting": SOWN_PLANTING,
                            "round": f"{2019 + season} autumn",
                            "plot": plot["code"],
                            "alive": alive,
                            "dead": dead,
                            "observed_on": f"{2019 + season}-09-{11 + season:02d}",
                            "observer": NAMES["mina.farrowdale"],
                            "accepted": "yes",
                        }  # fmt: skip
                    )
        return rows

    # -- what went wrong on paper --------------------------------------------------------------

    def _correct(self):
        """Two rows keyed wrong, and right again in the second census sheet: a slipped decimal point, a shoot overlooked."""
        right = self._find("ST-01-2020", "2022 autumn", lambda row: row["status"] == "A" and 60 <= row.get(HEIGHT.field, 0) <= 75)
        self.late_rows.append(dict(right))
        right[HEIGHT.field] *= 10
        right = self._find("ST-07-2020", "2022 autumn", lambda row: row["status"] == "AR")
        self.late_rows.append(right | {"note": "a shoot at the collar had been overlooked"})
        for name in FIELDS:
            right.pop(name, None)
        right.update(status="D", cause="unknown", note="stem dry to the ground")

    def _contradict(self):
        """Two trees that a second crew saw differently some days later; nobody has settled yet which is right."""
        first = self._find("ST-11-2021", "2025 autumn", lambda row: row["status"] == "A" and row[CANKER.field] == 3)
        self._second(first, 6, status="D", cause="canker", note="second crew: no live bud found")
        before = {row["tag"]: row for row in self.rows if (row["planting"], row["round"]) == ("ST-05-2021", "2023 autumn")}
        first = self._find("ST-05-2021", "2025 autumn", lambda row: row["status"] == "NF" and before[row["tag"]]["status"] == "A")
        measured = {HEIGHT.field: before[first["tag"]][HEIGHT.field] + 71, CANKER.field: 1}
        self._second(first, 4, status="A", **measured, note="second crew: hidden in bramble, tag on the ground")

    def _leave_odd(self):
        """What the review of the last round is to find: two neighbours exchanged on the form, and a height in inches."""
        last = [row for row in self.rows if (row["planting"], int(row["round"][:4])) in UNREAD and row["status"] == "A"]
        beside = [row for row in last if row["tag"] in ("0037", "0038")]  # of very different height, where both are alive
        for name in (HEIGHT.field, DIAMETER.field):
            for row, value in zip(beside, [row[name] for row in reversed(beside)], strict=True):
                row[name] = value
        inches = last[-1]
        inches[HEIGHT.field] = round(inches[HEIGHT.field] / 2.54)

    def _find(self, planting, label, wanted):
        return next(row for row in self.rows if (row["planting"], row["round"]) == (planting, label) and wanted(row))

    def _second(self, first, days_later, **seen):
        row = {name: first[name] for name in ("planting", "round", "tag", "accepted")}
        row["observed_on"] = (datetime.date.fromisoformat(first["observed_on"]) + datetime.timedelta(days=days_later)).isoformat()
        observer = next(name for name in (NAMES["joss.pennywhit"], NAMES["wren.oakhollow"]) if name != first["observer"])
        self.late_rows.append(row | {"observer": observer, "second_record": "yes"} | seen)


_CATKINS_FROM_CM, _FRUIT_FROM_CM = 285, 310


def self_sown():
    """Seedlings that came up by themselves, noted beside the sown plots: counted once, then only seen."""
    season = max(SOWN_SEASONS)
    row = {"planting": SOWN_PLANTING, "round": f"{2019 + season} autumn", "observed_on": f"{2019 + season}-09-{11 + season:02d}"}
    row["observer"] = NAMES["mina.farrowdale"]
    places = (("below the trees at the gate", 7, "under the old trees"), ("along the north fence", None, None))
    return [row | {"place": place, "seedlings": seedlings, "note": note} for place, seedlings, note in places]


def _round_row(planting, label, season, opens="", closes=""):
    year = label[:4]
    return {
        "planting": planting, "label": label, "growing_seasons": season, "opens_on": opens or f"{year}-09-01",
        "closes_on": closes or f"{year}-10-15", "protocol_version": _protocol_words(year),
    }  # fmt: skip


def _protocol_words(year):
    """The newest rounds have a protocol on file, those before it only a word."""
    if year >= PROTOCOL_FROM:
        return PROTOCOL
    return "2020.1" if year < "2023" else "2023.1"


def _vigour(tree):
    """The class of the crown: little is left of it above a girdling canker or after much dieback."""
    return 3 - min(3, max(tree.dieback // 25, tree.canker - 1, 0))


def _removal(reason):
    return {"status": "RM", "cause": reason, "note": _REMOVAL_NOTES[reason]}


def _flowers(tree):
    """Catkins come first, and only on the tallest trees: a young planting has few."""
    if tree.resprout or tree.canker > 1 or tree.height < _CATKINS_FROM_CM:
        return "none"
    return "both" if tree.height >= _FRUIT_FROM_CM else "male"


def _seen(tree, season, key, observer, rng):
    """What a crew writes of one tree."""
    if key in NOT_VISITED:
        return {"status": "NV", "note": NOT_VISITED[key]}
    if tree.planted.row in ROWS_NOT_LOCATED.get(key, ()):
        return {"status": "NL", "note": "row grown over, posts not found"}
    if not tree.alive:
        return {"status": "NF"} if tree.vanished else {"status": "D", "cause": tree.cause}
    if rng.random() < 0.006:
        return {"status": "NF", "note": "no tree at the post"}
    height = tree.height + rng.gauss(0, 1.2)
    if observer == NAMES["dale.hobbinson"] and rng.random() < 0.5:
        height = 5 * round(height / 5)  # one of the crew rounds to the mark of the pole
    row = {
        "status": "AR" if tree.resprout else "A", HEIGHT.field: round(height), CANKER.field: tree.canker,
        BROWSE.field: tree.browse, DIEBACK.field: tree.dieback,
    }  # fmt: skip
    if season % 2:
        row |= {DIAMETER.field: round(tree.diameter + rng.gauss(0, 0.3), 1), DIAMETER_AT.field: 2.5}
    if season >= 4:
        row[FLOWERS.field] = _flowers(tree)
    if str(key[1]) >= PROTOCOL_FROM and season >= MEASUREMENTS[0]["from_season"]:
        row["crown_vigour_v1"] = _vigour(tree)
    if tree.resprout and not tree.reported:
        tree.reported = True
        row["note"] = "new shoot from the root collar"
    return row
