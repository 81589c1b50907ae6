"""Commands: the words of one line, executed."""

from __future__ import annotations

import math

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.codes import (
    G0,
    G1,
    G2,
    G3,
    G5,
    G6_9,
    G10,
    G11,
    G33,
    G38_2,
    G38_5,
    G53,
    G73,
    G76,
    G81,
    G89,
    G92,
    G92_3,
    G380,
    M6,
    M82,
    M83,
    M101,
    M102,
    M103,
    M120,
    M121,
    M135,
    M200,
    M207,
    M208,
    M221,
    M622,
    M623,
    D,
    E,
    F,
    G,
    J,
    L,
    M,
    P,
    S,
    T,
    X,
    Z,
)
from viewer.read.kernels.modes import (
    keep_modes,
    restore_modes,
    set_condition,
    set_mode,
    set_position,
    use_tool,
)
from viewer.read.kernels.motion import NO_HOMING, draw_back, home, homing_of, move_line
from viewer.read.kernels.state import (
    BACK_MM,
    BACK_SPEED,
    BARE_LINES,
    BARE_OK,
    COMMANDS_BEYOND,
    DOUBTFUL,
    E_RELATIVE,
    FORTH_MM,
    FORTH_SPEED,
    LINE,
    MOTION,
    N_EVENTS,
    N_MOVES,
    N_WORDS,
    NO_MOTION,
    S_PER_MIN,
    SCALE,
    SKIPPING,
    STRAIGHTENED,
    SWITCHED_ON,
    TABLE,
    TOOL,
    TOOL_AREA,
    TOOL_FLOW,
    TOOLS,
    tally,
)
from viewer.read.kernels.word_values import has_word, value_of

_BEYOND = np.int64(-1)
_STRAIGHT = np.int64(1)  # modal motion of G1
_NOT_TOOLS = TOOLS * 10  # codes of T from here on: T255 and T1000 are requests to the machine, no tools


