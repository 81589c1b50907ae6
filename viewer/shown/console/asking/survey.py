"""What `beadline survey` can be asked."""

from __future__ import annotations

import argparse


def fill_survey_parser(parser: argparse.ArgumentParser) -> None:
    """Add what `survey` alone takes."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FOLDER_OR_FILE",
        help="programs, and folders with all programs below them",
    )
    parser.add_argument("--json", action="store_true", help="one JSON object with all rows and the totals")
    parser.add_argument("--csv", metavar="OUT", help="write the rows as a CSV table; - is standard output")
    parser.add_argument(
        "--on",
        metavar="ADDRESS",
        help="let workers of a dask.distributed scheduler do it, as tcp://scheduler:8786; they need this same version",
    )
    parser.add_argument("--html", metavar="OUT", help="write a page for screen and paper with small pictures")
    parser.add_argument(
        "--jobs", metavar="N", help="how many programs are worked on at a time; all cores if left out"
    )
