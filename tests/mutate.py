"""Seeded damage to a program: what drives, cables and editors do to a file, for fuzzing."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

HUGE = (b"1e308", b"9" * 30, b"-100001", b"0." + b"3" * 400, b"--5", b"1.2.3", b"1E-5", b"nan", b"\xd9\xa1")
INSERTS = (
    b"\0",
    b"\xff",
    b"(",
    b";",
    b"%",
    b"*",
    b"N1 ",
    b"\r",
    b"\n",
    b"M622 J0\n",
    b"G91\n",
    b"G20\n",
    b"\xef\xbb\xbf",
)


def _span(data: bytes, dice: random.Random, longest: int) -> tuple[int, int]:
    start = dice.randrange(len(data))
    return start, min(len(data), start + dice.randint(1, longest))


def _flip(data: bytes, dice: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(dice.randint(1, 8)):
        out[dice.randrange(len(out))] ^= 1 << dice.randrange(8)
    return bytes(out)


def _zero_run(data: bytes, dice: random.Random) -> bytes:
    start, end = _span(data, dice, 4096)
    return data[:start] + bytes(end - start) + data[end:]


def _truncate(data: bytes, dice: random.Random) -> bytes:
    return data[: dice.randrange(len(data))]


def _insert(data: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(data) + 1)
    return data[:at] + (dice.choice(INSERTS) if dice.random() < 0.7 else dice.randbytes(20)) + data[at:]


def _cut_piece(data: bytes, dice: random.Random) -> bytes:
    start, end = _span(data, dice, 200)
    return data[:start] + data[end:]


def _drop_line(data: bytes, dice: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    del lines[dice.randrange(len(lines))]
    return b"".join(lines)


def _double_line(data: bytes, dice: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    at = dice.randrange(len(lines))
    return b"".join([*lines[: at + 1], *lines[at:]])


def _swap_lines(data: bytes, dice: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    a, b = dice.randrange(len(lines)), dice.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return b"".join(lines)


def _huge_number(data: bytes, dice: random.Random) -> bytes:
    digits = [i for i, byte in enumerate(data) if 48 <= byte <= 57]
    if not digits:
        return data
    at = dice.choice(digits)
    return data[:at] + dice.choice(HUGE) + data[at + 1 :]


def _long_line(data: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(data) + 1)
    return (
        data[:at]
        + dice.choice([b"A", b" ", b"9", b"X1 ", b"; long "]) * dice.randint(1000, 50_000)
        + data[at:]
    )


def _other_ends(data: bytes, dice: random.Random) -> bytes:
    return data.replace(b"\n", dice.choice([b"\r\n", b"\r", b"\n\n", b"\r\r\n"]))


DAMAGES: dict[str, Callable[[bytes, random.Random], bytes]] = {
    "flip": _flip,
    "zero-run": _zero_run,
    "truncate": _truncate,
    "insert": _insert,
    "cut-piece": _cut_piece,
    "drop-line": _drop_line,
    "double-line": _double_line,
    "swap-lines": _swap_lines,
    "huge-number": _huge_number,
    "long-line": _long_line,
    "other-ends": _other_ends,
}


def mutants(data: bytes, seed: int, count: int) -> Iterator[tuple[str, bytes]]:
    """Return `count` damaged copies of `data` with the damages' names, the same for the same seed.

    Every damage is used in turn; a second one is laid over a third of them. A copy is never equal to `data`.
    """
    if not data:
        raise ValueError("an empty program cannot be damaged")
    dice = random.Random(seed)
    names = list(DAMAGES)
    for i in range(count):
        name = names[i % len(names)]
        damaged = data
        for _ in range(50):
            damaged = DAMAGES[name](data, dice)
            if damaged != data:
                break
        else:  # e.g. no digit to enlarge, no second line to swap
            name, damaged = "insert", data + b"\0"
        if damaged and dice.random() < 1 / 3:
            second = dice.choice(names)
            twice = DAMAGES[second](damaged, dice)
            if twice != data:
                name, damaged = f"{name}+{second}", twice
        yield name, damaged
