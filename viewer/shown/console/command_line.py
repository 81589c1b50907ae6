"""The command line: what can be asked, and the one place where an error becomes a sentence and a status."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Callable, Sequence
from importlib import import_module
from typing import Final, NamedTuple

import viewer
from viewer.errors import BeadlineError, Stopped
from viewer.failures import failure_told, log_to_file
from viewer.nearest import nearest_name
from viewer.shown.console import streams
from viewer.shown.console.asking import judged, looked_into
from viewer.shown.console.asking.parser import FAILED, Parser
from viewer.shown.console.asking.shared import add_cards
from viewer.shown.console.stopping import STATUS, STOPPED

OpenWindow = Callable[[str | None, str | None, str | None, str | None], int | str]
"""Path, printer, filament, workshop to an exit status, or to why there can be no window."""

_WORD: Final = re.compile(r"[A-Za-z]+")
"""What may be meant for a command; a file's name mostly has a point, a separator or a digit."""
NO_READER: Final = 141
"""128 + the number of SIGPIPE, as shells have it."""


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
        command = COMMANDS[argv[0]]
        return command.carry_out(command.parser().asked(argv[1:]))
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
    return COMMANDS["figures"].carry_out(asked)


def _window_parser() -> Parser:
    parser = Parser(
        prog="beadline", description=ABOUT, formatter_class=argparse.RawDescriptionHelpFormatter,
        usage="beadline [FILE] [--printer CARD] [--filament CARD] [--workshop CARD]",
    )  # fmt: skip
    parser.add_argument("file", nargs="?", metavar="FILE", help="program to open; - reads standard input")
    add_cards(parser)
    parser.add_argument("--version", action="version", version=f"beadline {viewer.__version__}")
    return parser


class Command(NamedTuple):
    """A command: what it can be asked, and what carries it out, imported when it is asked for."""

    parser: Callable[[], Parser]
    module: str
    function: str

    def carry_out(self, asked: argparse.Namespace) -> int:
        """Do it, and return the exit status."""
        module = import_module(f"viewer.shown.console.{self.module}")
        status: int = getattr(module, self.function)(asked)
        return status


COMMANDS: Final = {
    "figures": Command(judged.figures_parser, "figures_command", "figures"),
    "vet": Command(judged.vet_parser, "vet_command", "vet"),
    "fits": Command(judged.fits_parser, "fits_command", "fits"),
    "why": Command(looked_into.why_parser, "why_command", "why"),
    "compare": Command(looked_into.compare_parser, "compare_command", "compare"),
    "explain": Command(looked_into.explain_parser, "explain_command", "explain"),
    "cards": Command(looked_into.cards_parser, "cards_command", "cards"),
    "sheet": Command(judged.sheet_parser, "sheet_command", "sheet"),
    "lesson": Command(judged.lesson_parser, "sheet_command", "lesson"),
    "picture": Command(judged.picture_parser, "picture_command", "picture"),
    "log": Command(looked_into.log_parser, "log_command", "log"),
    "survey": Command(judged.survey_parser, "survey_command", "survey"),
    "stopwatch": Command(looked_into.stopwatch_parser, "stopwatch_command", "stopwatch"),
}
