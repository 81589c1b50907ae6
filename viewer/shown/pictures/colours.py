"""What colours mean in the window, as plain numbers: roles, the value scale, and everything round them.

Each is a table of red, green, blue and alpha for light or dark. What stands on the plate contrasts with it
at least 3:1 (WCAG 2.2, 1.4.11), and any two roles differ by at least 12 in CIEDE2000, also as people with
protanopia, deuteranopia or tritanopia see them (`tests/window/test_colours.py` computes both).
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:  # the window is on screen before numpy is imported
    from viewer.arrays import U8

Rgb = tuple[int, int, int]

# Hues: the "muted" qualitative set and its grey in P. Tol, "Colour Schemes", technical note
# SRON/EPS/TN/09-002 (2021), which is made for colour-blind readers (its values are from memory). The
# assignment is ours. Pale ones are darkened for the light plate and dark ones lightened for the dark plate,
# as far as contrast and distance ask for it.
_ROLES: Final[dict[str, tuple[str, str]]] = {  # light, dark
    "unlabelled": ("484a53", "706b61"),  # grey
    "outline": ("190f68", "8465d2"),  # indigo
    "inner loop": ("3898be", "c5ecfe"),  # cyan
    "infill": ("8b8634", "e7cd6e"),  # sand
    "solid": ("2b7961", "5ac6b6"),  # teal
    "bridge": ("01520b", "2f7f2f"),  # green
    "support": ("da6a87", "e97c7f"),  # rose
    "hold-down": ("9a358e", "e493eb"),  # purple
    "purge": ("460023", "b4578a"),  # wine
}

# Our own choice; checked for contrast and distance as the roles are.
_CAUSES: Final[dict[str, tuple[str, str]]] = {  # light, dark
    "laying": ("0b6e78", "4fb8c4"),
    "held back": ("9f1f59", "cc7d91"),
    "speeding up and braking": ("a68f12", "e4cb6a"),
    "travel": ("a76551", "79a65e"),
    "retract, height": ("619298", "5676ca"),
    "waits": ("204328", "f3fae6"),
}
"""Of groups of causes of the time, in the order in which they are stacked; see `viewer.shown.cause_words`."""

_INFERNO: Final = (
    "00000401000501010601010802010a02020c02020e03021004031204031405041706041907051b08051d09061f0a0722"
    "0b07240c08260d08290e092b10092d110a30120a32140b34150b37160b39180c3c190c3e1b0c411c0c431e0c451f0c48"
    "210c4a230c4c240c4f260c51280b53290b552b0b572d0b592f0a5b310a5c320a5e340a5f3609613809623909633b0964"
    "3d09653e0966400a67420a68440a68450a69470b6a490b6a4a0c6b4c0c6b4d0d6c4f0d6c510e6c520e6d540f6d550f6d"
    "57106e59106e5a116e5c126e5d126e5f136e61136e62146e64156e65156e67166e69166e6a176e6c186e6d186e6f196e"
    "71196e721a6e741a6e751b6e771c6d781c6d7a1d6d7c1d6d7d1e6d7f1e6c801f6c82206c84206b85216b87216b88226a"
    "8a226a8c23698d23698f24699025689225689326679526679727669827669a28659b29649d29649f2a63a02a63a22b62"
    "a32c61a52c60a62d60a82e5fa92e5eab2f5ead305dae305cb0315bb1325ab3325ab43359b63458b73557b93556ba3655"
    "bc3754bd3853bf3952c03a51c13a50c33b4fc43c4ec63d4dc73e4cc83f4bca404acb4149cc4248ce4347cf4446d04545"
    "d24644d34743d44842d54a41d74b3fd84c3ed94d3dda4e3cdb503bdd513ade5238df5337e05536e15635e25734e35933"
    "e45a31e55c30e65d2fe75e2ee8602de9612bea632aeb6429eb6628ec6726ed6925ee6a24ef6c23ef6e21f06f20f1711f"
    "f1731df2741cf3761bf37819f47918f57b17f57d15f67e14f68013f78212f78410f8850ff8870ef8890cf98b0bf98c0a"
    "f98e09fa9008fa9207fa9407fb9606fb9706fb9906fb9b06fb9d07fc9f07fca108fca309fca50afca60cfca80dfcaa0f"
    "fcac11fcae12fcb014fcb216fcb418fbb61afbb81dfbba1ffbbc21fbbe23fac026fac228fac42afac62df9c72ff9c932"
    "f9cb35f8cd37f8cf3af7d13df7d340f6d543f6d746f5d949f5db4cf4dd4ff4df53f4e156f3e35af3e55df2e661f2e865"
    "f2ea69f1ec6df1ed71f1ef75f1f179f2f27df2f482f3f586f3f68af4f88ef5f992f6fa96f8fb9af9fc9dfafda1fcffa4"
)
"""256 colours of the perceptually uniform map "inferno" by N. Smith and S. van der Walt (2015, CC0)."""
_SPAN: Final = ((169, 12), (130, 255))
"""First and last of them that are used, light and dark: more is darker on light, lighter on dark. Beyond 169 (130)
the contrast with the plate would fall below 3:1; below 12 all is nearly black."""
UNKNOWN: Final = 255
"""Entry of the value scale for a value that is not known."""

_UI: Final[dict[str, tuple[str, str]]] = {  # light, dark
    "window": ("eceae4", "24292d"),
    "panel": ("f7f6f2", "1f2427"),
    "plate": ("fbfaf7", "1b1f22"),
    "beyond": ("dcd9cf", "30373c"),  # hatching off the plate
    "edge": ("6d6a62", "8d949a"),  # the plate's outline
    "grid": ("e0ded6", "2c3236"),
    "text": ("1d2226", "e9e7e1"),
    "faint": ("5b6066", "a3a9ae"),
    "accent": ("0b6e78", "4fb8c4"),
    "on accent": ("ffffff", "0d1a1c"),
    "good": ("2b6f3c", "73c088"),
    "warn": ("8a5a00", "e6b04a"),
    "stop": ("a8201a", "f2877b"),
    "shadow": ("d6d3c9", "343b40"),  # the layer below
    "later": ("b7b3a8", "525c63"),  # beads after the moment
    "travel": ("6f757b", "8f979d"),
    "retract": ("a8201a", "f2877b"),
    "prime": ("0b6e78", "4fb8c4"),
    "selection": ("000000", "ffffff"),
    "halo": ("ffffff", "000000"),  # beside the selection, so that it stands out from any bead
}


def role_rgba(dark: bool) -> U8:
    """Return the colour of each role: (9, 4), in the order of `ROLE_NAMES`."""
    import numpy as np

    from viewer.layers.layers import ROLE_NAMES

    return np.array([(*rgb(_ROLES[name][dark]), 255) for name in ROLE_NAMES], np.uint8)


@cache
def cause_rgb(dark: bool) -> dict[str, Rgb]:
    """Return the colour of each group of causes of the time, by its name."""
    return {name: rgb(pair[dark]) for name, pair in _CAUSES.items()}


def scale_rgba(dark: bool) -> U8:
    """Return the colours of the value scale: (256, 4).

    Rows 0 to 254 go from the lowest value to the highest; row `UNKNOWN` (255) is for a value that is not
    known.
    """
    import numpy as np

    table = np.array([rgb(_INFERNO[k : k + 6]) for k in range(0, len(_INFERNO), 6)], np.float64)
    places = np.linspace(*_SPAN[dark], UNKNOWN)
    scale = np.full((UNKNOWN + 1, 4), 255, np.uint8)
    for k in range(3):
        scale[:UNKNOWN, k] = np.rint(np.interp(places, np.arange(len(table)), table[:, k]))
    scale[UNKNOWN, :3] = rgb(_ROLES["unlabelled"][dark])
    return scale


def ui(dark: bool) -> dict[str, Rgb]:
    """Return the colours of everything that is not a bead, by name."""
    return {name: rgb(pair[dark]) for name, pair in _UI.items()}


def rgb(text: str) -> Rgb:
    """Return red, green and blue of six hexadecimal digits."""
    return int(text[:2], 16), int(text[2:4], 16), int(text[4:6], 16)
