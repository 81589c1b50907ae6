"""The state that is carried from block to block: named places in two arrays, `whole` (int64) and `real` (float64).

Arrays with named places, not objects: kernels take nothing else that can be written to.
"""

from __future__ import annotations

import numpy as np

from viewer.jit import lean_inner_kernel

_i = np.int64

# places in `real`
PX, PY, PZ = _i(0), _i(1), _i(2)  # machine position, mm
OX, OY, OZ = _i(3), _i(4), _i(5)  # machine = written + offset (G92), mm
E_POSITION = _i(6)  # written position of the filament axis, mm (mm3 while volumetric)
SPEED = _i(7)  # mm/s
SCALE = _i(8)  # mm in a written unit: 1 or 25.4
FLOW = _i(9)  # flow factor of the current tool
E_TO_MM = _i(10)  # mm of filament in a unit of E: flow / area while volumetric
BACK_MM, BACK_SPEED = _i(11), _i(12)  # G10: length mm, speed mm/s
FORTH_MM, FORTH_SPEED = _i(13), _i(14)  # G11: further length mm, speed mm/s
HOME_X, HOME_Y, HOME_Z = _i(15), _i(16), _i(17)
DRAWN_BACK = _i(18)  # what the last G10 drew back, mm
REAL_STACK = _i(20)  # M120 keeps SPEED here: STACK_SIZE places
TOOL_FLOW = _i(32)  # flow factor of each tool: TOOLS places
TOOL_AREA = _i(96)  # filament area of each tool, mm2; E is a length where it is not above 0: TOOLS places
REAL_SIZE = _i(160)

# places in `whole`
LINE = _i(0)  # lines begun
MOTION = _i(1)  # modal motion: 0 1 2 3, NO_MOTION before the first
RELATIVE = _i(2)  # G91
E_RELATIVE = _i(3)  # M83
PLANE = _i(4)  # 17 18 19
TOOL = _i(5)
DRAWN = _i(6)  # filament is drawn back by G10
E_SEEN = _i(7)  # an E word was ever seen
SWITCHED_ON = _i(8)  # M101
DEPTH = _i(9)  # of the M120 stack
LAST_N = _i(10)  # number of the last numbered line, -1: none to compare with
BARE_OK = _i(11)  # the card lets bare axis words repeat the last motion
E_WITH_G90 = _i(12)  # the card says that G90/G91 set how E counts
SHIFTED = _i(13)  # axes whose origin G92 has put elsewhere: bits 1 X, 2 Y, 4 Z
N_MOVES, N_EVENTS, N_WORDS, N_NOTES = _i(14), _i(15), _i(16), _i(17)
WHOLE_STACK = _i(18)  # M120 keeps modes here: STACK_SIZE places
LAST_TRAILING = _i(26)  # exact hash of the last stored note if it was a trailing one, else 0
SKIPPING = _i(27)  # how deep inside a block that is not carried out
CHORDS_LEFT = _i(28)  # chords that arcs may still take before they are drawn coarsely
AT_SWITCH = _i(29)  # axes homed by G161, G162 or M132, to a place that is not known: bits 1 X, 2 Y, 4 Z
# tallies
ARCS = _i(30)
ARCS_CAPPED = _i(31)
STRAIGHTENED = _i(32)  # G5 and the like, drawn straight to the end
BARE_LINES = _i(33)
EXPONENTS = _i(34)
GARBLED = _i(35)
DOUBTFUL = _i(36)
WORD_COMMANDS = _i(37)
CHECKED = _i(38)  # lines with a checksum
CHECK_WRONG = _i(39)
N_WRONG = _i(40)  # lines whose number does not rise
ZERO_BYTES = _i(41)
NOT_TEXT = _i(42)
TOO_FAR = _i(43)  # coordinates beyond FAR_MM
LONG_LINES = _i(44)
BAD_ARCS = _i(45)
CONDITIONALS = _i(46)
COMMANDS_BEYOND = _i(47)  # command numbers beyond the tables
REPEATED = _i(48)  # lines with two motions, or with a letter twice
N_LEFT_OUT = _i(49)  # numbers that are missing between lines with checksums
TALLY_FIRST = _i(60)  # first line of each tally: TALLY_FIRST + (tally - ARCS)
N_MODES = _i(90)
MODES = _i(91)  # the modes as one number, as the last row of `ModeColumns` says; 0 before the first
WHOLE_SIZE = _i(96)

STACK_SIZE = _i(8)
TOOLS = _i(64)
NO_MOTION = _i(-1)
XY_PLANE, ZX_PLANE, YZ_PLANE = _i(17), _i(18), _i(19)  # G17 G18 G19

# the modes as one number
MODE_RELATIVE = _i(1)
MODE_E_RELATIVE = _i(2)  # by M83, or by G91 where it counts for E
MODE_INCHES = _i(4)
MODE_SKIPPING = _i(8)
MODE_BY_VOLUME = _i(16)
MODE_SHIFTED = _i(5)  # bits from here: three, as in SHIFTED
MODE_PLANE = _i(8)  # bits from here: two, plane - 17

# sizes
MAX_WORDS = _i(64)
MAX_SPANS = _i(16)  # comments of one line
MAX_CHORDS = _i(8192)
MAX_LINE = _i(65536)
TABLE = _i(100_000)
INDEX_SHIFT = _i(7)  # the offset of every 128th line is kept
FAR_MM = 100_000.0
MM_PER_INCH = 25.4
S_PER_MIN = 60.0

# kinds, as in viewer.read.moves (kernels import nothing of their own project: see viewer.jit)
TRAVEL, BEAD, WIPE, RETRACT, PRIME, PLACE = (_i(kind) for kind in range(6))
NOTHING = _i(-1)


@lean_inner_kernel
def tally(whole, which):
    """Count one oddity and keep the first line of its sort."""
    whole[which] += 1
    if whole[TALLY_FIRST + which - ARCS] == 0:
        whole[TALLY_FIRST + which - ARCS] = whole[LINE]
