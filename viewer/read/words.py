"""One line of a program, split into its words: by the rules of the scanner, for lines that a person looks at.

The scanner (`viewer.read.kernels.words`) splits millions of lines a second and keeps no places in the text; this
splits one line and keeps them. Tests hold the two together.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Final, Literal

WordKind = Literal[
    "command", "word", "comment", "line number", "checksum",
    "message", "word command", "doubtful", "tape", "unread", "repeated", "misplaced",
]  # fmt: skip

_NUMBER: Final = re.compile(r"[ \t]*([-+]?[ \t]*(?:[0-9][0-9 \t]*(?:\.[0-9 \t]*)?|\.[ \t]*[0-9][0-9 \t]*))")
_SOLID_NUMBER: Final = re.compile(r"[ \t]*([-+]?[ \t]*(?:[0-9]+(?:\.[0-9]*)?|\.[ \t]*[0-9]+))")
"""Of a command: a blank behind a digit ends it (``M117 3 of 20``)."""
_LINE_NUMBER: Final = re.compile(r"[Nn]" + _NUMBER.pattern)
_CHECKSUM: Final = re.compile(r"\*[0-9]+[\x00-\x20]*$")
_NAME: Final = re.compile(r"_|[A-Za-z][A-Za-z_]")
_TOKEN: Final = re.compile(r"[A-Za-z0-9_]+")
_PROSE: Final = re.compile(r"[A-Za-z_]{2,}")
_EXPONENT: Final = re.compile(r"[Ee][-+]?[0-9]+")
_COMPACT: Final = re.compile(r"\S*[ \t]*(?:[;(]|$)")
_SOLID: Final = re.compile(r"[^\x00-\x20;(]*")
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b-\x1f]*")
_ARGUMENT: Final = re.compile("[:[{]")
_ARGUMENT_OF_M: Final = re.compile('[:[{=>",/]')
"""What a sign without a letter may begin with behind a command: ``E1:2``, ``X[2*3]``, ``X{lift}``, ``M624 AQAA=``."""
_MOTIONS: Final = (0.0, 1.0, 2.0, 3.0)
_NOT_IN_MOTIONS: Final = frozenset("NO")
_NOT_IN_STRAIGHT: Final = frozenset("IJK")
_MESSAGES: Final = (117.0, 118.0, 23.0, 28.0, 30.0, 32.0, 36.0)
"""M words whose rest of the line is a text."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a line and where it stands: ``text[start:end]``."""

    kind: WordKind
    start: int
    end: int
    letter: str = ""
    """In capitals; "" for what is no letter with a number."""
    value: float = math.nan
    """NaN: the letter stands alone."""

    @property
    def name(self) -> str:
        """The command's name without needless zeros: ``G1``, ``M104``, ``G92.1``."""
        return f"{self.letter}{self.value:.1f}".removesuffix(".0")


def split_line(text: str) -> tuple[Word, ...]:
    """Split a line into words, comments and what could not be read, in order.

    Parameters
    ----------
    text
        One line without its line end.
    """
    start = len(text) - len(text.lstrip(" \t"))
    if start == len(text):
        return ()
    found: list[Word] = []
    end = len(text)
    numbered = _LINE_NUMBER.match(text, start)
    if numbered:
        found.append(Word("line number", start, _tail(text, numbered.end()), "N", _value(numbered[1])))
        checksum = _CHECKSUM.search(text, numbered.end())
        if checksum:
            end = checksum.start()
        start = numbered.end()
        while start < end and text[start] in " \t":
            start += 1
    if start < end:
        found += _line(text, start, end)
    if end < len(text):
        found.append(Word("checksum", end, len(text.rstrip())))
    return tuple(found)


def _line(text: str, start: int, end: int) -> list[Word]:
    """Split what stands behind the line number."""
    first = text[start]
    if first == ";":
        return [Word("comment", start, end)]
    if first == "%":
        return [Word("tape", start, end)]
    semicolon = text.find(";", start, end)
    code_end = semicolon if semicolon >= 0 else end
    comment = [Word("comment", semicolon, end)] if semicolon >= 0 else []
    if _NAME.match(text, start, end):
        return [Word(_name_kind(text[start:code_end]), start, _tail(text, code_end)), *comment]
    if first not in "(*" and not (first.isascii() and first.isalpha()) and first > " ":
        return [Word("doubtful", start, _tail(text, code_end)), *comment]
    return _check_motion(_words(text, start, end))


def _name_kind(code: str) -> WordKind:
    """``NAME KEY=VALUE``, or text that lost its comment mark."""
    token = _TOKEN.match(code)
    name = token[0] if token else ""
    alone = not code[len(name) :].strip()
    command = "=" in code or "_" in name or (name == name.upper() and alone)
    return "word command" if command else "doubtful"


