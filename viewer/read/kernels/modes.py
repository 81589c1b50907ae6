"""Modes: the words that set how the numbers of later lines are meant, and rows of `ModeColumns`."""

from __future__ import annotations

import math

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.codes import (
    G17,
    G18,
    G19,
    G20,
    G21,
    G90,
    G91,
    G92_1,
    G92_2,
    G92_3,
    M622,
    A,
    C,
    E,
    U,
    W,
    X,
    Z,
)
from viewer.read.kernels.motion import e_is_relative
from viewer.read.kernels.rows import append_move
from viewer.read.kernels.state import (
    AT_SWITCH,
    CONDITIONALS,
    DEPTH,
    E_POSITION,
    E_RELATIVE,
    E_TO_MM,
    E_WITH_G90,
    FAR_MM,
    FLOW,
    HOME_X,
    LINE,
    MM_PER_INCH,
    MODE_BY_VOLUME,
    MODE_E_RELATIVE,
    MODE_INCHES,
    MODE_PLANE,
    MODE_RELATIVE,
    MODE_SHIFTED,
    MODE_SKIPPING,
    MODES,
    N_MODES,
    N_MOVES,
    OX,
    OY,
    OZ,
    PLACE,
    PLANE,
    PX,
    PY,
    PZ,
    REAL_STACK,
    RELATIVE,
    SCALE,
    SHIFTED,
    SKIPPING,
    SPEED,
    STACK_SIZE,
    TOO_FAR,
    TOOL,
    TOOL_AREA,
    TOOL_FLOW,
    WHOLE_STACK,
    XY_PLANE,
    tally,
)
from viewer.read.kernels.word_values import has_word, value_of

_ALL_AXES = np.int64(7)
_KEPT_RELATIVE, _KEPT_E_RELATIVE, _KEPT_INCHES = np.int64(1), np.int64(2), np.int64(4)  # in WHOLE_STACK


@lean_inner_kernel
def set_mode(code, whole, real):
    """Set a mode by a G word; False when it is none."""
    if code == G17 or code == G18 or code == G19:
        whole[PLANE] = code // 10
    elif code == G20:
        real[SCALE] = MM_PER_INCH
    elif code == G21:
        real[SCALE] = 1.0
    elif code == G90 or code == G91:
        whole[RELATIVE] = 1 if code == G91 else 0
        if whole[E_WITH_G90] == 1:
            whole[E_RELATIVE] = whole[RELATIVE]
    else:
        return False
    return True


@lean_inner_kernel
def set_position(code, words, n, whole, real, moves):
    """G92: the present position is called by the given numbers; G92.1 and G92.2 forget that.

    An axis at a switch may be placed instead (see `_place_axis`); a row then shows the new position.
    """
    x, y, z = real[PX], real[PY], real[PZ]
    _set_position(code, words, n, whole, real)
    if x != real[PX] or y != real[PY] or z != real[PZ]:
        append_move(whole, real, moves, 0.0, 0.0, 0.0, PLACE)


@lean_inner_kernel
def _place_axis(axis, stated, whole, real):
    """Return whether G92 says where an axis stands that was homed to a place that is not known; put it there.

    An axis that still stands where G161, G162 or M132 left it is at the place that G92 states: what is written from
    there on is the machine's place. But no axis stands below the plate: ``G92 Z-5`` only prepares a way off the end
    stop (common practice, no source).
    """
    bit = np.int64(1) << axis
    if (
        whole[AT_SWITCH] & bit == 0
        or real[PX + axis] != real[HOME_X + axis]
        or (X + axis == Z and stated < 0.0)
    ):
        return False
    real[PX + axis] = stated
    real[OX + axis] = 0.0
    whole[SHIFTED] &= ~bit
    return True


@lean_inner_kernel
def _names_other_axes(words, n, whole, real):
    """Return whether G92 names axes that are not followed; A0 and B0 set the filament of tool 0 and 1."""
    named = False
    for i in range(n):
        letter = words.letter[i]
        if A <= letter <= C or U <= letter <= W:
            named = True
            if letter == A + whole[TOOL] and words.value[i] == 0.0:
                real[E_POSITION] = 0.0
    return named


