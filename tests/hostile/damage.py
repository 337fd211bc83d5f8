"""Seeded damage to good books: bytes, parts of the zip file, XML, cells, structure.

Every kind is a function of a book's bytes and a `random.Random`; the same seed and number give the
same file. Each works on both formats. What comes out may well be a good book still.
"""

import random
from collections.abc import Mapping
from dataclasses import dataclass

from hostile import damage_cells, damage_raw, damage_structure, damage_xml
from hostile.damage_kinds import KINDS

_MADE_IN = (damage_cells, damage_raw, damage_structure, damage_xml)  # imported, so entered


@dataclass(frozen=True, kw_only=True)
class Damaged:
    """One damaged book: its number, what was done to which book, and its bytes."""

    number: int
    family: str
    kind: str
    of: str
    data: bytes


def damaged(seed: str, number: int, books: Mapping[str, bytes]) -> Damaged:
    """Damage one of the books; families and their kinds come up in turn."""
    draw = random.Random(f"{seed}/{number}")
    families = tuple(KINDS)
    family = families[number % len(families)]
    kinds = KINDS[family]
    kind = kinds[number // len(families) % len(kinds)]
    of = draw.choice(sorted(books))
    data = kind(books[of], draw)
    return Damaged(number=number, family=family, kind=kind.__name__, of=of, data=data)
