"""The command line: what can be asked, and the one place where an error becomes a sentence and a status."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Callable, Sequence
from typing import Any, Final, NoReturn

import viewer
from viewer.errors import BeadlineError, Stopped
from viewer.failures import failure_told, log_to_file
from viewer.nearest import nearest_name
from viewer.shown.console import streams
from viewer.shown.console.stopping import STATUS, STOPPED

OpenWindow = Callable[[str | None, str | None, str | None, str | None], int | str]
"""Path, printer, filament, workshop to an exit status, or to why there can be no window."""

FAILED: Final = 2
_WORD: Final = re.compile(r"[A-Za-z]+")
"""What may be meant for a command; a file's name mostly has a point, a separator or a digit."""
NO_READER: Final = 141
"""128 + the number of SIGPIPE, as shells have it."""

_MISTAKES: Final[tuple[tuple[re.Pattern[str], Callable[..., str]], ...]] = tuple(
    (re.compile(pattern, re.DOTALL), said)
    for pattern, said in (
        (
            r"the following arguments are required: (.+)",
            lambda missing: f"{missing.replace(', ', ' and ')} {'are' if ', ' in missing else 'is'} missing",
        ),
        (
            r"argument (\S+): invalid choice: (.+) \(choose from (.+)\)",
            lambda name, value, known: (
                f"{value} is no {name}; write {known.replace(chr(39), '').replace(', ', ' or ')}"
            ),
        ),
        (
            r"argument (\S+): not allowed with argument (\S+)",
            lambda one, other: f"{other} and {one} do not go together; leave one of them out",
        ),
        (
            r"argument (\S+): invalid (?:float|int) value: (.+)",
            lambda name, value: f"{value} behind {name} is no number",
        ),
        (
            r"argument (\S+): expected (?:one argument|at least one argument)",
            lambda name: f"{name} needs a value behind it",
        ),
        (
            r"argument (\S+): ignored explicit argument (.+)",
            lambda name, value: f"{name} takes no value; leave {value} out",
        ),
    )
)
"""The parser's own messages, and what is said in their place."""

ABOUT: Final = """\
Reads a 3D printer's machine-instruction file (G-code) and says what printing it means.

  beadline [FILE]                  open the window
  beadline figures FILE...         time, filament, cost, layers, first layer ... as a table, JSON or CSV
  beadline vet FILE_OR_FOLDER...   what a keeper should know before printing
  beadline survey FOLDER...        many programs at once, one row each: what needs a person first
  beadline fits FILE...            which of the printers take it, with time and cost on each
  beadline why FILE...             where the hours go, what limits them, what would help
  beadline compare A B             two programs beside each other, or one under two cards
  beadline explain SLUG|WORD|LINE  a finding, a word of the trade, or a line of a program, in plain words
  beadline cards                   printer, filament and workshop cards: list them, write a new one
  beadline sheet FILE -o OUT.html  the job sheet for paper
  beadline lesson FILE -o OUT.html a handout for those who learn with this program; --answers, --json
  beadline picture FILE -o OUT.png the whole part as a picture, or a layer as SVG
  beadline log add FILE ...        note how a print went; `beadline log` lists the prints
  beadline stopwatch -o OUT.gcode  a test of motion to be timed by hand, for the printer card

`beadline COMMAND --help` says more. A file named like a command: ./figures
"""


