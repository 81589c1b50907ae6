"""`beadline log`: what really happened, and what follows from it."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from dataclasses import asdict, replace
from datetime import datetime
from pathlib import Path
from typing import Final

from viewer.cards import load_workshop
from viewer.cards.kinds import DEFAULTS
from viewer.errors import BeadlineError
from viewer.numerals import counted_text
from viewer.printlog.accuracy import accuracy, outcomes, proposals
from viewer.printlog.comparable import learnt
from viewer.printlog.csv_rows import csv_of
from viewer.printlog.estimate import LEAST_PRINTS
from viewer.printlog.months import months_of
from viewer.printlog.of_program import check_layer, print_of_program
from viewer.printlog.rows import Outcome, Print, Spool, SpoolState, Weighing
from viewer.printlog.store import PrintLog, log_path
from viewer.printlog.taking_in import take_in
from viewer.program import Program
from viewer.shown.console.opening import Opener
from viewer.shown.console.progress import prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit, say
from viewer.shown.json_text import json_text
from viewer.shown.log_text import (
    accuracy_text,
    drift_text,
    estimate_text,
    month_text,
    outcome_count_text,
    outcome_text,
    print_object,
    proposal_text,
    spool_object,
    taken_in_text,
)
from viewer.shown.log_times import times_of
from viewer.shown.numbers import duration_text
from viewer.shown.spool import left_text
from viewer.written import write_whole

EMPTY: Final = "No print is noted yet; note one with `beadline log add FILE --started 9:10 --ended 12:55`.\n"


def log(asked: argparse.Namespace) -> int:
    """Do what `beadline log` was asked for; return the exit status.

    Raises
    ------
    BeadlineError
        The log, a card, the program or a time is not as it should be.
    """
    with PrintLog(
        asked.log
        or log_path(load_workshop(getattr(asked, "workshop", None) or DEFAULTS["workshop"]).print_log)
    ) as prints:
        _ACTIONS[asked.action or "list"](prints, asked)
    return 0


def _list(log: PrintLog, asked: argparse.Namespace) -> None:
    found = log.prints(
        printer=getattr(asked, "printer", None),
        words=getattr(asked, "words", ""),
        limit=getattr(asked, "limit", 40),
    )
    if getattr(asked, "json", False):
        emit([json_text([print_object(one) for one in found], indented=True)])
        return
    emit(list(_listing(found, log.count())) or [EMPTY])


def _listing(found: list[Print], total: int) -> Iterator[str]:
    for one in found:
        computed = duration_text(one.computed_s) if one.computed_s else "not computed"
        yield f"{one.number:>5}  {one.started:%Y-%m-%d %H:%M}  {one.program}{' (invented)' if one.invented else ''}\n"
        yield (
            f"       on {one.printer} with {one.filament}: {duration_text(one.real_s)}, computed {computed}; "
            f"{outcome_text(one)}\n"
        )
    if 0 < len(found) < total:
        yield f"{len(found)} of {counted_text(total, 'print')}; --limit shows more.\n"


def _add(log: PrintLog, asked: argparse.Namespace) -> None:
    now = datetime.now()

    def noted(program: Program) -> None:
        check_layer(asked.layer, len(program.layers), program.path.name)
        started, ended = times_of(asked.started, asked.ended, now, program.figures.time.total_s)
        computed = print_of_program(program, started, ended)
        one = replace(
            computed, outcome=Outcome(asked.outcome), layer=asked.layer, reason=asked.reason, words=asked.words,
            weight_g=asked.weight, spool=asked.spool, for_whom=asked.for_whom, note=asked.note,
            charge=computed.charge if asked.charge is None else asked.charge,
        )  # fmt: skip
        log.add([one])
        emit([
            f"Noted: {one.program} on {one.printer}, {duration_text(one.real_s)} (computed "
            f"{duration_text(one.computed_s)}), {outcome_text(one)}.\n"
        ])  # fmt: skip

    _with_program(asked, noted)


def _estimate(log: PrintLog, asked: argparse.Namespace) -> None:
    def told(program: Program) -> None:
        time, printer = program.figures.time, program.printer.name
        found = learnt(log, program)
        estimate = found.estimate
        if asked.json:
            plain = None if estimate is None else asdict(estimate)
            said = {"computed_s": time.total_s, "corrected": plain, "other_card": found.other_card}
            emit([json_text(said, indented=True)])
        elif estimate is None:
            more = (
                f" ({found.other_card} more do not count: its card gave other times then)"
                if found.other_card
                else ""
            )
            emit([
                f"Computed: {duration_text(time.total_s)}. The log has {counted_text(found.prints, 'print')} on "
                f"{printer}{more}; a "
                f"corrected estimate needs {LEAST_PRINTS} that were done.\n"
            ])  # fmt: skip
        else:
            emit([
                f"Computed: {duration_text(time.total_s)}; corrected: {duration_text(estimate.seconds)}, "
                f"{estimate_text(estimate)}.\n"
            ])  # fmt: skip

    _with_program(asked, told)


def _with_program(asked: argparse.Namespace, work: Callable[[Program], None]) -> None:
    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()
        with opener.opened(asked.file) as (program, progress):
            _ = program.figures
            progress.clear()
            work(program)


def _spools(log: PrintLog, asked: argparse.Namespace) -> None:
    if asked.add is not None:
        if asked.full is None or not 0.0 < asked.full <= 50_000.0 or asked.filament is None:
            raise BeadlineError(
                "A new spool needs its filament and what is on it: --filament PLA --full 1000 (grams)."
            )
        log.add_spool(
            Spool(
                label=asked.add,
                filament=asked.filament,
                full_g=asked.full,
                tare_g=asked.tare,
                begun=datetime.now(),
            )
        )
    if asked.weigh is not None:
        if asked.gross is None:
            raise BeadlineError("Give what spool and filament weigh together: --gross 640 (grams).")
        log.weigh(Weighing(asked.weigh, datetime.now(), asked.gross))
    if asked.emptied is not None:
        log.end_spool(asked.emptied, datetime.now())
    if asked.delete is not None:
        log.delete_spool(asked.delete)
    states = log.spools()
    if asked.json:
        emit([json_text([spool_object(state) for state in states], indented=True)])
    else:
        emit(
            [_spool_line(state) for state in states]
            or ["No spool is noted yet; `beadline log spools --add LABEL` does.\n"]
        )


def _spool_line(state: SpoolState) -> str:
    drift = "" if state.drift is None else f"; {drift_text(state.drift)}"
    left = f"{left_text(state.left_g)} left" if state.spool.emptied is None else "empty"
    return f"{state.spool.label}: {state.spool.filament}, {left}{drift}\n"


def _accuracy(log: PrintLog, asked: argparse.Namespace) -> None:
    history = log.history()
    found, proposed, counts = accuracy(history), proposals(history), outcomes(history)
    if asked.json:
        emit([
            json_text({
                "accuracy": [{**asdict(one), "helps": one.helps} for one in found],
                "proposals": {printer: asdict(one) for printer, one in proposed.items()},
                "outcomes": [asdict(one) for one in counts],
            }, indented=True)
        ])  # fmt: skip
        return
    lines = [accuracy_text(one) for one in found]
    lines += [proposal_text(printer, one) for printer, one in proposed.items()]
    lines += [outcome_count_text(one) for one in counts]
    if counts and not found:
        lines.append(
            f"How good the estimates are shows with more than {LEAST_PRINTS} prints done on one printer."
        )
    emit([f"{line}\n" for line in lines] or [EMPTY])


def _months(log: PrintLog, asked: argparse.Namespace) -> None:
    found = months_of(log.entries())
    if asked.json:
        emit([json_text([asdict(one) | {"charges": dict(one.charges)} for one in found], indented=True)])
    else:
        emit([f"{month_text(one)}\n" for one in found] or [EMPTY])


def _export(log: PrintLog, asked: argparse.Namespace) -> None:
    lines = csv_of(reversed(log.prints()))
    if asked.output == "-":
        emit(list(lines))
    else:
        write_whole(asked.output, lines)


def _import(log: PrintLog, asked: argparse.Namespace) -> None:
    taken = take_in(log, asked.file)
    emit([f"{taken_in_text(taken.new, taken.prints)}\n"])
    if taken.unknown_spools:
        say(f"Spools that this log does not have were left out: {', '.join(taken.unknown_spools)}.")


def _backup(log: PrintLog, asked: argparse.Namespace) -> None:
    if Path(asked.output).exists():
        raise BeadlineError(
            f"{asked.output} is there already; name a file that is not, so that no backup is lost."
        )
    log.back_up(asked.output)
    emit([f"{asked.output}\n"])


def _delete(log: PrintLog, asked: argparse.Namespace) -> None:
    log.delete(asked.number)
    emit([f"Print {asked.number} is deleted.\n"])


def _forget(log: PrintLog, asked: argparse.Namespace) -> None:
    log.forget_person(asked.number)
    emit([f"For whom print {asked.number} was is deleted.\n"])


_ACTIONS: Final[dict[str, Callable[[PrintLog, argparse.Namespace], None]]] = {
    "list": _list,
    "add": _add,
    "estimate": _estimate,
    "spools": _spools,
    "accuracy": _accuracy,
    "months": _months,
    "export": _export,
    "import": _import,
    "backup": _backup,
    "delete": _delete,
    "forget": _forget,
}
