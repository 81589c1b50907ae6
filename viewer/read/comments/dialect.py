"""The trade's words in comments: the tables that every spelling is read with.

Programs of many origins write the same facts in many spellings. Nothing here knows an origin; the
tables know words. A comment is folded first (:func:`fold`), so that ``OUTER-LOOP``, ``loopOuter``
and ``Outer loops`` are the same two words, and the order of words does not matter.

Which word means which role is common practice, no source.
"""

from __future__ import annotations

import re
from typing import Final

from viewer.cards.workshop import WORD_ROLES

ROLES: Final = WORD_ROLES
"""The role names, in the order of their numbers."""

NUMBER: Final = re.compile(r"(?:(?<![A-Za-z])[-+])?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
"""What counts as a number of a comment; a hyphen between a letter and a digit is no sign."""

_HUMP: Final = re.compile(r"(?<=[a-z])(?=[A-Z])")
_WORD: Final = re.compile(r"[^\W\d_]+")


def fold(text: str) -> tuple[str, ...]:
    """Return the words of a comment in lower case and singular, without numbers and signs.

    Hyphens, underscores, slashes, and a small letter before a capital one part words. A plain ``s`` at
    the end is dropped (``perimeters``), ``ss`` is kept (``thickness``).
    """
    return tuple([_singular(word.lower()) for word in _WORD.findall(_HUMP.sub(" ", text))])


def _singular(word: str) -> str:
    if len(word) > 3 and word[-1] == "s" and word[-2] not in "su":
        return word[:-1]
    return word


def word_set(words: str) -> frozenset[str]:
    """Return the words of a text, parted by blanks, as a set."""
    return frozenset(words.split())


_WALLS: Final = ("wall", "perimeter", "shell", "loop", "contour", "inset", "outline", "edge")
_OUTER: Final = ("outer", "external", "exterior", "outside", "outermost")
_INNER: Final = ("inner", "internal", "interior", "inside", "innermost")

RoleGroup = tuple[tuple[frozenset[str], str], ...]


def _group(**phrases: tuple[str, ...]) -> RoleGroup:
    """Return rows of (words, role), the longest words first; ``inner_loop`` stands for "inner loop"."""
    names = {"inner_loop": "inner loop", "hold_down": "hold-down"}
    rows = [(word_set(text), names.get(role, role)) for role, texts in phrases.items() for text in texts]
    return tuple(sorted(rows, key=lambda row: -sum(map(len, row[0]))))


ROLE_GROUPS: Final[tuple[RoleGroup, ...]] = (
    # A tower's infill is the tower's, a raft's outline the raft's: these come before the part's own.
    _group(
        purge=(
            *("tower", "pillar", "purge", "purging", "ooze", "flush", "flushing", "custom"),
            *("prime line", "priming line", "intro line"),
        )
    ),
    _group(hold_down=("skirt", "brim", "raft", "draft shield", "adhesion", "hold down")),
    _group(support=("support",)),
    # Overhanging walls are walls: the checks of beads over air must see them.
    _group(
        outline=("overhang", *(f"overhang {wall}" for wall in _WALLS)),
        bridge=("bridge", "bridging", "overhang bridge"),
    ),
    _group(
        solid=(
            *("solid", "skin", "ironing", "gap", "gap fill", "gap infill", "thin fill", "single extrusion"),
            *("top surface", "bottom surface", "top layer", "bottom layer", "top infill", "bottom infill"),
            *("top fill", "bottom fill", "top", "bottom", "roof", "floor", "ceiling", "cap", "dense infill"),
        ),
        outline=("fuzzy skin", "external single extrusion"),
    ),
    _group(
        outline=(
            *(f"{side} {wall}" for side in _OUTER for wall in _WALLS),
            *("outline", "thin wall", "thin shell", "thin perimeter", *_OUTER),
        ),
        inner_loop=(*(f"{side} {wall}" for side in _INNER for wall in _WALLS), *_INNER),
        infill=(
            *("infill", "fill", "filling", "sparse", "sparse infill"),
            *(f"{side} {fill}" for side in _INNER for fill in ("infill", "fill", "sparse", "sparse infill")),
        ),
    ),
    _group(unlabelled=("unknown", "undefined", "none", "mixed", "other")),
)
"""Words and the role they mean: the first group with a hit wins, and in it the longest phrase."""

OPEN_WALLS: Final = {
    "wall": "wall",
    "perimeter": "wall",
    "shell": "wall",
    "contour": "wall",
    "inset": "wall",
    "edge": "wall",
    "loop": "loop",
}
"""Words for a wall that do not say which side: the program's other marks decide."""

ROLE_VOCABULARY: Final = (
    frozenset(word for group in ROLE_GROUPS for phrase, _ in group for word in phrase) | frozenset(OPEN_WALLS)
) - {"unknown", "undefined", "none", "other"}

ROLE_FILLERS: Final = word_set(
    "path line extrusion extruding extrude printing print draw drawing region area section part "
    "material layer begin beginning start starting next interface base tree organic dense transition "
    "thin small stacked first second concentric rectilinear zigzag grid vase spiral monotonic hole "
    "island full of and or feature type role process polygon curve toolpath segment boundary "
    "surrounding nested ring"
)
"""Words that may stand beside role words in a mark without a key; any other word makes it a sentence."""

ROLE_KEYS: Final = frozenset(
    {
        ("type",),
        ("feature",),
        ("role",),
        ("feature", "type"),
        ("print", "feature"),
        ("extrusion", "type"),
        ("extrusion", "role"),
        ("path", "type"),
        ("line", "type"),
        ("path",),
        ("bead",),
        ("move", "type"),
        ("print", "type"),
        ("toolpath",),
    }
)
"""What stands before the colon of a role mark (``KEY:value``)."""

ROLE_PREFIXES: Final = frozenset({"feature", "type", "role", "process"})
"""What may stand before a role mark without a colon."""

LAYER_CHANGES: Final = frozenset(
    frozenset(phrase.split())
    for phrase in (
        "layer change",
        "new layer",
        "next layer",
        "after layer change",
        "layer start",
        "layer begin",
        "start of layer",
        "begin of layer",
        "beginning of layer",
        "layer",
    )
)
"""Layer marks without a number. (``before layer change`` is none: the nozzle is still in the layer below.)"""

LAYER_VOCABULARY: Final = word_set(
    "layer slice num number no nr index id of at z h height thickness mm total count current beginning "
    "begin start new next change move to position pos printing extruder"
)
"""Words that may stand beside the number of a layer mark; any other word makes it a remark."""

Z_KEYS: Final = frozenset(
    {("z",), ("z", "height"), ("z", "po"), ("z", "position"), ("current", "z"), ("print", "z")}
)
HEIGHT_KEYS: Final = frozenset(
    {
        ("height",),
        ("layer", "height"),
        ("line", "height"),
        ("bead", "height"),
        ("layer", "thickness"),
        ("thickness",),
    }
)
WIDTH_KEYS: Final = frozenset(
    {("width",), ("line", "width"), ("bead", "width"), ("extrusion", "width"), ("path", "width")}
)
OBJECT_KEYS: Final = frozenset(
    {
        ("mesh",),
        ("object",),
        ("object", "id"),
        ("object", "name"),
        ("print", "object"),
        ("printing", "object"),
    }
)
NO_OBJECT: Final = frozenset({"nonmesh", "none", "no object", "end", "stop", ""})
"""Values of an object mark that end the object."""

NOISE: Final = word_set(
    "start end begin stop finish finished done gcode code script custom block thumbnail retract "
    "retraction unretract wipe travel move home homing heat heating warm fan bed plate nozzle hotend "
    "temperature temp extruder filament message lcd display progress setting summary config "
    "configuration time date timelapse process skippable update wait turn set reset disable enable open "
    "close firmware machine printer layer prime add put save load pause coast coasting tool change "
    "command line level leveling levelling probe restart activate use bug todo note before after the is "
    "for file version print printing test shutdown park motor stepper axis position go travelling "
    "traveling moving done disable speed width height lift hop cool cooling clean cleaning object dump "
    "restore pull push this if with to"
)
"""Words of remarks about the machine: such a comment is not listed as an unread mark."""

WEAK_WORDS: Final = word_set(
    "top bottom roof floor ceiling cap custom gap mixed other tower pillar edge inset flush flushing "
    "adhesion inside outside internal external exterior interior ooze"
)
"""Words that are a role after a key (``TYPE:TOP``) but, alone on a line, too little to be one."""

OUTER_WORDS: Final = frozenset({*_OUTER, "outline"})
INNER_WORDS: Final = frozenset(_INNER)
