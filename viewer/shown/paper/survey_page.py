"""A survey as one HTML page, for screen and paper: totals, then the programs, what needs a person first.

Everything is in the page itself, pictures too; there is no script. Each answer has a mark of its own shape, so that the
page says the same in black and white.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from html import escape
from itertools import groupby
from pathlib import Path
from typing import Final

from viewer.cards.kinds import Cards
from viewer.checks.questions import Question
from viewer.numerals import count_text, counted_text
from viewer.shown.numbers import money_text
from viewer.shown.survey.text import (
    MEANS,
    best_text,
    cautions_of,
    decisive_text,
    end_text,
    height_text,
    mass_text,
    stated_text,
    sums_lines,
    time_text,
    twins_of,
)
from viewer.survey.row import Row, Totals, totals_of

MARKS: Final = {"no": "■", "look": "▲", "not known": "?", "yes": "·"}
"""A shape for each answer."""
TONES: Final = {"not read": "none", "no": "no", "look": "look", "not known": "unknown", "yes": "yes"}
"""The style of each word."""
HEADS: Final = {question: question.value for question in Question} | {Question.WHOLE: "file whole"}
"""The seven questions and what stands over their marks."""

STYLE: Final = """
@page { size: A4 landscape; margin: 12mm 12mm 14mm; }
* { box-sizing: border-box; }
html { --ink: #1d2226; --faint: #5b6066; --rule: #d6d3c9; --no: #a8201a; --look: #8a5a00; --yes: #2b6f3c; --none: #460023;
  --unknown: #5b6066; }
body { font: 13px/1.38 "Liberation Sans", Arial, sans-serif; color: var(--ink); background: #fbfaf7; margin: 0 auto;
  padding: 28px 32px; max-width: 1240px; font-variant-numeric: tabular-nums; }
h1 { font-size: 25px; line-height: 1.2; margin: 0; font-weight: 600; letter-spacing: -0.01em; }
.under { color: var(--faint); margin: 3px 0 20px; }
.bar { display: flex; height: 14px; gap: 2px; margin-bottom: 8px; }
.bar i { display: block; min-width: 4px; background: var(--tone); }
.words { display: flex; flex-wrap: wrap; gap: 6px 34px; margin: 0 0 16px; padding: 0; list-style: none; }
.words b { font-size: 21px; font-weight: 600; color: var(--tone); margin-right: 5px; }
.words span { color: var(--faint); }
.sums { display: flex; flex-wrap: wrap; gap: 4px 34px; border: 1px solid var(--rule); border-width: 1px 0;
  padding: 8px 0; margin: 0 0 6px; }
.sums div { white-space: nowrap; }
.sums dt { display: inline; color: var(--faint); }
.sums dd { display: inline; margin: 0 0 0 5px; }
table { border-collapse: collapse; width: 100%; }
thead th { vertical-align: bottom; text-align: left; font-weight: normal; color: var(--faint); padding: 12px 10px 5px 0;
  border-bottom: 1px solid var(--ink); }
thead th.turned { padding: 12px 0 5px; width: 19px; }
thead th.turned span { writing-mode: vertical-rl; transform: rotate(180deg); white-space: nowrap; line-height: 19px; }
thead th.gap { width: 16px; padding: 0; }
th.right, td.right { text-align: right; white-space: nowrap; }
tbody { break-inside: auto; }
tr.group td { padding: 20px 0 5px; font-size: 16px; font-weight: 600; color: var(--tone);
  border-bottom: 1px solid var(--rule); break-after: avoid; }
tr.group span { font-size: 13px; font-weight: normal; color: var(--faint); margin-left: 6px; }
tr.row { break-inside: avoid; }
tr.row td { vertical-align: top; padding: 8px 10px 8px 0; border-bottom: 1px solid var(--rule); }
tr.row td.picture { width: 94px; }
tr.row td.mark { padding: 8px 0; width: 19px; text-align: center; color: var(--tone); }
td.mark.yes { color: var(--faint); }
td img { display: block; width: 84px; height: 63px; border: 1px solid var(--rule); }
.name { font-weight: 600; overflow-wrap: anywhere; }
.name span { font-weight: normal; color: var(--faint); }
.said { margin-top: 2px; max-width: 62ch; overflow-wrap: anywhere; }
small { display: block; font-size: 12px; color: var(--faint); }
.foot { color: var(--faint); margin: 22px 0 0; max-width: 110ch; }
.foot p { margin: 0 0 6px; }
.none { --tone: var(--none); } .no { --tone: var(--no); } .look { --tone: var(--look); }
.unknown { --tone: var(--unknown); } .yes { --tone: var(--yes); }
@media print {
  body { background: none; padding: 0; max-width: none; font-size: 8.5pt; }
  h1 { font-size: 17pt; } tr.group td { font-size: 11pt; } tr.group span, small { font-size: 8pt; }
  .bar i, td img { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What a survey's page says of the survey itself."""

    named: Sequence[str]
    """The files and folders that were asked about."""
    cards: Cards
    start: datetime
    """When each would be begun, for their ends."""
    code: str
    """What computed the rows (`viewer.survey.parts.code_version`)."""


def survey_page(rows: Sequence[Row], about: About) -> Iterator[str]:
    """Yield the page, piece by piece.

    Parameters
    ----------
    rows
        Sorted.
    """
    title = f"Survey of {counted_text(len(rows), 'program')}"
    head = f'<meta charset="utf-8"><title>{title}</title><style>{STYLE}</style>'
    yield f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n'
    yield f"<body><h1>{title}</h1>\n<p class=under>{_under(about)}</p>\n"
    yield from _totals(totals_of(rows))
    yield f"<table><thead><tr>{''.join(_heads())}</tr></thead>\n"
    twins = twins_of(rows)
    for word, group in groupby(rows, key=lambda row: row.word):
        yield from _group(word, list(group), about, twins)
    yield "</table>\n"
    yield from _foot(rows, about)
    yield "</body></html>\n"


def _under(about: About) -> str:
    cards = about.cards
    said = (
        ", ".join(about.named[:3]) + (" and more" if len(about.named) > 3 else ""),
        f"on {cards.printer.name} with {cards.filament.name}",
        cards.workshop.name,
        f"ends if begun on {about.start:%Y-%m-%d} at {about.start:%H:%M}",
    )
    return " &nbsp;·&nbsp; ".join(escape(one) for one in said)


def _totals(totals: Totals) -> Iterator[str]:
    there = {word: count for word, count in totals.by_word.items() if count}
    yield "<div class=bar>"
    yield from (f'<i class={TONES[word]} style="flex:{count}"></i>' for word, count in there.items())
    yield "</div>\n<ul class=words>"
    for word, count in there.items():
        yield f"<li class={TONES[word]}><b>{count_text(count)}</b>{word} <span>{MEANS[word]}</span></li>"
    yield "</ul>\n"
    if sums := list(sums_lines(totals)):
        yield "<dl class=sums>"
        yield from (f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in sums)
        yield "</dl>\n"


def _heads() -> Iterator[str]:
    yield "<th colspan=2>program</th>"
    yield from (f"<th class=turned><span>{head}</span></th>" for head in HEADS.values())
    yield "<th class=gap></th><th class=right>time, end</th><th class=right>mass, cost</th><th class=right>height</th>"
    yield "<th>made for</th><th>best printer</th>"


COLUMNS: Final = 2 + len(HEADS) + 6


def _group(word: str, rows: Sequence[Row], about: About, twins: Mapping[str, str]) -> Iterator[str]:
    tone = TONES[word]
    head = f"{count_text(len(rows))} {word}<span>{MEANS[word]}</span>"
    yield f"<tbody><tr class='group {tone}'><td colspan={COLUMNS}>{head}</td></tr>\n"
    for row in rows:
        yield f"<tr class=row><td class=picture>{_picture(row)}</td><td>{_program(row, twins.get(row.path))}</td>"
        yield "".join(_amounts(row, about))
        yield "</tr>\n"
    yield "</tbody>\n"


def _picture(row: Row) -> str:
    if row.picture is None:
        return ""
    data = b64encode(row.picture).decode("ascii")
    return f'<img alt="the part of {escape(Path(row.path).name)}" src="data:image/png;base64,{data}">'


def _program(row: Row, twin: str | None) -> str:
    path = Path(row.path)
    folder = "" if str(path.parent) == "." else f"{path.parent}/"
    name = f"<div class=name><span>{escape(folder)}</span>{escape(path.name)}</div>"
    told = (decisive_text(row), "" if twin is None else f"The same bytes as {twin}.")
    return name + "".join(f"<div class=said>{escape(said)}</div>" for said in told if said)


def _amounts(row: Row, about: About) -> Iterator[str]:
    verdict = row.verdict
    if verdict is None:
        yield f"<td colspan={COLUMNS - 2}></td>"
        return
    words = {one.question: one.word for one in verdict.answers}
    for question, head in HEADS.items():
        word = words[question]
        yield f"<td class='mark {TONES[word]}' title='{head}: {word}'>{MARKS[word]}</td>"
    cost = "" if verdict.cost is None else money_text(verdict.cost, verdict.currency)
    best = best_text(row)
    yield "<td></td>"
    yield f"<td class=right>{_two(time_text(verdict), end_text(row, about.start))}</td>"
    yield f"<td class=right>{_two(mass_text(verdict), cost)}</td><td class=right>{escape(height_text(verdict))}</td>"
    yield f"<td>{escape(stated_text(verdict))}</td><td>{escape(best)}</td>"


def _two(above: str, below: str) -> str:
    return escape(above) + (f"<small>{escape(below)}</small>" if below else "")


def _foot(rows: Sequence[Row], about: About) -> Iterator[str]:
    marks = ", ".join(f"{mark} {word}" for word, mark in MARKS.items())
    yield f"<div class=foot><p>Marks: {marks}. Best printer: of those that take it, the one with least to look at, then "
    yield "the quickest. What depends on the time of day was not checked.</p>\n"
    yield from (f"<p><b>Caution.</b> {escape(caution)}</p>\n" for caution in cautions_of(rows))
    yield f"<p>This page says what was computed and checked by {escape(about.code)}, and no more.</p></div>\n"
