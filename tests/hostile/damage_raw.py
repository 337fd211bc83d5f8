"""Damage to a file's bytes and to the parts of its zip file."""

import re
import struct

from hostile.books import flipped, repacked, unzipped, zipped
from hostile.damage_kinds import Draw, a_part, content_of, kind, with_part

# ---- bytes --------------------------------------------------------------------------------


@kind("bytes")
def flip(data: bytes, draw: Draw) -> bytes:
    """Change one to eight bytes."""
    return flipped(data, draw.randrange(2**31), flips=draw.randint(1, 8))


@kind("bytes")
def cut_off(data: bytes, draw: Draw) -> bytes:
    """Lose the end."""
    return data[: draw.randrange(len(data))]


@kind("bytes")
def put_in(data: bytes, draw: Draw) -> bytes:
    """Put strange bytes in somewhere, or at the end."""
    at = draw.choice([draw.randrange(len(data)), len(data)])
    return data[:at] + draw.randbytes(draw.randint(1, 2_000)) + data[at:]


@kind("bytes")
def lose_a_stretch(data: bytes, draw: Draw) -> bytes:
    """Lose a stretch, or have it read as zeros, as from a bad disk."""
    at, length = draw.randrange(len(data)), draw.randint(1, 4_096)
    lost = min(length, len(data) - at)
    return data[:at] + draw.choice([b"", bytes(lost)]) + data[at + lost :]


@kind("bytes")
def repeat_a_stretch(data: bytes, draw: Draw) -> bytes:
    """Have a stretch twice."""
    at = draw.randrange(len(data))
    end = min(len(data), at + draw.randint(1, 4_096))
    return data[:end] + data[at:]


@kind("bytes")
def lie_in_the_contents(data: bytes, draw: Draw) -> bytes:
    """Change a field of an entry in the table of contents: flags, packing, sizes, place."""
    out, starts = bytearray(data), [m.start() for m in re.finditer(b"PK\x01\x02", data)]
    at = draw.choice(starts) + draw.choice([8, 10, 16, 20, 24, 28, 30, 42])
    struct.pack_into("<H", out, at, draw.choice([0, 1, 8, 12, 0xFFFF, draw.randrange(2**16)]))
    return bytes(out)


# ---- parts of the zip file ------------------------------------------------------------------


@kind("parts")
def drop_a_part(data: bytes, draw: Draw) -> bytes:
    """Lose a part."""
    return repacked(data, {a_part(data, draw): None})


@kind("parts")
def exchange_parts(data: bytes, draw: Draw) -> bytes:
    """Let two parts hold each other's bytes."""
    parts = unzipped(data)
    one, other = draw.sample(sorted(parts), 2)
    return zipped(parts | {one: parts[other], other: parts[one]})


@kind("parts")
def rename_a_part(data: bytes, draw: Draw) -> bytes:
    """Give a part another name, also one that leads outside or is there already."""
    parts, name = unzipped(data), a_part(data, draw)
    fresh = draw.choice(
        [
            name.upper(),
            f"../{name}",
            f"/{name}",
            name.replace("/", "\\"),
            f"{name}\u202e",
            "x" * 300,
        ]
    )
    return zipped({fresh if old == name else old: content for old, content in parts.items()})


@kind("parts")
def cut_a_part(data: bytes, draw: Draw) -> bytes:
    """Let a part end early, with a right checksum."""
    name = a_part(data, draw)
    content = content_of(data, name)
    return with_part(data, name, content[: draw.randint(0, len(content))])


@kind("parts")
def flip_in_a_part(data: bytes, draw: Draw) -> bytes:
    """Change bytes inside a part, with a right checksum."""
    name = a_part(data, draw)
    content = content_of(data, name) or b"?"
    return with_part(data, name, flipped(content, draw.randrange(2**31), flips=draw.randint(1, 4)))


@kind("parts")
def add_a_part(data: bytes, draw: Draw) -> bytes:
    """Add a part that a book has not: macros, a link to elsewhere, nonsense, or many."""
    names = ["xl/vbaProject.bin", "xl/externalLinks/externalLink1.xml", "Basic/Standard/a.xml"]
    added = {draw.choice([*names, "xl/worksheets/sheet99.xml", "a b"]): draw.randbytes(200)}
    many = {f"x/{number}": b"" for number in range(draw.choice([1, 1, 600]))}
    return zipped(unzipped(data) | added | many)
