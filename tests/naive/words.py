"""One line of text -> its words, after the rules of RS-274 (NISTIR 6556, section 3.3) and real files.

Decisions where the design text leaves a choice:

* Blanks may stand inside numbers, but not behind a digit of a command's number: ``M73 5`` is M73 and a stray 5.
* Comments are replaced by blanks of the same length; an unclosed ``(`` runs to the end of the line.
* ``X1E-5``: a number of X Y Z E I J K R with a signed whole ``E`` glued to it (or an E number with any glued
  ``E``) is an exponent. The whole word is left out and counted; the rest of the line is carried out.
* A number that does not parse (``X1.2.3``, ``X--5``, ``X10-5``) is left out and counted, as is a number of
  1e9 and more.
* Other signs between the words of a G line are counted as bad words, one a run. M117 and M118 keep no words.
* A zero byte is neither blank nor part of a number: it ends a number and is otherwise skipped.
* A checksum is the last ``*`` and digits outside comments. A message line (M117, M118) has one only with N.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

LARGEST = 1e9
MESSAGE = re.compile(r"[Mm][ \t]*11[78](?![0-9.])")
COMMENT = re.compile(r"\([^)]*\)?|;.*", re.DOTALL)
NUMBERED = re.compile(r"[ \t]*[Nn][ \t]*([0-9]+)")
CHECKSUM = re.compile(r"\*[ \t]*([0-9]+)[ \t]*$")
EXPONENT = re.compile(
    r"[XYZEIJKRxyzeijkr][ \t]*[-+]?[0-9.]+[Ee][-+][0-9]+(?![0-9.])"
    r"|[Ee][ \t]*[-+]?[0-9.]+[Ee][0-9]+(?![0-9.])"
)
COMMAND = re.compile(r"[GMTgmt][ \t]*[-+]?[0-9]")
NUMBER = re.compile(r"[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)")
WORD = re.compile(
    r"(?P<command>[GMTgmt])[ \t]*(?P<number>[-+]?[ \t]*(?:\.[ \t]*)?[0-9][-+0-9.]*)?"
    r"|(?P<letter>[A-Za-z])[ \t]*(?P<value>[-+0-9.][-+0-9. \t]*)?"
)
ONLY_WORDS = re.compile(r"([A-Za-z][ \t]*[-+0-9.][-+0-9. \t]*)+")
MACRO = re.compile(r"[A-Za-z_][A-Za-z0-9_]+([ \t]+[A-Za-z_][A-Za-z0-9_]*=.*)?[ \t]*", re.DOTALL)
CODE_LIKE_NAME = re.compile(r"[GMTgmt][0-9]+[A-Za-z0-9]*_")


@dataclass(frozen=True, slots=True)
class Word:
    letter: str  # upper case
    value: float | None  # None: a letter without a value


@dataclass(slots=True)
class Line:
    number: int  # from 1
    kind: str = "empty"  # empty, percent, deleted, command, axes, macro, text
    words: list[Word] = field(default_factory=list)
    n: int | None = None
    checksum_ok: bool | None = None  # None: there is none
    exponents: int = 0
    bad_words: int = 0

    def first(self, letter: str) -> float | None:
        """Return the value of a letter; the first of a doubled letter wins."""
        return next((w.value for w in self.words if w.letter == letter), None)


def split_lines(data: bytes) -> list[bytes]:
    """Split at LF, CRLF and CR; an unterminated last line counts, an empty rest does not."""
    pieces = re.split(rb"\r\n|\r|\n", data.removeprefix(b"\xef\xbb\xbf"))
    return pieces[:-1] if pieces[-1] == b"" else pieces


def words_of(body: str, line: Line) -> list[Word]:
    """Cut a line's text into words; what does not parse is counted in `line`."""
    body, found = EXPONENT.subn(lambda m: " " * len(m.group()), body)
    line.exponents += found
    words: list[Word] = []
    if body[:1] in ("G", "g"):
        line.bad_words += len(WORD.sub(" ", body).split())
    for match in WORD.finditer(body):
        letter = (match["command"] or match["letter"]).upper()
        digits = re.sub(r"[ \t]", "", match["number"] or match["value"] or "")
        if digits == "":
            words.append(Word(letter, None))
        elif NUMBER.fullmatch(digits) and abs(float(digits)) < LARGEST:
            words.append(Word(letter, float(digits)))
        else:
            line.bad_words += 1
    return words


def checksum_holds(text: str, star: int, stated: str) -> bool:
    """Exclusive or of the bytes before the star (common practice, no source)."""
    total = 0
    for char in text[:star].lstrip(" \t"):
        total ^= ord(char)
    return int(stated[:9]) == total


def classify(body: str) -> str:
    """Say what a line without comments, N and checksum is."""
    if body.strip(" \t") == "":
        return "empty"
    if COMMAND.match(body) and not CODE_LIKE_NAME.match(body):
        return "command"
    if ONLY_WORDS.fullmatch(body):
        letters = set(re.findall(r"[A-Z]", body.upper()))
        return "command" if letters & set("GM") else "axes" if letters & set("XYZE") else "text"
    return "macro" if MACRO.fullmatch(body) else "text"


def parse_line(raw: bytes, number: int) -> Line:
    """Return one line with its words; nothing is carried out here."""
    text = raw.decode("latin-1")
    line = Line(number)
    body = COMMENT.sub(lambda m: " " * len(m.group()), text)
    if body.lstrip(" \t")[:1] in ("%", "/"):
        line.kind = "percent" if body.lstrip(" \t")[0] == "%" else "deleted"
        return line
    numbered = NUMBERED.match(body)
    start = numbered.end() if numbered else 0
    start += len(body[start:]) - len(body[start:].lstrip(" \t"))
    line.n = int(numbered.group(1)[:15]) if numbered else None
    star = CHECKSUM.search(body, start)
    line.kind = classify(body[start : star.start() if star else None])
    if star and (line.n is not None or (line.kind == "command" and not MESSAGE.match(body, start))):
        line.checksum_ok = checksum_holds(text, star.start(), star.group(1))
    if message := MESSAGE.match(body, start):
        line.words = words_of(message.group(), line)
    elif line.kind in ("command", "axes"):
        line.words = words_of(body[start : star.start() if star else None], line)
    return line