@lean_inner_kernel
def execute(words, n, whole, real, moves, events, counts):
    """Execute the words of one line: modes, then other commands, then the motion (NISTIR 6556, 3.8)."""
    commands, has_axes, machine = _set_modes(words, n, whole, real)
    motion = NO_MOTION
    acted = False  # a command came that takes the line's words
    taken = False  # the line's axis words belong to another command than a motion
    for i in range(n):
        letter = np.int64(words.letter[i])
        is_tool = letter == T and i == 0 and commands == 0
        if not (letter == G or letter == M or is_tool):
            continue
        if is_tool and not words.value[0] >= 0.0:
            return
        code = _count(letter, words.value[i], whole, counts)
        if letter == M and (code == M622 or code == M623):
            set_condition(code, value_of(words, n, J), whole)
        if whole[SKIPPING] > 0 or code == _BEYOND:
            if letter != M:
                continue
            acted = True
            break
        if is_tool and code >= _NOT_TOOLS:
            return
        logged = code != M82 and code != M83
        if letter == G:
            of_code, logged = _prepare_g(code, words, n, whole, real)
            if of_code >= 0:
                motion = of_code
        if logged:
            _append_event(letter, code, words, n, whole, events)
        homing = homing_of(letter, code, words, n)
        if is_tool:
            use_tool(whole, real, code // 10)
            return
        if letter == M:
            _execute_m(code, words, n, whole, real)
            acted = True
            if homing != NO_HOMING:
                home(homing, words, n, whole, real, moves)
                taken = True
            break  # what stands behind an M word are its arguments: M1006 ... M60 ...
        if homing != NO_HOMING:
            home(homing, words, n, whole, real, moves)
            acted = taken = True
        elif G92 <= code <= G92_3:
            set_position(code, words, n, whole, real, moves)
            acted = taken = True
        elif (code == G10 or code == G11) and not logged:
            draw_back(code, whole, real, moves)
            acted = True
        elif logged:
            acted = True
    if whole[SKIPPING] > 0:
        return
    if motion < 0 and has_axes and not acted:  # axis words without a command that takes them
        tally(whole, BARE_LINES)
        if whole[BARE_OK] == 1:
            motion = whole[MOTION]
    elif commands == 0 and not has_axes:
        tally(whole, DOUBTFUL)
    if motion >= 0 and not taken:
        move_line(motion, machine, words, n, whole, real, moves)


@lean_inner_kernel
def _set_modes(words, n, whole, real):
    """Set the modes that G words name, before anything moves.

    Returns (commands up to the first M word, whether axis words stand there, whether G53 does).
    """
    commands = 0
    has_axes = False
    machine = False
    for i in range(n):
        letter = np.int64(words.letter[i])
        if letter == M:
            commands += 1
            break
        if letter == G:
            commands += 1
            if whole[SKIPPING] == 0:
                code = _code(words.value[i])
                set_mode(code, whole, real)
                machine = machine or code == G53
        elif X <= letter <= Z or letter == E:
            has_axes = True
    return commands, has_axes, machine


@lean_inner_kernel
def _code(number):
    return np.int64(round(number * 10.0))


@lean_inner_kernel
def _count(letter, number, whole, counts):
    """Count a command in its table and return its code, _BEYOND when it is beyond the table."""
    code = _code(number)
    if code < 0 or code >= TABLE:
        tally(whole, COMMANDS_BEYOND)
        return _BEYOND
    which = 0 if letter == G else 1 if letter == M else 2
    counts.met[which, code] += 1
    if counts.first_line[which, code] == 0:
        counts.first_line[which, code] = whole[LINE]
    return code


@lean_inner_kernel
def _append_event(letter, code, words, n, whole, events):
    """Append one event with all words of its line but the command itself."""
    k = whole[N_EVENTS]
    w = whole[N_WORDS]
    events.letter[k] = letter
    events.code[k] = code
    events.line[k] = whole[LINE]
    events.move[k] = whole[N_MOVES]
    events.first_word[k] = w
    itself = False
    for i in range(n):
        if not itself and words.letter[i] == letter and round(words.value[i] * 10.0) == code:
            itself = True
            continue
        events.word_letter[w] = words.letter[i]
        events.word_value[w] = words.value[i]
        w += 1
    whole[N_EVENTS] = k + 1
    whole[N_WORDS] = w
    events.first_word[k + 1] = w


@lean_inner_kernel
def _prepare_g(code, words, n, whole, real):
    """Return (motion that a G word asks for, NO_MOTION: none; whether it is an event)."""
    if code == G0 or code == G1 or code == G2 or code == G3:
        motion = code // 10
        whole[MOTION] = motion
        return motion, False
    if _goes_straight(code, words, n):
        tally(whole, STRAIGHTENED)
        return _STRAIGHT, True
    if set_mode(code, whole, real) or G92 <= code <= G92_3 or code == G53:
        return NO_MOTION, False
    if code == G10 or code == G11:  # with L or P they set offsets or temperatures
        return NO_MOTION, has_word(words, n, L) or has_word(words, n, P)
    return NO_MOTION, True


@lean_inner_kernel
def _goes_straight(code, words, n):
    """Whether a G word moves in a way that is not interpreted (curves, drilling cycles, probing)."""
    curve = G5 <= code <= G6_9 or code == G33
    cycle = code == G73 or code == G76 or G81 <= code <= G89
    probe = G38_2 <= code <= G38_5 or code == G380
    if not (curve or cycle or probe):
        return False
    for i in range(n):
        if X <= words.letter[i] <= Z and not math.isnan(words.value[i]):
            return True
    return False


@lean_inner_kernel
def _execute_m(code, words, n, whole, real):
    """Execute one M word."""
    if code == M82 or code == M83:
        whole[E_RELATIVE] = 1 if code == M83 else 0
    elif code == M101 or code == M102:
        whole[SWITCHED_ON] = 1
    elif code == M103:
        whole[SWITCHED_ON] = 0
    elif code == M120:
        keep_modes(whole, real)
    elif code == M121:
        restore_modes(whole, real)
    elif code == M207 or code == M208:
        _set_draw_back(code, words, n, real)
    elif code == M200 or code == M221 or code == M6 or code == M135:
        t = value_of(words, n, T)
        if code == M200:
            _set_filament_area(words, n, t, real)
        elif code == M221:
            _set_flow(words, n, t, real)
        elif 0.0 <= t < TOOLS:
            whole[TOOL] = np.int64(t)
        use_tool(whole, real, whole[TOOL])


@lean_inner_kernel
def _set_draw_back(code, words, n, real):
    """M207, M208: length and speed of G10 and G11."""
    s = value_of(words, n, S)
    speed = value_of(words, n, F) * real[SCALE] / S_PER_MIN
    if code == M207:
        if not math.isnan(s):
            real[BACK_MM] = abs(s) * real[SCALE]
        if speed > 0.0:
            real[BACK_SPEED] = speed
    else:
        if not math.isnan(s):
            real[FORTH_MM] = s * real[SCALE]
        if speed > 0.0:
            real[FORTH_SPEED] = speed


@lean_inner_kernel
def _set_filament_area(words, n, t, real):
    """M200 D S: E is a volume with filament of diameter D, of tool t, of all tools where it is NaN; D0 or S0 ends it."""
    s = value_of(words, n, S)
    d = value_of(words, n, D) * real[SCALE]
    for tool in range(TOOLS):
        if not (math.isnan(t) or t == tool):
            continue
        area = abs(real[TOOL_AREA + tool])  # a known diameter is kept while E is a length
        if d > 0.0:
            area = 0.25 * math.pi * d * d
        if d >= 0.0 or not math.isnan(s):
            by_volume = s > 0.0 if not math.isnan(s) else d > 0.0
            real[TOOL_AREA + tool] = area if by_volume else -area


@lean_inner_kernel
def _set_flow(words, n, t, real):
    """M221 S: flow factor in percent of tool t (or D), of all tools where neither is given."""
    s = value_of(words, n, S)
    if math.isnan(t):
        t = value_of(words, n, D)
    if s >= 0.0:
        for tool in range(TOOLS):
            if math.isnan(t) or t == tool:
                real[TOOL_FLOW + tool] = s / 100.0