class Parser(argparse.ArgumentParser):
    """A parser that answers a mistake with one sentence, and takes options by their whole names alone."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(allow_abbrev=False, **settings)

    def asked(self, argv: Sequence[str]) -> argparse.Namespace:
        """Parse; what is too much gets a sentence that names the nearest option there is."""
        asked, left = self.parse_known_args(argv)
        if left:
            self.error(self._too_much(left))
        return asked

    def _too_much(self, left: list[str]) -> str:
        wrong = next((word for word in left if word.startswith("-") and len(word) > 1), None)
        if wrong is None:
            return f"there is no place for {' '.join(left)} in this command"
        option = wrong.split("=", 1)[0]
        near = nearest_name(option, self._options())
        return f"there is no option {option}" + (f", the nearest is {near}" if near else "")

    def _options(self) -> list[str]:
        """Return the options there are, those of actions too."""
        actions = [action for action in self._actions if isinstance(action, argparse._SubParsersAction)]
        below = [parser for action in actions for parser in action.choices.values()]
        return [option for parser in (self, *below) for option in parser._option_string_actions]

    def _print_message(self, message: str, file: Any = None) -> None:
        """Print help and version as all other data: argparse itself passes over a full disk."""
        if message:
            streams.emit([message])

    def error(self, message: str) -> NoReturn:
        """Say what is wrong, in our own words, and end with status 2."""
        for pattern, said in _MISTAKES:
            if found := pattern.fullmatch(message):
                message = said(*found.groups())
        streams.say(f"{message[:1].upper()}{message[1:]}; see {self.prog} --help.")
        raise SystemExit(FAILED)


def run(argv: Sequence[str], open_window: OpenWindow) -> int:
    """Do what the arguments ask for.

    Parameters
    ----------
    argv
        Arguments without the program's name.
    open_window
        Opens the window; it is handed in because the faces do not import each other.

    Returns
    -------
    int
        Exit status.
    """
    streams.prepare()
    try:
        log_to_file()
        return _dispatch(argv, open_window)
    except SystemExit as ended:  # argparse: --help, --version, a mistake
        return ended.code if isinstance(ended.code, int) else FAILED
    except (KeyboardInterrupt, Stopped):
        streams.say(STOPPED)
        return STATUS
    except BrokenPipeError:
        return NO_READER
    except BeadlineError as problem:
        streams.say(str(problem))
    except MemoryError:
        streams.say(
            "There is not enough memory for this program; close other programs or use a larger computer."
        )
    except Exception as problem:  # noqa: BLE001 - told, logged, and raised in tests
        streams.say(failure_told("done", "what was asked for", problem))
    return FAILED


def _dispatch(argv: Sequence[str], open_window: OpenWindow) -> int:
    if argv and argv[0] in COMMANDS:
        build, carry_out = COMMANDS[argv[0]]
        return carry_out(build().asked(argv[1:]))
    if argv:
        _refuse_word(argv[0])
    asked = _window_parser().asked(argv)
    status = open_window(asked.file, asked.printer, asked.filament, asked.workshop)
    if isinstance(status, int):
        return status
    return _figures_instead(asked, status)


def _refuse_word(word: str) -> None:
    """Refuse what is neither a file nor a command, but was meant for one: ``figure``, ``help``.

    Raises
    ------
    BeadlineError
        It is such a word.
    """
    if not _WORD.fullmatch(word) or os.path.lexists(word):
        return
    near = nearest_name(word, COMMANDS)
    advice = f"the command is spelt `beadline {near}`" if near else "`beadline --help` lists the commands"
    raise BeadlineError(f"There is no file {word}; {advice}.")


def _figures_instead(asked: argparse.Namespace, why: str) -> int:
    """Print the figures where there can be no window."""
    if asked.file is None:
        streams.say(f"The window cannot be opened: {why}; `beadline figures FILE` prints figures without it.")
        return FAILED
    streams.say(f"The window cannot be opened: {why}; the figures are printed instead.")
    asked.files, asked.json, asked.layers_csv, asked.start = [asked.file], False, None, None
    return _figures(asked)


def _window_parser() -> Parser:
    parser = Parser(
        prog="beadline", description=ABOUT, formatter_class=argparse.RawDescriptionHelpFormatter,
        usage="beadline [FILE] [--printer CARD] [--filament CARD] [--workshop CARD]",
    )  # fmt: skip
    parser.add_argument("file", nargs="?", metavar="FILE", help="program to open; - reads standard input")
    _add_cards(parser)
    parser.add_argument("--version", action="version", version=f"beadline {viewer.__version__}")
    return parser


def _add_cards(parser: argparse.ArgumentParser) -> None:
    for kind, example in (("printer", "wren"), ("filament", "petg"), ("workshop", "quayside")):
        parser.add_argument(
            f"--{kind}", metavar="CARD", help=f"{kind} card by name ({example}) or as a path of a .toml file"
        )


def _command_parser(name: str, about: str, more: str = "") -> Parser:
    return Parser(prog=f"beadline {name}", description=about, epilog=more or None)


def _figures_parser() -> Parser:
    parser = _command_parser(
        "figures",
        "Print the figures of programs: time, filament, cost, layers, first layer, claims.",
        "Exit status: 0; 2 if a file could not be read, a result not written, or a part of the figures not computed.",
    )
    parser.add_argument(
        "files", nargs="+", metavar="FILE", help="program, plain or gzip; - reads standard input"
    )
    _add_cards(parser)
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="one JSON object; for several files one a line")
    form.add_argument(
        "--layers-csv", metavar="OUT",
        help="write a table of the layers; - is standard output. Row 0 is what comes before layer 1, the last row "
        "what comes after the last layer, so that columns add up to the totals",
    )  # fmt: skip
    _add_start(parser)
    _add_spool(parser)
    _add_diameter(parser)
    return parser


def _vet_parser() -> Parser:
    parser = _command_parser(
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
    _add_cards(parser)
    _add_start(parser)
    _add_spool(parser)
    _add_diameter(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object; for several files one a line")
    return parser


def _fits_parser() -> Parser:
    parser = _command_parser(
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
    _add_start(parser)
    _add_diameter(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object; for several files one a line")
    return parser


def _why_parser() -> Parser:
    parser = _command_parser(
        "why",
        "Say why programs take so long: the time by what limits it, and what would help, each tried and planned again.",
        "Exit status: 0; 2 if a file could not be read.",
    )
    parser.add_argument(
        "files", nargs="+", metavar="FILE", help="program, plain or gzip; - reads standard input"
    )
    _add_cards(parser)
    parser.add_argument(
        "--expected",
        metavar="TIME",
        help="what you were told, as 3h or 2h45m; without it what the program claims",
    )
    parser.add_argument("--took", metavar="TIME", help="how long it took, as 5h or 4h50m")
    parser.add_argument("--json", action="store_true", help="one JSON object; for several files one a line")
    return parser


def _compare_parser() -> Parser:
    parser = _command_parser(
        "compare",
        "Put two programs beside each other, or one program under two printer cards: figures, time by cause and role, "
        "layers, settings, claims. Differences are B less A.",
        "Exit status: 0; 2 if a file could not be read.",
    )
    parser.add_argument("files", nargs="+", metavar="FILE", help="A and B; or one program, with --printer-b")
    _add_cards(parser)
    parser.add_argument(
        "--printer-b", metavar="CARD", help="printer card of B, for one program under two cards"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object")
    return parser


def _add_spool(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--spool-left",
        metavar="GRAMS",
        help="what is left on the spool, as 250; goes before the filament card's",
    )
    parser.add_argument(
        "--spool", metavar="LABEL", help="the spool of the print log that it is to draw from, instead"
    )


def _add_diameter(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--filament-diameter",
        metavar="MM",
        help="compute with filament of this diameter, as 2.85; goes before the cards'",
    )


def _add_start(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--start", metavar="HH:MM", help="when the print is to start today, as 14:30; or now")


def _explain_parser() -> Parser:
    parser = _command_parser(
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
    _add_cards(parser)
    return parser


def _cards_parser() -> Parser:
    parser = _command_parser("cards", "List the cards and where they lie, or write a new one.")
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


def _sheet_parser() -> Parser:
    parser = _command_parser("sheet", "Write the job sheet of a program as an HTML page for paper (A4).")
    parser.add_argument("file", metavar="FILE", help="program, plain or gzip; - reads standard input")
    parser.add_argument("-o", "--output", metavar="OUT", default="-", help="where to; - is standard output")
    _add_cards(parser)
    _add_start(parser)
    _add_spool(parser)
    _add_diameter(parser)
    return parser


def _lesson_parser() -> Parser:
    parser = _command_parser(
        "lesson", "Write a handout of some pages (A4, HTML) for those who learn with this very program."
    )
    parser.add_argument("file", metavar="FILE", help="program, plain or gzip; - reads standard input")
    parser.add_argument("-o", "--output", metavar="OUT", default="-", help="where to; - is standard output")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--answers", action="store_true", help="with the answers on a page of their own")
    form.add_argument("--json", action="store_true", help="the lesson's steps as one JSON object")
    _add_cards(parser)
    _add_diameter(parser)
    return parser


def _picture_parser() -> Parser:
    from viewer.shown.console.picture_parser import fill_picture_parser

    parser = _command_parser(
        "picture", "Draw the whole part as PNG, or a layer as SVG; no display is needed."
    )
    fill_picture_parser(parser)
    _add_cards(parser)
    _add_spool(parser)
    _add_diameter(parser)
    return parser


def _survey_parser() -> Parser:
    from viewer.shown.console.survey.parser import fill_survey_parser

    parser = _command_parser(
        "survey",
        "Say of many programs, one row each, which may be printed, where, until when, for how much, and which a "
        "person must look at first. Rows are remembered: what has not changed is not computed again. Checks of "
        "times of day are not made (`vet --start`).",
        "Exit status: 0; 2 if a file or a card could not be read; 130 if it was stopped.",
    )
    fill_survey_parser(parser)
    _add_cards(parser)
    parser.add_argument(
        "--start", metavar="HH:MM", help="when each is to start today, as 14:30; now if left out"
    )
    _add_diameter(parser)
    return parser


def _log_parser() -> Parser:
    from viewer.shown.console.log_parser import fill_log_parser

    parser = _command_parser(
        "log", "What really happened: note prints, list them, and get estimates that learn from them."
    )
    fill_log_parser(parser, _add_cards)
    return parser


def _stopwatch_parser() -> Parser:
    parser = _command_parser(
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


def _figures(asked: argparse.Namespace) -> int:
    from viewer.shown.console.figures_command import figures

    return figures(asked)


def _vet(asked: argparse.Namespace) -> int:
    from viewer.shown.console.vet_command import vet

    return vet(asked)


def _fits(asked: argparse.Namespace) -> int:
    from viewer.shown.console.fits_command import fits

    return fits(asked)


def _why(asked: argparse.Namespace) -> int:
    from viewer.shown.console.why_command import why

    return why(asked)


def _compare(asked: argparse.Namespace) -> int:
    from viewer.shown.console.compare_command import compare

    return compare(asked)


def _explain(asked: argparse.Namespace) -> int:
    from viewer.shown.console.explain_command import explain

    return explain(asked)


def _cards(asked: argparse.Namespace) -> int:
    from viewer.shown.console.cards_command import list_all, write_new

    return write_new(asked.kind, asked.name, asked.like) if asked.action else list_all()


def _sheet(asked: argparse.Namespace) -> int:
    from viewer.shown.console.sheet_command import sheet

    return sheet(asked)


def _lesson(asked: argparse.Namespace) -> int:
    from viewer.shown.console.sheet_command import lesson

    return lesson(asked)


def _picture(asked: argparse.Namespace) -> int:
    from viewer.shown.console.picture_command import picture

    return picture(asked)


def _survey(asked: argparse.Namespace) -> int:
    from viewer.shown.console.survey.command import survey

    return survey(asked)


def _log(asked: argparse.Namespace) -> int:
    from viewer.shown.console.log_command import log

    return log(asked)


def _stopwatch(asked: argparse.Namespace) -> int:
    from viewer.shown.console.stopwatch_command import stopwatch

    return stopwatch(asked)


COMMANDS: Final[dict[str, tuple[Callable[[], Parser], Callable[[argparse.Namespace], int]]]] = {
    "figures": (_figures_parser, _figures),
    "vet": (_vet_parser, _vet),
    "fits": (_fits_parser, _fits),
    "why": (_why_parser, _why),
    "compare": (_compare_parser, _compare),
    "explain": (_explain_parser, _explain),
    "cards": (_cards_parser, _cards),
    "sheet": (_sheet_parser, _sheet),
    "lesson": (_lesson_parser, _lesson),
    "picture": (_picture_parser, _picture),
    "log": (_log_parser, _log),
    "survey": (_survey_parser, _survey),
    "stopwatch": (_stopwatch_parser, _stopwatch),
}
