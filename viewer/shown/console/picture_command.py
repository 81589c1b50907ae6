"""`beadline picture`: the whole part, or a layer, as a picture in a file; no display is needed."""

from __future__ import annotations

import argparse
from pathlib import Path

from viewer.errors import BeadlineError
from viewer.program import Program
from viewer.shown.console.asking.picture import OF_THE_PART
from viewer.shown.console.opening import Opener
from viewer.shown.console.progress import prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.pictures.choices import WIDTH_PX
from viewer.shown.pictures.layer_svg import layer_svg
from viewer.shown.pictures.part_picture import Wanted, cut_named, part_picture
from viewer.shown.pictures.png import png_bytes
from viewer.written import spare, write_whole


def picture(asked: argparse.Namespace) -> int:
    """Write the picture; return the exit status 0.

    Raises
    ------
    BeadlineError
        The program could not be read, what is asked for is not there, an option of the whole part was given for a
        layer, or the picture could not be written.
    """
    ending = Path(asked.output).suffix.lower()
    if ending not in (".png", ".svg"):
        raise BeadlineError(f"{asked.output} ends in neither .png (the whole part) nor .svg (a layer).")
    if ending == ".svg":
        _refuse_part_options(asked)
    wanted = Wanted(
        width=WIDTH_PX if asked.width is None else asked.width, height=asked.height, turn_deg=asked.turn,
        tilt_deg=asked.tilt, cut=cut_named(asked.cut), layer=asked.layer, roles=_roles(asked.roles),
        colouring=asked.colour_by, dark=asked.dark,
    )  # fmt: skip
    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()
        with opener.opened(asked.file) as (program, progress):
            if not len(program.layers):
                raise BeadlineError(f"{asked.file} lays no layer, so there is nothing to draw; take another.")
            content = _content(program, ending, asked, wanted)
            progress.clear()
        spare(asked.output, asked.file)
        write_whole(asked.output, [content])
    return 0


def _refuse_part_options(asked: argparse.Namespace) -> None:
    given = [f"--{name}" for name in OF_THE_PART if getattr(asked, name) is not None]
    if given:
        are, them = ("is", "it") if len(given) == 1 else ("are", "them")
        raise BeadlineError(
            f"{' and '.join(given)} {are} for the whole part (.png); leave {them} out for a layer."
        )


def _content(program: Program, ending: str, asked: argparse.Namespace, wanted: Wanted) -> bytes | str:
    if ending == ".svg":
        return layer_svg(program, 1 if wanted.layer is None else wanted.layer, wanted.colouring, wanted.dark)
    return png_bytes(part_picture(program, asked.view or "corner", wanted))


def _roles(text: str | None) -> tuple[str, ...]:
    return () if text is None else tuple(name.strip() for name in text.split(",") if name.strip())