@lean_inner_kernel
def _set_position(code, words, n, whole, real):
    """Execute a G92 and its kin, but for the row."""
    if code == G92_1 or code == G92_2:
        real[OX] = real[OY] = real[OZ] = 0.0
        whole[SHIFTED] = 0
        return
    if code == G92_3:
        return
    named = False
    for axis in range(3):
        v = value_of(words, n, X + axis)
        if not math.isnan(v):
            v *= real[SCALE]
            named = True
            if abs(v) > FAR_MM:
                tally(whole, TOO_FAR)
                continue
            if _place_axis(axis, v, whole, real):
                continue
            real[OX + axis] = real[PX + axis] - v
            whole[SHIFTED] |= np.int64(1) << axis
        elif has_word(words, n, X + axis):
            named = True
            real[OX + axis] = real[PX + axis]
            whole[SHIFTED] |= np.int64(1) << axis
    e = value_of(words, n, E)
    if not math.isnan(e):
        named = True
        real[E_POSITION] = e * real[SCALE]
    elif has_word(words, n, E):
        named = True
        real[E_POSITION] = 0.0
    if _names_other_axes(words, n, whole, real):
        named = True
    if not named:
        real[E_POSITION] = 0.0
        for axis in range(3):
            real[OX + axis] = real[PX + axis]
        whole[SHIFTED] = _ALL_AXES


@lean_inner_kernel
def use_tool(whole, real, tool):
    """Take a tool in use: its flow factor and its way of counting E hold from here."""
    whole[TOOL] = tool
    area = real[TOOL_AREA + tool]
    flow = real[TOOL_FLOW + tool]
    real[FLOW] = flow
    real[E_TO_MM] = flow / area if area > 0.0 else flow


@lean_inner_kernel
def keep_modes(whole, real):
    """M120: put the modes and F on the stack; a full one stays as it is."""
    depth = whole[DEPTH]
    if depth < STACK_SIZE:
        real[REAL_STACK + depth] = real[SPEED]
        kept = whole[RELATIVE] * _KEPT_RELATIVE + whole[E_RELATIVE] * _KEPT_E_RELATIVE
        whole[WHOLE_STACK + depth] = kept + (_KEPT_INCHES if real[SCALE] > 1.0 else 0)
        whole[DEPTH] = depth + 1


@lean_inner_kernel
def restore_modes(whole, real):
    """M121: take the modes and F from the stack."""
    if whole[DEPTH] > 0:
        depth = whole[DEPTH] - 1
        whole[DEPTH] = depth
        real[SPEED] = real[REAL_STACK + depth]
        kept = whole[WHOLE_STACK + depth]
        whole[RELATIVE] = 1 if kept & _KEPT_RELATIVE else 0
        whole[E_RELATIVE] = 1 if kept & _KEPT_E_RELATIVE else 0
        real[SCALE] = MM_PER_INCH if kept & _KEPT_INCHES else 1.0


@lean_inner_kernel
def set_condition(code, j, whole):
    """M622 ... M623: what stands between is carried out where a question was answered so; we take every answer as yes.

    So M622 J1 is carried out, and M622 J0 skipped up to its M623, with all blocks inside.
    """
    if code == M622:
        tally(whole, CONDITIONALS)
        if whole[SKIPPING] > 0 or j == 0.0:
            whole[SKIPPING] += 1
    elif whole[SKIPPING] > 0:
        whole[SKIPPING] -= 1


@lean_inner_kernel
def _modes_as_number(whole, real):
    """Return the present modes as one number, see MODE_RELATIVE and what follows it."""
    modes = (whole[SHIFTED] << MODE_SHIFTED) | ((whole[PLANE] - XY_PLANE) << MODE_PLANE)
    if whole[RELATIVE] == 1:
        modes |= MODE_RELATIVE
    if e_is_relative(whole):
        modes |= MODE_E_RELATIVE
    if real[SCALE] > 1.0:
        modes |= MODE_INCHES
    if whole[SKIPPING] > 0:
        modes |= MODE_SKIPPING
    if real[TOOL_AREA + whole[TOOL]] > 0.0:
        modes |= MODE_BY_VOLUME
    return modes


@lean_inner_kernel
def append_modes(whole, modes, now, speed):
    """Append a row: the modes as one number and F, mm/s, that hold behind the present line."""
    k = whole[N_MODES]
    modes.line[k] = whole[LINE]
    modes.move[k] = whole[N_MOVES]
    modes.modes[k] = now
    modes.speed_mm_s[k] = speed
    whole[N_MODES] = k + 1
    whole[MODES] = now


@lean_inner_kernel
def log_modes(whole, real, modes, speed_shown):
    """Append a row where the line that was executed changed a mode, or F without a move that shows it.

    Parameters
    ----------
    speed_shown
        What the rows before say of the modal speed: the speed of the last move or of the last row here, whichever
        came later.
    """
    now = _modes_as_number(whole, real)
    # a move's speed is kept as float32; G10, G11 and homing have speeds of their own
    if now == whole[MODES] and np.float32(real[SPEED]) == np.float32(speed_shown):
        return
    append_modes(whole, modes, now, real[SPEED])
