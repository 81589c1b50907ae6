"""The parser of all commands: a mistake is answered with one sentence."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from typing import Any, Final, NoReturn

from viewer.nearest import nearest_name
from viewer.numerals import capital
from viewer.shown.console import streams

FAILED: Final = 2
"""Exit status of a mistake, or of what could not be done."""

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
        streams.say(f"{capital(message)}; see {self.prog} --help.")
        raise SystemExit(FAILED)
