"""Results put away in a file, for pages that go through every field of a season more than once."""

import pickle
import tempfile
from collections.abc import Iterable, Sequence
from typing import IO, Self, overload

from fieldbook.results.result import FieldResult

_IN_MEMORY = 2**20  # bytes; what a small season takes never reaches the disk


class PutAway:
    """A file without a name that holds the results of fields; use it in `with`."""

    def __init__(self) -> None:
        self._file: IO[bytes] = tempfile.SpooledTemporaryFile(_IN_MEMORY)  # noqa: SIM115  (closed below)
        self._places: dict[str, int] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def put(self, result: FieldResult) -> None:
        """Put a field's results behind those that are there."""
        self._places[result.field_id] = self._file.seek(0, 2)
        pickle.dump(result, self._file, pickle.HIGHEST_PROTOCOL)

    def get(self, field_id: str) -> FieldResult:
        """Read a field's results; KeyError where none were put."""
        self._file.seek(self._places[field_id])
        result: FieldResult = pickle.load(self._file)
        return result

    def in_order(self, field_ids: Iterable[str]) -> Sequence[FieldResult]:
        """Return the results of these fields, which can be read while the file is open."""
        return _Results(self, field_ids)


class _Results(Sequence[FieldResult]):
    """The results of fields, each read anew whenever it is asked for."""

    def __init__(self, place: PutAway, field_ids: Iterable[str]) -> None:
        self._place, self._field_ids = place, tuple(field_ids)

    def __len__(self) -> int:
        return len(self._field_ids)

    @overload
    def __getitem__(self, at: int) -> FieldResult: ...

    @overload
    def __getitem__(self, at: slice) -> "_Results": ...

    def __getitem__(self, at: int | slice) -> "FieldResult | _Results":
        if isinstance(at, slice):
            return _Results(self._place, self._field_ids[at])
        return self._place.get(self._field_ids[at])
