"""What a statistic gave for the same numbers before: of many groups only those whose counts changed are worked out again."""

from collections.abc import Callable
from functools import wraps

NUMBERS_MOST = 1_000_000  # of one function; beyond them all is forgotten
_UNKNOWN = object()


def remembered(work_out: Callable) -> Callable:
    """Mark a pure function of sequences of numbers, whose answer nobody changes.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> calls = []
    >>> @remembered
    ... def total(numbers, *, times=1):
    ...     calls.append(numbers)
    ...     return times * sum(numbers)
    >>> total([1, 2]), total((1, 2)), total([1, 2], times=2), len(calls)
    (3, 3, 6, 2)
    """
    answers: dict[tuple, object] = {}
    held = [0]

    @wraps(work_out)
    def answer(*sequences, **named):
        key = (*(tuple(one) if isinstance(one, list | tuple) else one for one in sequences), *named.items())
        found = answers.get(key, _UNKNOWN)  # one look: another thread may forget all in between
        if found is _UNKNOWN:
            found = work_out(*sequences, **named)
            held[0] += sum(len(one) for one in key if isinstance(one, tuple))
            if held[0] > NUMBERS_MOST:
                answers.clear()
                held[0] = 0
            answers[key] = found
        return found

    return answer
