"""Loops: a tree or lot that is its own ancestor, found in any links from a name to what it came from."""

from collections.abc import Hashable, Iterable, Mapping

__all__ = ["find_loops"]


def find_loops(
    origins: Mapping[Hashable, Iterable[Hashable]], starts: Iterable[Hashable] | None = None, at_most: int = 20
) -> list[list[Hashable]]:  # fmt: skip
    """The loops met on the way from the starts to their ancestors.

    Parameters
    ----------
    origins : mapping of name to what it came from
        Parents of a tree, members of a pollen pool, lots a lot was made of. A name that is not in it came from nothing.
    starts : iterable of names, optional
        All names when left out. A start that is its own ancestor is met by the first loop through it.
    at_most : int
        Loops to look for; a pedigree with one mistake seldom has more.

    Returns
    -------
    list of loops, each a list of names
        Every name came from the one after it, and the last from the first.

    Source
    ------
    Depth-first search: an edge back onto the path closes a loop. Tarjan 1972, SIAM J. Comput. 1:146-160 (from memory).

    Examples
    --------
    >>> find_loops({"a": ["b", "x"], "b": ["c"], "c": ["a"]})
    [['a', 'b', 'c']]
    """
    loops, done, on_path = [], set(), {}
    for start in origins if starts is None else starts:
        stack = [] if start in done else [(start, iter(origins.get(start, ())))]
        path = [start] if stack else []
        if stack:
            on_path[start] = 0
        while stack:
            name, rest = stack[-1]
            origin = next((found for found in rest if found not in done), None)
            if origin is None:
                stack.pop()
                path.pop()
                del on_path[name]
                done.add(name)
            elif origin in on_path:
                loops.append(path[on_path[origin] :])
                if len(loops) == at_most:
                    return loops
            else:
                on_path[origin] = len(path)
                path.append(origin)
                stack.append((origin, iter(origins.get(origin, ()))))
    return loops
