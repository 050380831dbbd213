"""How far a command is: a bar on a terminal, otherwise one line for each step."""

import time

from registry.calc.shared.screen import amount_words

__all__ = ["ProgressLines"]

_WIDTH = 30
_EVERY = 0.2  # seconds between two bars


class ProgressLines:
    """Takes what work says of itself by `progress`, and writes it to a stream such as standard error."""

    def __init__(self, stream):
        self.stream, self.is_terminal = stream, stream.isatty()
        self._words, self._at = "", 0.0

    def __call__(self, words, done=0, total=0, unit=""):
        if self.is_terminal:
            self._bar(words, done, total, unit)
        elif words != self._words:
            self.stream.write(f"{words}: {amount_words(total, unit)}" if total else words)
        self._words = words

    def _bar(self, words, done, total, unit):
        if words == self._words and time.monotonic() - self._at < _EVERY:
            return
        self._at = time.monotonic()
        full = _WIDTH * done // total if total else 0
        said = f" [{'#' * full}{'.' * (_WIDTH - full)}] {done:,} of {amount_words(total, unit)}" if total else ""
        self.stream.write(f"\r\033[K{words}{said}", ending="")

    def end(self):
        """Leave the line of the bar to what is written next."""
        if self.is_terminal and self._words:
            self.stream.write("\r\033[K", ending="")
