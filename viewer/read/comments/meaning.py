"""What a comment means: each distinct spelling is classified once.

The scanner folds case and digits of every comment and hands over one example of each shape; what
:func:`classify` says of it holds for all its rows. Which number of the text carries a layer's number, a
height or a width is told by its place (0: the first), so that the values of a million rows are taken from
columns. Two rules need more than one comment: :func:`stands` (a block of settings holds the very words of
marks) and `viewer.read.comments.settling.settle_roles` (which side of a wall a plain "perimeter" is).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Final, Literal

from viewer.errors import CardError
from viewer.read.comments import dialect
from viewer.read.comments.claims import claim_kind
from viewer.read.comments.dialect import NUMBER, fold, word_set
from viewer.read.comments.marks import object_mark, word_kind

Kind = Literal[
    "nothing", "setting", "picture", "layer", "role", "role behind", "width", "height", "z", "object", "object end",
    "claim", "claim heading", "claim part", "limit", "unread",
]  # fmt: skip

BLOCK_LINES: Final = 8
"""This many comment lines in a row are a header or trailer, where plain words are no marks."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """What one spelling says.

    Parameters
    ----------
    kind
        ``layer``, ``role``, ``width``, ``height``, ``z``: marks; ``role behind``: a role behind a command, of that
        line's beads; ``object``, ``object end``: see
        `marks.object_name`; ``claim``: see `claims.read_claim`; ``claim heading``, ``claim part``: a
        claim over two lines; ``limit``: see `marks.word_settings`; ``picture``, ``setting``,
        ``nothing``: to be passed over; ``unread``: looks like a mark, in words that are not known.
    role
        One of `dialect.ROLES` for the kinds ``role`` and ``role behind``.
    wall
        For walls: ``outer`` or ``inner`` where the words say so, ``wall`` or ``loop`` where they leave
        it open (`settling.settle_roles` decides).
    number_at, z_at, height_at, width_at
        Which number of the text (`dialect.NUMBER`, from 0) is the layer's number, its height above the plate
        in mm, its thickness in mm, the bead's width in mm; -1: none. One mark may carry several.
    quantity
        For claims: the quantity, or ``filament`` where the row's own unit tells which.
    explicit
        Whether the mark has a key of its own (``TYPE:``), or words that nothing else uses: it counts
        wherever it stands.
    """

    kind: Kind
    role: str = ""
    wall: str = ""
    number_at: int = -1
    z_at: int = -1
    height_at: int = -1
    width_at: int = -1
    quantity: str = ""
    explicit: bool = False


NOTHING: Final = Meaning("nothing")
SETTING: Final = Meaning("setting")
PICTURE: Final = Meaning("picture")
UNREAD: Final = Meaning("unread")
NO_WORDS: Final[Mapping[str, str]] = MappingProxyType({})

_PICTURE: Final = re.compile(
    r"[A-Za-z0-9+/]{40,}={0,2}|[A-Za-z0-9+/]{3,}==?|[A-Za-z0-9+/]*(?:SuQmCC|RK5CYII=|rkJggg==)"
)
_CODE: Final = re.compile(r"(?:[GMTNgmtn][0-9]|[A-Z]{1,2}[-+]?\.?[0-9][0-9.]*(?:\s|$))")
_SNAKE: Final = re.compile(r"([A-Za-z]\w*_\w*)\s*=")
_LISTED: Final = re.compile(r"[A-Za-z]\w*,")
_STATED: Final = re.compile(r"used|total|estimat|time|layer|needed|required|max_z", re.IGNORECASE)
_ESCAPED: Final = "\\n"
_LONGEST: Final = 200
_ADORNMENT: Final = " \t\"'`()[]{};-=*#|~_+/\\.!<>"
_KEYED: Final = re.compile(r"(?P<key>[^:=]*[^:=\s])\s*(?P<sign>[:=])\s*(?P<value>.*)", re.DOTALL)
_ONE_FIGURE: Final = re.compile(rf"{NUMBER.pattern}\s*(?:mm)?", re.IGNORECASE)
_ON_OFF: Final = re.compile(
    r"(?:true|false|yes|no|on|off|enabled|disabled)\b.*|\W*[0-9.].*", re.IGNORECASE | re.DOTALL
)
_ENCLOSING: Final = MappingProxyType({"<": ">", "'": "'", '"': '"'})
_BEAD: Final = re.compile(
    rf"(?:tool|line|bead)\s+H\s*{NUMBER.pattern}[\s,]*W\s*{NUMBER.pattern}", re.IGNORECASE
)
_LAYER_BY_THE_WAY: Final = re.compile(
    r"(?:move to )?next layer\b\W*[0-9]+\W*|layer[\s:#]*[0-9]+", re.IGNORECASE
)
_LAYERS: Final = re.compile(r"\b(?:layers|slices)\b", re.IGNORECASE)
_LABEL: Final = re.compile(r"([^\W\d_]+|/)[\s:=#(]*$")
_LOOSE_LAYER_WORDS: Final = word_set("start begin beginning new next change move to printing extruder")
PART_ROLES: Final = frozenset({"outline", "inner loop", "infill", "solid", "bridge", "support"})


def classify(text: str, own_line: bool, word_command: bool, further: Mapping[str, str] = NO_WORDS) -> Meaning:
    """Tell what one spelling means.

    Parameters
    ----------
    text
        The comment without its semicolon or parentheses, or the whole line of a word command.
    own_line
        Whether nothing but the comment stands on its line; beside a command only marks of layers and roles count.
    word_command
        Whether the text is a line ``NAME KEY=VALUE ...`` that is no comment.
    further
        The workshop card's further trade words: words of a comment to a role's name.

    Raises
    ------
    CardError
        A further word is given a role that does not exist.
    """
    text = text.strip()
    if word_command:
        kind, place = word_kind(text)
        return Meaning(
            _as_kind(kind), number_at=place, quantity="layers" if kind == "claim" else "", explicit=True
        )
    if not own_line:
        return _behind(text, further)
    return _alone(text, further)


def _behind(text: str, further: Mapping[str, str]) -> Meaning:
    """Read a comment behind a command."""
    if _LAYER_BY_THE_WAY.fullmatch(text):
        return Meaning("layer", number_at=0, explicit=True)
    meaning = _alone(text, further)
    return replace(meaning, kind="role behind") if meaning.kind == "role" else NOTHING


def _alone(text: str, further: Mapping[str, str]) -> Meaning:
    """Read a comment on a line of its own."""
    quick = _quick(text)
    if quick is not None:
        return quick
    words = fold(text)
    if not words:
        return NOTHING
    if further and "=" not in text:
        role = _further_role(frozenset(words), tuple(further.items()))
        if role:
            return Meaning("role", role=role, explicit=True)
    return _read(text, words)


def stands(meaning: Meaning, run: int) -> bool:
    """Tell whether a mark counts where it stands.

    Parameters
    ----------
    meaning
        What the comment's spelling means.
    run
        How many comment lines on end (blank lines between them allowed, no other line) it is one of.

    Notes
    -----
    In blocks of settings plain words are no marks, but real programs also hold runs of eight comments at each
    change of layer: so marks with a key of their own, claims and objects always count.
    """
    if meaning.kind in ("role", "z", "width", "height", "object", "object end", "unread"):
        return meaning.explicit or run < BLOCK_LINES
    return meaning.kind not in ("nothing", "setting", "picture")


def role_of(words: frozenset[str]) -> tuple[str, str]:
    """Return the role that words name, and the side of the wall: ``("", "")`` where they name none."""
    for group in dialect.ROLE_GROUPS:
        for phrase, role in group:
            if phrase <= words:
                return role, _side(role, words)
    for word, wall in dialect.OPEN_WALLS.items():
        if word in words:
            return "outline", wall
    return "", ""


def _side(role: str, words: frozenset[str]) -> str:
    if role == "outline" and words & dialect.OUTER_WORDS:
        return "outer"
    return "inner" if role == "inner loop" else ""


def _as_kind(kind: str) -> Kind:
    known: dict[str, Kind] = {
        "object": "object", "object end": "object end", "limit": "limit", "layer": "layer", "claim": "claim",
        "claim heading": "claim heading", "claim part": "claim part",
    }  # fmt: skip
    return known.get(kind, "nothing")


def _quick(text: str) -> Meaning | None:
    """Sort out what needs no reading of words: pictures, long settings, commands taken out of use."""
    if not text:
        return NOTHING
    if _PICTURE.fullmatch(text):
        return PICTURE
    if len(text) > _LONGEST or _ESCAPED in text or _LISTED.match(text):
        return SETTING
    snake = _SNAKE.match(text)
    if snake and not _STATED.search(snake.group(1)):
        return SETTING
    return NOTHING if _CODE.match(text) or text.startswith("</") else None


def _read(text: str, words: tuple[str, ...]) -> Meaning:
    if "object" in words or "mesh" in words:
        mark = object_mark(text)
        if mark:
            return Meaning(_as_kind(mark), explicit=True)
    if "layer" in words or "slice" in words:
        layer = _read_layer(text, words)
        if layer is not None:
            return layer
    kind, quantity = claim_kind(text)
    if kind:
        return Meaning(_as_kind(kind), quantity=quantity)
    bare = text.strip(_ADORNMENT)
    keyed = _KEYED.fullmatch(bare)
    if keyed:
        return _read_keyed(bare, keyed)
    if _BEAD.fullmatch(bare):
        return Meaning("width", height_at=0, width_at=1, explicit=True)
    enclosed = text[:1] in _ENCLOSING and text[-1:] == _ENCLOSING[text[:1]]
    return _read_plain(bare, words, enclosed=enclosed, adorned=text[:3] in ("===", "---", "***", "###"))


def _read_layer(text: str, words: tuple[str, ...]) -> Meaning | None:
    """Read a layer mark: the word "layer", a number, and nothing that says something else."""
    named = frozenset(words)
    numbers = list(NUMBER.finditer(text))
    if not numbers:
        return Meaning("layer", explicit=True) if named in dialect.LAYER_CHANGES and "=" not in text else None
    if not named <= dialect.LAYER_VOCABULARY or "%" in text:
        return None
    if len(numbers) == 1 and (named & {"count", "total", "height", "thickness"} or _LAYERS.search(text)):
        return None
    if "=" in text and named & _LOOSE_LAYER_WORDS:
        return None
    return _place_numbers(text, numbers)


def _place_numbers(text: str, numbers: Sequence[re.Match[str]]) -> Meaning:
    """Tell which number of a layer mark is what, by the word before it; a first one with a point is a z."""
    number_at = z_at = height_at = -1
    end = 0
    for place, found in enumerate(numbers):
        before = _LABEL.search(text[end : found.start()])
        label, end = before.group(1).lower() if before else "", found.end()
        if label in ("z", "at") and z_at < 0:
            z_at = place
        elif label in ("h", "thickness"):
            height_at = place
        elif place == 0 and "." in found.group():
            z_at = place
        elif place == 0:
            number_at = place
    return Meaning("layer", number_at=number_at, z_at=z_at, height_at=height_at, explicit=True)


def _read_keyed(text: str, keyed: re.Match[str]) -> Meaning:
    """Read ``KEY:value`` and ``key = value``: a role, a height, a width, or a setting."""
    key, colon, value = keyed["key"], keyed["sign"] == ":", keyed["value"].strip()
    name, words = fold(key), frozenset(fold(value))
    if _ONE_FIGURE.fullmatch(value):
        place = sum(1 for _ in NUMBER.finditer(text, 0, keyed.start("value")))
        return _read_figure(name, key.isupper(), colon, place)
    if not value or _ON_OFF.fullmatch(value):
        return SETTING
    if name in dialect.ROLE_KEYS:
        return _keyed_role(words, colon)
    said = words | frozenset(name)
    if colon and key.isupper() and said <= dialect.ROLE_VOCABULARY:  # "LOOP:OUTER", not "Infill Pattern:grid"
        return _as_role(said, explicit=False)
    if colon and _is_any_key(key, words):
        return _as_role(words, explicit=False)
    if colon and " " not in key and words and len(said) <= 5 and not said & dialect.NOISE:
        return UNREAD
    return SETTING


def _read_figure(name: tuple[str, ...], capitals: bool, colon: bool, place: int) -> Meaning:
    if name in dialect.Z_KEYS:
        return Meaning("z", z_at=place, explicit=capitals)
    if not colon or not (capitals or len(name) == 1):
        return SETTING  # "Layer height: 0.35", "layer_height = 0.2": what was asked for, not a mark
    if name in dialect.HEIGHT_KEYS:
        return Meaning("height", height_at=place, explicit=capitals)
    if name in dialect.WIDTH_KEYS:
        return Meaning("width", width_at=place, explicit=capitals)
    return SETTING


def _is_any_key(key: str, words: frozenset[str]) -> bool:
    """Whether a key, one word that says nothing of roles itself, stands before words that name a role of the part."""
    named = frozenset(fold(key))
    if " " in key or named & (dialect.ROLE_VOCABULARY | {"material"}):
        return False
    return words <= dialect.ROLE_VOCABULARY | dialect.ROLE_FILLERS and role_of(words)[0] in PART_ROLES


def _keyed_role(words: frozenset[str], colon: bool) -> Meaning:
    if colon:
        role, wall = role_of(words)
        return Meaning("role", role=role, wall=wall, explicit=True) if role else UNREAD
    known = words <= dialect.ROLE_VOCABULARY | dialect.ROLE_FILLERS
    return _as_role(words, explicit=False) if known else SETTING


def _as_role(words: frozenset[str], *, explicit: bool) -> Meaning:
    role, wall = role_of(words)
    return Meaning("role", role=role, wall=wall, explicit=explicit) if role else UNREAD


def _read_plain(text: str, words: tuple[str, ...], *, enclosed: bool, adorned: bool) -> Meaning:
    """Read words without a key: a role only where every word is known to the trade.

    In angle brackets or quotes a single word is enough that says little otherwise.
    """
    named = frozenset(words)
    prefixed = words[0] in dialect.ROLE_PREFIXES and len(words) > 1
    said = named - {words[0]} if prefixed else named
    known = said <= dialect.ROLE_VOCABULARY | dialect.ROLE_FILLERS
    counted = "%" in text or any("." in found.group() for found in NUMBER.finditer(text))
    telling = (
        prefixed
        or enclosed
        or bool(said - dialect.WEAK_WORDS - dialect.ROLE_FILLERS)
        or len(said & dialect.WEAK_WORDS) > 1
    )
    if known and telling and not counted and len(words) <= 6:
        role, wall = role_of(said)
        if role:
            return Meaning("role", role=role, wall=wall, explicit=prefixed)
    if adorned or counted or named & dialect.NOISE:
        return NOTHING
    return UNREAD if len(words) <= 4 and len(text) <= 40 else NOTHING


@lru_cache(maxsize=8)
def _prepared(further: tuple[tuple[str, str], ...]) -> tuple[tuple[frozenset[str], str], ...]:
    for words, role in further:
        if role not in dialect.ROLES:
            raise CardError(
                f"The workshop card's word {words!r} is given the role {role!r}, which does not exist: "
                f"choose one of {', '.join(dialect.ROLES)}."
            )
    rows = [(frozenset(fold(words)), role) for words, role in further]
    return tuple(sorted((row for row in rows if row[0]), key=lambda row: -sum(map(len, row[0]))))


def _further_role(words: frozenset[str], further: tuple[tuple[str, str], ...]) -> str:
    """Return the role of the longest further word that is all in the comment."""
    return next((role for phrase, role in _prepared(further) if phrase <= words), "")
