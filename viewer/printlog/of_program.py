"""A print of a program that was computed here."""

from __future__ import annotations

from datetime import datetime

from viewer.cards.toml_text import text_of_card
from viewer.errors import BeadlineError
from viewer.numerals import counted_text
from viewer.printlog.rows import Print
from viewer.program import Program


def print_of_program(
    program: Program, started: datetime, ended: datetime, sha256: str | None = None
) -> Print:
    """Return a print of a program that was done, with its figures and cards as they are now.

    What it is charged is the computed cost; the other columns are those of a print of which no more is known.

    Parameters
    ----------
    sha256
        Of the program, where it is known, or is to be found later; None: its file is read for it.

    Raises
    ------
    ReadError
        The file is to be read, and is gone or another one by now.
    """
    figures = program.figures
    return Print(
        program=program.path.name, sha256=program.sha256 if sha256 is None else sha256, printer=program.printer.name,
        filament=program.filament.name, computed_s=figures.time.total_s, parts_s=figures.time.ledger_s,
        computed_g=figures.filament.mass_g, started=started, ended=ended, charge=figures.filament.cost,
        currency=program.workshop.currency, printer_card=text_of_card(program.printer),
        filament_card=text_of_card(program.filament),
    )  # fmt: skip


def check_layer(layer: int | None, layers: int, program: str) -> None:
    """Refuse a layer, at which a print ended, that its program does not have.

    Parameters
    ----------
    layer
        Counted from 1; None: none was said.
    layers
        Of the program.
    program
        Its name.

    Raises
    ------
    BeadlineError
        The program has fewer layers.
    """
    if layer is not None and layer > layers:
        raise BeadlineError(
            f"{program} has {counted_text(layers, 'layer')}, no layer {layer}; see which one it was."
        )
