"""Which moves of a list of trees cannot be made, since two trees would be at one place."""

from collections.abc import Hashable, Mapping


def refused_places(
    on_file: Mapping[Hashable, Hashable | None], wanted: Mapping[Hashable, Hashable | None]
) -> dict[Hashable, list[Hashable]]:
    """The trees that cannot move, each with those whose move depends on it.

    Parameters
    ----------
    on_file : {tree: its place, or None} of every tree that is where the list goes
    wanted : {tree: its new place, or None}, in the order of the list

    Returns
    -------
    dict of {tree: list of trees}
        A tree is refused where one that does not move, or an earlier one of the list, has its new place. It stays where it is, so those
        that were to take its place, and in turn theirs, depend on it.

    Source
    ------
    Ours, no source: places are checked once, for where all trees are in the end, so that two can swap.

    Examples
    --------
    >>> refused_places({"a": 1, "b": 2}, {"a": 2, "b": 1})
    {}
    >>> refused_places({"a": 1, "b": 2, "c": 3}, {"a": 2, "b": 3})
    {'b': ['a']}
    """
    holders = {place: tree for tree, place in on_file.items() if tree not in wanted and place is not None}
    refused = {}
    for tree, place in wanted.items():
        if place is not None and holders.setdefault(place, tree) != tree:
            refused[tree] = []
    for tree, waiting in refused.items():
        stays = tree
        while (place := on_file.get(stays)) is not None:
            stays = holders.get(place, stays)
            if stays in waiting or stays in refused:
                break
            waiting.append(stays)
    return refused
