"""What `beadline picture` can be asked."""

from __future__ import annotations

import argparse
from typing import Final

from viewer.shown.pictures.choices import COLOURINGS, MAPS, WIDTH_PX

OF_THE_PART: Final = ("view", "turn", "tilt", "cut", "roles", "width", "height")
"""Options that a picture of one layer has no use for; each is None where it was not given."""


def fill_picture_parser(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that say what is drawn, from where, and where to."""
    parser.add_argument("file", metavar="FILE", help="program, plain or gzip; - reads standard input")
    parser.add_argument(
        "-o", "--output", metavar="OUT", required=True, help="where to: .png the whole part, .svg a layer"
    )
    parser.add_argument(
        "--view", metavar="VIEW", choices=("corner", "front", "side", "top"),
        help="corner (usual), front, side or top",
    )  # fmt: skip
    for name, meaning in (
        ("turn", "how far the eye goes round to the right: 0 is in front, 90 on the right"),
        ("tilt", "how far it looks down: 0 from the side, 90 from above, -90 from below"),
    ):
        parser.add_argument(f"--{name}", metavar="DEGREES", type=float, help=meaning)
    parser.add_argument(
        "--cut", metavar="PLANE", help="take away what lies before x=40, y=40, or eye=0 (facing the eye, mm)"
    )
    parser.add_argument(
        "--layer", metavar="N", type=int, help="leave out what lies above this layer, and light it"
    )
    parser.add_argument("--roles", metavar="NAMES", help='show these alone, as "outline,infill"')
    colourings = tuple(name for name in COLOURINGS if name not in MAPS)
    parser.add_argument(
        "--colour-by", metavar="WHAT", choices=colourings, default="role",
        help=f"{', '.join(colourings[:-1])} or {colourings[-1]}",
    )  # fmt: skip
    parser.add_argument("--width", metavar="PIXELS", type=int, help=f"{WIDTH_PX} if none is given")
    parser.add_argument(
        "--height", metavar="PIXELS", type=int, help="three quarters of the width if none is given"
    )
    parser.add_argument("--dark", action="store_true", help="on a dark ground")
