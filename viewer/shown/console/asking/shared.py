"""Options that several commands share."""

from __future__ import annotations

import argparse

from viewer.shown.console.asking.parser import Parser


def command_parser(name: str, about: str, more: str = "") -> Parser:
    """Return the parser of a command, with what it is for and what its status means."""
    return Parser(prog=f"beadline {name}", description=about, epilog=more or None)


def add_cards(parser: argparse.ArgumentParser) -> None:
    """Add the options that name cards."""
    for kind, example in (("printer", "wren"), ("filament", "petg"), ("workshop", "quayside")):
        parser.add_argument(
            f"--{kind}", metavar="CARD", help=f"{kind} card by name ({example}) or as a path of a .toml file"
        )


def add_spool(parser: argparse.ArgumentParser) -> None:
    """Add what is left on the spool, or the spool of the print log."""
    parser.add_argument(
        "--spool-left",
        metavar="GRAMS",
        help="what is left on the spool, as 250; goes before the filament card's",
    )
    parser.add_argument(
        "--spool", metavar="LABEL", help="the spool of the print log that it is to draw from, instead"
    )


def add_diameter(parser: argparse.ArgumentParser) -> None:
    """Add the filament's diameter."""
    parser.add_argument(
        "--filament-diameter",
        metavar="MM",
        help="compute with filament of this diameter, as 2.85; goes before the cards'",
    )


def add_start(parser: argparse.ArgumentParser) -> None:
    """Add when the print is to start."""
    parser.add_argument("--start", metavar="HH:MM", help="when the print is to start today, as 14:30; or now")
