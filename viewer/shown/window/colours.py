"""What colours mean in the window, as plain numbers: roles, the value scale, and everything round them.

Each is a table of red, green, blue and alpha for light or dark. What stands on the plate contrasts with it
at least 3:1 (WCAG 2.2, 1.4.11), and any two roles differ by at least 12 in CIEDE2000, also as people with
protanopia, deuteranopia or tritanopia see them (`tests/window/test_colours.py` computes both).
"""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.layers.layers import ROLE_NAMES
from viewer.read.moves import U8

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
    "bridge": ("da6a87", "e97c7f"),  # rose
    "support": ("01520b", "2f7f2f"),  # green
    "hold-down": ("9a358e", "e493eb"),  # purple
    "purge": ("460023", "b4578a"),  # wine
}

_PLASMA: Final = (
    "0d088710078813078916078a19068c1b068d1d068e20068f2206902406912605912805922a05932c05942e05952f0596"
    "31059733059735049837049938049a3a049a3c049b3e049c3f049c41049d43039e44039e46039f48039f4903a04b03a1"
    "4c02a14e02a25002a25102a35302a35502a45601a45801a45901a55b01a55c01a65e01a66001a66100a76300a76400a7"
    "6600a76700a86900a86a00a86c00a86e00a86f00a87100a87201a87401a87501a87701a87801a87a02a87b02a87d03a8"
    "7e03a88004a88104a78305a78405a78606a68707a68808a68a09a58b0aa58d0ba58e0ca48f0da4910ea3920fa39410a2"
    "9511a19613a19814a099159f9a169f9c179e9d189d9e199da01a9ca11b9ba21d9aa31e9aa51f99a62098a72197a82296"
    "aa2395ab2494ac2694ad2793ae2892b02991b12a90b22b8fb32c8eb42e8db52f8cb6308bb7318ab83289ba3388bb3488"
    "bc3587bd3786be3885bf3984c03a83c13b82c23c81c33d80c43e7fc5407ec6417dc7427cc8437bc9447aca457acb4679"
    "cc4778cc4977cd4a76ce4b75cf4c74d04d73d14e72d24f71d35171d45270d5536fd5546ed6556dd7566cd8576bd9586a"
    "da5a6ada5b69db5c68dc5d67dd5e66de5f65de6164df6263e06363e16462e26561e26660e3685fe4695ee56a5de56b5d"
    "e66c5ce76e5be76f5ae87059e97158e97257ea7457eb7556eb7655ec7754ed7953ed7a52ee7b51ef7c51ef7e50f07f4f"
    "f0804ef1814df1834cf2844bf3854bf3874af48849f48948f58b47f58c46f68d45f68f44f79044f79143f79342f89441"
    "f89540f9973ff9983ef99a3efa9b3dfa9c3cfa9e3bfb9f3afba139fba238fca338fca537fca636fca835fca934fdab33"
    "fdac33fdae32fdaf31fdb130fdb22ffdb42ffdb52efeb72dfeb82cfeba2cfebb2bfebd2afebe2afec029fdc229fdc328"
    "fdc527fdc627fdc827fdca26fdcb26fccd25fcce25fcd025fcd225fbd324fbd524fbd724fad824fada24f9dc24f9dd25"
    "f8df25f8e125f7e225f7e425f6e626f6e826f5e926f5eb27f4ed27f3ee27f3f027f2f227f1f426f1f525f0f724f0f921"
)
"""256 colours of the perceptually uniform map "plasma" by N. Smith and S. van der Walt (2015, CC0)."""
_SPAN: Final = ((158, 0), (109, 255))
"""First and last of them that are used, light and dark: more is darker on light, lighter on dark; beyond, the
contrast with the plate would fall below 3:1."""
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
    "later": ("cfccc3", "3a4247"),  # beads after the moment
    "travel": ("6f757b", "8f979d"),
    "retract": ("a8201a", "f2877b"),
    "prime": ("0b6e78", "4fb8c4"),
    "selection": ("000000", "ffffff"),
    "halo": ("ffffff", "000000"),  # beside the selection, so that it stands out from any bead
}


def role_rgba(dark: bool) -> U8:
    """Give the colour of each role: (9, 4), in the order of `ROLE_NAMES`."""
    return np.array([(*rgb(_ROLES[name][dark]), 255) for name in ROLE_NAMES], np.uint8)


def scale_rgba(dark: bool) -> U8:
    """Give the colours of the value scale: (256, 4).

    Rows 0 to 254 go from the lowest value to the highest; row `UNKNOWN` (255) is for a value that is not
    known.
    """
    table = np.array([rgb(_PLASMA[k : k + 6]) for k in range(0, len(_PLASMA), 6)], np.float64)
    places = np.linspace(*_SPAN[dark], UNKNOWN)
    scale = np.full((UNKNOWN + 1, 4), 255, np.uint8)
    for k in range(3):
        scale[:UNKNOWN, k] = np.rint(np.interp(places, np.arange(len(table)), table[:, k]))
    scale[UNKNOWN, :3] = rgb(_ROLES["unlabelled"][dark])
    return scale


def ui(dark: bool) -> dict[str, Rgb]:
    """Give the colours of everything that is not a bead, by name."""
    return {name: rgb(pair[dark]) for name, pair in _UI.items()}


def rgb(text: str) -> Rgb:
    """Give red, green and blue of six hexadecimal digits."""
    return int(text[:2], 16), int(text[2:4], 16), int(text[4:6], 16)
