"""The rows of a long sheet in little memory: packed by the thousand, and unpacked where somebody reads them."""

import pickle
import zlib
from collections.abc import Sequence

__all__ = ["PackedRows"]

_PLAIN_MOST, _BLOCK = 10_000, 1_000


class PackedRows(Sequence):
    """A list of rows that is only added to. Up to some thousand rows it is a list, which `plain` gives; beyond, rows take a tenth."""

    def __init__(self):
        self._blocks, self._open = [], []
        self._unpacked = -1, ()

    def append(self, row):
        self._open.append(row)
        if len(self._open) >= (_BLOCK if self._blocks else _PLAIN_MOST):
            for start in range(0, len(self._open), _BLOCK):
                self._blocks.append(zlib.compress(pickle.dumps(self._open[start : start + _BLOCK], pickle.HIGHEST_PROTOCOL), 1))
            self._open = []

    def plain(self):
        """The rows as a list where none was packed; otherwise themselves."""
        return self if self._blocks else self._open

    def __len__(self):
        return len(self._blocks) * _BLOCK + len(self._open)

    def __getitem__(self, place):
        if isinstance(place, slice):
            return list(self.at(range(*place.indices(len(self)))))
        return next(self.at([range(len(self))[place]]))

    def __iter__(self):
        return self.at(range(len(self)))

    def at(self, places):
        """The rows at these places, one by one; a block is unpacked once where its places follow each other."""
        for place in places:
            number, within = divmod(place, _BLOCK)
            if number >= len(self._blocks):
                yield self._open[place - len(self._blocks) * _BLOCK]
                continue
            known, rows = self._unpacked
            if known != number:
                rows = pickle.loads(zlib.decompress(self._blocks[number]))
                self._unpacked = number, rows
            yield rows[within]
