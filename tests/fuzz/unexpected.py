"""What is a fault: an answer that is neither what was asked for nor a sentence."""

from contextlib import contextmanager


class Unexpected(AssertionError):
    """An input that was answered with a fault of the program instead of a sentence."""


@contextmanager
def in_words(*refusals):
    """What happens inside may be refused by one of these errors, if it says why."""
    try:
        yield
    except refusals as refused:
        said = " ".join(getattr(refused, "messages", None) or [str(refused)])
        if not said.strip():
            raise Unexpected("a refusal without words") from refused
