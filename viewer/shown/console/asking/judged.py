"""Parsers of what says how programs are: `figures`, `vet`, `fits`, `sheet`, `lesson`, `picture`, `survey`."""

from __future__ import annotations

from viewer.shown.console.asking.parser import Parser
from viewer.shown.console.asking.shared import add_cards, add_diameter, add_spool, add_start, command_parser


def figures_parser() -> Parser:
    """Return the parser of `beadline figures`."""
    parser = command_parser(
        "figures",
        "Print the figures of programs: time, filament, cost, layers, first layer, claims.",
        "Exit status: 0; 2 if a file could not be read, a result not written, or a part of the figures not computed.",
    )
    parser.add_argument(
        "files", nargs="+", metavar="FILE", help="program, plain or gzip; - reads standard input"
    )
    add_cards(parser)
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="one JSON object; for several files one a line")
    form.add_argument(
        "--layers-csv", metavar="OUT",
        help="write a table of the layers; - is standard output. Row 0 is what comes before layer 1, the last row "
        "what comes after the last layer, so that columns add up to the totals",
    )  # fmt: skip
    add_start(parser)
    add_spool(parser)
    add_diameter(parser)
    return parser


def vet_parser() -> Parser:
    """Return the parser of `beadline vet`."""
    parser = command_parser(
        "vet",
        "Say what a keeper should know before programs are printed. What could not be checked is listed too.",
        "Exit status: 0 nothing says stop; 1 something does; 2 a file could not be read, or a check failed of itself.",
    )
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE_OR_FOLDER",
        help="program or a folder of programs; - reads standard input",
    )
    add_cards(parser)
    add_start(parser)
    add_spool(parser)
    add_diameter(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object; for several files one a line")
    return parser


def fits_parser() -> Parser:
    """Return the parser of `beadline fits`."""
    parser = command_parser(
        "fits",
        "Say which of the printers take programs, by their cards, with time and cost on each.",
        "Exit status: 0; 2 if a file or a printer card could not be read.",
    )
    parser.add_argument(
        "files", nargs="+", metavar="FILE", help="program, plain or gzip; - reads standard input"
    )
    for kind, example in (("filament", "petg"), ("workshop", "quayside")):
        parser.add_argument(
            f"--{kind}", metavar="CARD", help=f"{kind} card by name ({example}) or as a .toml file"
        )
    add_start(parser)
    add_diameter(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object; for several files one a line")
    return parser


def sheet_parser() -> Parser:
    """Return the parser of `beadline sheet`."""
    parser = command_parser("sheet", "Write the job sheet of a program as an HTML page for paper (A4).")
    parser.add_argument("file", metavar="FILE", help="program, plain or gzip; - reads standard input")
    parser.add_argument("-o", "--output", metavar="OUT", default="-", help="where to; - is standard output")
    add_cards(parser)
    add_start(parser)
    add_spool(parser)
    add_diameter(parser)
    return parser


def lesson_parser() -> Parser:
    """Return the parser of `beadline lesson`."""
    parser = command_parser(
        "lesson", "Write a handout of some pages (A4, HTML) for those who learn with this very program."
    )
    parser.add_argument("file", metavar="FILE", help="program, plain or gzip; - reads standard input")
    parser.add_argument("-o", "--output", metavar="OUT", default="-", help="where to; - is standard output")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--answers", action="store_true", help="with the answers on a page of their own")
    form.add_argument("--json", action="store_true", help="the lesson's steps as one JSON object")
    add_cards(parser)
    add_diameter(parser)
    return parser


def picture_parser() -> Parser:
    """Return the parser of `beadline picture`."""
    from viewer.shown.console.asking.picture import fill_picture_parser

    parser = command_parser("picture", "Draw the whole part as PNG, or a layer as SVG; no display is needed.")
    fill_picture_parser(parser)
    add_cards(parser)
    add_diameter(parser)
    return parser


def survey_parser() -> Parser:
    """Return the parser of `beadline survey`."""
    from viewer.shown.console.asking.survey import fill_survey_parser

    parser = command_parser(
        "survey",
        "Say of many programs, one row each, which may be printed, where, until when, for how much, and which a "
        "person must look at first. Rows are remembered: what has not changed is not computed again. Checks of "
        "times of day are not made (`vet --start`).",
        "Exit status: 0; 2 if a file or a card could not be read; 130 if it was stopped.",
    )
    fill_survey_parser(parser)
    add_cards(parser)
    parser.add_argument(
        "--start", metavar="HH:MM", help="when each is to start today, as 14:30; now if left out"
    )
    add_diameter(parser)
    return parser
