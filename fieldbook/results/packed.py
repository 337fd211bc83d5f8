"""Results put away small, for pages that go through every field of a season more than once."""

import pickle
import zlib
from collections.abc import Iterable, Sequence
from typing import overload

from fieldbook.results.result import FieldResult

_QUICKLY = 1


def pack(result: FieldResult) -> bytes:
    """Return a field's results as bytes, a fifth of what they take whole."""
    return zlib.compress(pickle.dumps(result, pickle.HIGHEST_PROTOCOL), _QUICKLY)


class PackedResults(Sequence[FieldResult]):
    """The results of fields, each unpacked anew whenever it is asked for."""

    def __init__(self, packed: Iterable[bytes]) -> None:
        self._packed = tuple(packed)

    def __len__(self) -> int:
        return len(self._packed)

    @overload
    def __getitem__(self, at: int) -> FieldResult: ...

    @overload
    def __getitem__(self, at: slice) -> "PackedResults": ...

    def __getitem__(self, at: int | slice) -> "FieldResult | PackedResults":
        if isinstance(at, slice):
            return PackedResults(self._packed[at])
        result: FieldResult = pickle.loads(zlib.decompress(self._packed[at]))
        return result
