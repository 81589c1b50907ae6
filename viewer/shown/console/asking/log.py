"""The words of `beadline log`."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from viewer.numerals import capital

AddCards = Callable[[argparse.ArgumentParser], None]


def fill_log_parser(parser: argparse.ArgumentParser, add_cards: AddCards) -> None:
    """Add the actions of `beadline log` and their options."""
    parser.add_argument(
        "--log",
        metavar="FILE",
        help="the log's file; without it BEADLINE_PRINT_LOG, or the one in your data folder",
    )
    actions = parser.add_subparsers(metavar="ACTION", dest="action", help="without one the prints are listed")

    def action(name: str, about: str) -> argparse.ArgumentParser:
        said = f"{capital(about)}."
        return actions.add_parser(name, help=about, description=said, prog=f"beadline log {name}")

    listed = action("list", "list the prints, the latest first")
    listed.add_argument("--printer", metavar="NAME", help="only those of this printer card")
    listed.add_argument(
        "--words", metavar="TEXT", default="", help="only those that have this text somewhere"
    )
    listed.add_argument("--limit", metavar="N", type=int, default=40, help="at most so many (40)")
    listed.add_argument("--json", action="store_true", help="as JSON")

    _add_action(action("add", "note how a print went"), add_cards)

    estimate = action("estimate", "say how long a program will really take, from the prints noted so far")
    estimate.add_argument("file", metavar="FILE", help="program, plain or gzip")
    estimate.add_argument("--json", action="store_true", help="as JSON")
    add_cards(estimate)

    _spools_action(action("spools", "list the spools; note one, what one weighs, or that it is empty"))

    accuracy = action("accuracy", "say how good the estimates have been, and what the error points to")
    accuracy.add_argument("--json", action="store_true", help="as JSON")

    months = action("months", "say what each month of prints took and cost")
    months.add_argument("--json", action="store_true", help="as JSON")

    export = action("export", "write all prints as CSV")
    export.add_argument("-o", "--output", metavar="OUT", default="-", help="where to; - is standard output")
    taken = action("import", "take in prints from CSV; rows that are there already are left alone")
    taken.add_argument("file", metavar="CSV")
    copied = action("backup", "copy the log to another file, also while it is in use")
    copied.add_argument("output", metavar="OUT")
    for name, about in (
        ("delete", "delete a print for good"),
        ("forget", "delete for whom a print was, and keep the rest"),
    ):
        action(name, about).add_argument(
            "number", metavar="NUMBER", type=int, help="as `beadline log list` shows it"
        )


def _add_action(add: argparse.ArgumentParser, add_cards: AddCards) -> None:
    add.add_argument("file", metavar="FILE", help="the program that was printed, plain or gzip")
    add.add_argument("--started", metavar="TIME", required=True, help="as 9:10, or 2026-03-02 9:10")
    add.add_argument("--ended", metavar="TIME", required=True, help="as 12:55, or 2026-03-02 12:55")
    add.add_argument(
        "--outcome", choices=("done", "stopped", "failed"), default="done", help="done unless said"
    )
    add.add_argument("--layer", metavar="N", type=int, help="the layer at which it was stopped or failed")
    add.add_argument(
        "--reason", metavar="WHY", default="", help="of a print that failed, as 'came off the plate'"
    )
    add.add_argument("--words", metavar="TEXT", default="", help="more about how it ended")
    add.add_argument("--weight", metavar="GRAMS", type=float, help="of the print, as weighed")
    add.add_argument("--spool", metavar="LABEL", help="the spool it drew from")
    add.add_argument("--charge", metavar="MONEY", type=float, help="what was charged; else the computed cost")
    add.add_argument("--for", metavar="TEXT", dest="for_whom", default="", help="for whom it was")
    add.add_argument("--note", metavar="TEXT", default="")
    add_cards(add)


def _spools_action(spools: argparse.ArgumentParser) -> None:
    spools.add_argument("--add", metavar="LABEL", help="note a new spool")
    spools.add_argument("--filament", metavar="NAME", help="with --add: the filament card's name")
    spools.add_argument("--full", metavar="GRAMS", type=float, help="with --add: filament on it now")
    spools.add_argument("--tare", metavar="GRAMS", type=float, help="with --add: what the empty spool weighs")
    spools.add_argument("--weigh", metavar="LABEL", help="note what a spool weighs now")
    spools.add_argument(
        "--gross", metavar="GRAMS", type=float, help="with --weigh: spool and filament together"
    )
    spools.add_argument("--emptied", metavar="LABEL", help="note that a spool is empty now")
    spools.add_argument("--delete", metavar="LABEL", help="delete a spool; its prints stay")
    spools.add_argument("--json", action="store_true", help="as JSON")
