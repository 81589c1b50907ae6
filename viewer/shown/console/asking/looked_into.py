"""Parsers of what explains times and words, and of cards: `why`, `compare`, `explain`, `cards`, `log`, `stopwatch`."""

from __future__ import annotations

from viewer.shown.console.asking.parser import Parser
from viewer.shown.console.asking.shared import add_cards, command_parser


def why_parser() -> Parser:
    """Return the parser of `beadline why`."""
    parser = command_parser(
        "why",
        "Say why programs take so long: the time by what limits it, and what would help, each tried and planned again.",
        "Exit status: 0; 2 if a file could not be read.",
    )
    parser.add_argument(
        "files", nargs="+", metavar="FILE", help="program, plain or gzip; - reads standard input"
    )
    add_cards(parser)
    parser.add_argument(
        "--expected",
        metavar="TIME",
        help="what you were told, as 3h or 2h45m; without it what the program claims",
    )
    parser.add_argument("--took", metavar="TIME", help="how long it took, as 5h or 4h50m")
    parser.add_argument("--json", action="store_true", help="one JSON object; for several files one a line")
    return parser


def compare_parser() -> Parser:
    """Return the parser of `beadline compare`."""
    parser = command_parser(
        "compare",
        "Put two programs beside each other, or one program under two printer cards: figures, time by cause and role, "
        "layers, settings, claims. Differences are B less A.",
        "Exit status: 0; 2 if a file could not be read.",
    )
    parser.add_argument("files", nargs="+", metavar="FILE", help="A and B; or one program, with --printer-b")
    add_cards(parser)
    parser.add_argument(
        "--printer-b", metavar="CARD", help="printer card of B, for one program under two cards"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object")
    return parser


def explain_parser() -> Parser:
    """Return the parser of `beadline explain`."""
    parser = command_parser(
        "explain",
        "Explain a finding by its slug (off-plate), a word of the trade (infill), or every word of a line of a program: "
        'the line itself in quotes, or its number, as in "explain 120 --program FILE".',
    )
    parser.add_argument(
        "what", nargs="*", metavar="SLUG|WORD|LINE", help="nothing: list the findings there are"
    )
    parser.add_argument(
        "--program", metavar="FILE", help="whose line a number means; it is told what it does there"
    )
    add_cards(parser)
    return parser


def cards_parser() -> Parser:
    """Return the parser of `beadline cards`."""
    parser = command_parser("cards", "List the cards and where they lie, or write a new one.")
    actions = parser.add_subparsers(metavar="ACTION", dest="action", help="without one the cards are listed")
    new = actions.add_parser(
        "new", help="write a new card, a copy of another under a new name", prog="beadline cards new",
        description="Write a new card, a copy of another under a new name, to be edited by hand.",
    )  # fmt: skip
    new.add_argument(
        "kind",
        metavar="KIND",
        choices=("printer", "filament", "workshop"),
        help="printer, filament or workshop",
    )
    new.add_argument("name", metavar="NAME", help='such as "My Wren"')
    new.add_argument(
        "--like",
        metavar="CARD",
        help="the card to copy, by name or path; without it the one that is taken if none is named",
    )
    return parser


def log_parser() -> Parser:
    """Return the parser of `beadline log`."""
    from viewer.shown.console.asking.log import fill_log_parser

    parser = command_parser(
        "log", "What really happened: note prints, list them, and get estimates that learn from them."
    )
    fill_log_parser(parser, add_cards)
    return parser


def stopwatch_parser() -> Parser:
    """Return the parser of `beadline stopwatch`."""
    parser = command_parser(
        "stopwatch",
        "Write a short program of motion alone, to be timed by hand block by block; or say what the times tell of the "
        "machine: values for its card, each with an interval. Stay beside the machine; its manual has the last word.",
        "Exit status: 0; 2 if the card allows no test, or the times do not fit it.",
    )
    parser.add_argument(
        "--printer", metavar="CARD", help="printer card by name (wren) or as a path of a .toml file"
    )
    parser.add_argument("-o", "--output", metavar="OUT", help="write the program there; - is standard output")
    parser.add_argument(
        "--seconds", metavar="S", nargs="+", type=float, help="the times of the blocks, in order"
    )
    parser.add_argument(
        "--program",
        metavar="FILE",
        help="with --seconds: the program that was timed, to see that it is this card's",
    )
    parser.add_argument(
        "--heat", choices=("nozzle", "plate"), help="time a heater, too, in a last block; it gets hot"
    )
    parser.add_argument(
        "--hand-error", metavar="S", type=float, default=0.2, help="standard deviation of one time, s (0.2)"
    )
    parser.add_argument(
        "--keep", metavar="NAME", help="keep what differs from the card: in a new card, or in this very one"
    )
    parser.add_argument("--json", action="store_true", help="as JSON")
    return parser
