"""What an issued report rests on, as plain values, and how that differs from another time, in words.

Source
------
Definition of this programme: a report rests on its complete rounds, with the counts of every lot in each and the lineage of the lot.
"""

from collections.abc import Mapping, Sequence

from plantings.calc.survival.survival import Counts

__all__ = ["differences"]

Rests = Sequence[Mapping[str, object]]
_NAMES = {"alive": "alive", "dead": "dead", "presumed_dead": "presumed dead", "not_found": "not found", "unclear": "unclear",
          "not_located": "not located", "not_visited": "not visited", "removed": "removed",
          "removed_excluded": "removed, not counted", "planted": "planted"}  # fmt: skip


def differences(before: Rests, after: Rests) -> list[str]:
    """Sentences about each round of which more, less or something else is recorded after than before; none where nothing changed.

    Parameters
    ----------
    before, after : sequence of dict
        A round each: `planting`, `round`, `sown` (True of sown seed), and `entries`, a list each of lot, role, lineage and the numbers of
        `Counts` in its order.

    Examples
    --------
    >>> entry = ["L1", "test", "S1", *Counts(planted=10, alive=8, dead=2)]
    >>> later = ["L1", "test", "S1", *Counts(planted=10, alive=7, dead=3)]
    >>> one = {"planting": "PL-1", "round": "2026", "sown": False}
    >>> differences([one | {"entries": [entry]}], [one | {"entries": [later]}])
    ['PL-1, census 2026: lot L1: alive 8 then, 7 now; dead 2 then, 3 now.']
    """
    old, new = ({_key(item): item for item in rests} for rests in (before, after))
    said = [
        f"{_name(item)}: used now, not then; {_total(item)}." if key not in old else f"{_name(item)}: {'; '.join(found)}."
        for key, item in new.items()
        if key not in old or (found := _of_round(old[key], item))
    ]
    return [*said, *(f"{_name(item)}: used then, not now." for key, item in old.items() if key not in new)]


def _key(item):
    return item["planting"], item["round"], item["sown"]


def _name(item):
    return f"{item['planting']}, census {item['round']}{', sown seed' if item['sown'] else ''}"


def _total(item):
    counts = [Counts(*entry[3:]) for entry in item["entries"]]
    return f"alive {sum(one.alive for one in counts):,} of {sum(one.assessed for one in counts):,} assessed"


def _of_round(before, after):
    old, new = ({(entry[0], entry[1]): entry for entry in item["entries"]} for item in (before, after))
    words = []
    for place in dict.fromkeys([*old, *new]):
        then, now = old.get(place), new.get(place)
        if then == now:
            continue
        if then is None or now is None:
            words.append(f"lot {place[0]} {'counted now, not then' if then is None else 'counted then, not now'}")
            continue
        changed = [f"listed as {now[2]}, then as {then[2]}"] if now[2] != then[2] else []
        pairs = zip(Counts._fields, then[3:], now[3:], strict=True)
        changed += [f"{_NAMES[name]} {one:,} then, {two:,} now" for name, one, two in pairs if one != two and name in _NAMES]
        words.append(f"lot {place[0]}: {'; '.join(changed) or 'other counts differ, such as cankers'}")
    return words