def _words(text: str, p: int, end: int) -> list[Word]:
    found: list[Word] = []
    compact = _COMPACT.match(text, p, end) is not None
    commands = 0
    letters: set[str] = set()
    while p < end:
        c = text[p]
        if c in " \t":
            p += 1
            continue
        if c == ";":
            found.append(Word("comment", p, end))
            break
        if c == "(":
            close = text.find(")", p, end)
            found.append(Word("comment", p, close + 1 if close >= 0 else end))
        elif c.isascii() and c.isalpha():
            prose = _PROSE.match(text, p, end) if commands else None
            if prose and set(prose[0].upper()) - set("XYZE"):
                words, *comment = _argument(text, p, end)
                return [*found, replace(words, kind="unread") if _moves(found) else words, *comment]
            word = _one(text, p, end, compact)
            if word.kind == "command" and (letters & {"M"} or (letters and word.letter == "T")):
                word = replace(word, kind="word")  # an argument: M1006 ... M60, M104 S200 T0
            found.append(word)
            letters.add(word.letter)
            commands += word.kind == "command"
            if word.letter == "M" and word.value in _MESSAGES:
                return found + _message(text, word.end, end)
        else:
            run = (_CONTROL if c < " " else _SOLID).match(text, p + 1, end)
            may_be = commands and (_ARGUMENT if _moves(found) else _ARGUMENT_OF_M).match(c)
            found.append(Word("message" if may_be else "unread", p, run.end() if run else p + 1))
        p = max(found[-1].end, p + 1)
    return found


def _is_motion(word: Word) -> bool:
    return word.kind == "command" and word.letter == "G" and word.value in _MOTIONS


def _moves(words: list[Word]) -> bool:
    """Whether words belong to a G0 to G3; behind an M word they are its arguments."""
    return any(map(_is_motion, words)) and _own(words) == len(words)


def _own(words: list[Word]) -> int:
    """Return how many words stand before the first M word."""
    return next(
        (k for k, word in enumerate(words) if word.letter == "M" and not math.isnan(word.value)), len(words)
    )


def _check_motion(words: list[Word]) -> list[Word]:
    """Tell what a line with G0 to G3 says twice, and letters that belong to no motion."""
    end = _own(words)
    motions = [word for word in words[:end] if _is_motion(word)]
    if not motions:
        return words
    foreign = _NOT_IN_MOTIONS | (_NOT_IN_STRAIGHT if motions[-1].value < 2.0 else frozenset())
    seen: set[str] = set()
    checked = []
    for word in words[:end]:
        has_letter = word.kind in ("command", "word") or (
            word.kind == "unread" and not math.isnan(word.value)
        )
        if (has_letter and word.letter in seen) or word in motions[1:]:
            word = replace(word, kind="repeated")
        elif has_letter and word.letter in foreign:
            word = replace(word, kind="misplaced")
        if has_letter and word.letter != "G":
            seen.add(word.letter)
        checked.append(word)
    return checked + words[end:]


def _one(text: str, p: int, end: int, compact: bool) -> Word:
    """Read a letter and its number."""
    letter = text[p].upper()
    number = (_SOLID_NUMBER if letter in "GMT" else _NUMBER).match(text, p + 1, end)
    if number is None:
        return Word("unread" if letter in "GM" else "word", p, p + 1, letter)
    stop = _tail(text, number.end())
    exponent = _EXPONENT.match(text, stop, end)
    unsigned = exponent is not None and exponent[0][1:].isdigit()
    if exponent and letter != "E" and (compact or unsigned or not _ends(text, exponent.end(), end)):
        exponent = None
    if exponent or (stop < end and text[stop] in ".-+"):
        solid = _SOLID.match(text, stop, end)
        stop = solid.end() if solid else stop
        return Word("unread", p, stop, letter, math.nan if exponent else _value(number[1]))
    return Word("command" if letter in "GMT" else "word", p, stop, letter, _value(number[1]))


def _ends(text: str, p: int, end: int) -> bool:
    return p >= end or text[p] <= " " or text[p] == ";"


def _argument(text: str, p: int, end: int) -> list[Word]:
    """Take the rest as an argument in words, up to a comment."""
    semicolon = text.find(";", p, end)
    stop = semicolon if semicolon >= 0 else end
    comment = [Word("comment", semicolon, end)] if semicolon >= 0 else []
    return [Word("message", p, _tail(text, stop)), *comment]


def _message(text: str, p: int, end: int) -> list[Word]:
    while p < end and text[p] in " \t":
        p += 1
    if p == end:
        return []
    return [Word("comment", p, end)] if text[p] == ";" else _argument(text, p, end)


def _tail(text: str, p: int) -> int:
    """Return the place behind the last character before `p` that is no blank."""
    return len(text[:p].rstrip(" \t"))


def _value(number: str) -> float:
    return float(re.sub(r"[ \t]", "", number))
