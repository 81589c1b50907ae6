"""Bytes, letters and commands by name.

All are typed (`np.int64`): numba compiles a kernel again for every plain literal it is called with. A command's code is
ten times its number, so that G92.1 is 921.
"""

from __future__ import annotations

import numpy as np

_i = np.int64

# bytes
LF, CR, TAB, BLANK = _i(10), _i(13), _i(9), _i(32)
ZERO, NINE = _i(ord("0")), _i(ord("9"))
MINUS, PLUS, POINT = _i(ord("-")), _i(ord("+")), _i(ord("."))
SEMICOLON, OPENING, CLOSING = _i(ord(";")), _i(ord("(")), _i(ord(")"))
STAR, PERCENT, EQUALS, UNDERSCORE = _i(ord("*")), _i(ord("%")), _i(ord("=")), _i(ord("_"))
COLON, BRACKET, BRACE = _i(ord(":")), _i(ord("[")), _i(ord("{"))
GREATER, QUOTE, COMMA, SLASH = _i(ord(">")), _i(ord('"')), _i(ord(",")), _i(ord("/"))
CAPITAL_A, CAPITAL_Z, SMALL_A, SMALL_Z = _i(ord("A")), _i(ord("Z")), _i(ord("a")), _i(ord("z"))
LAST_ASCII = _i(126)  # the last one that can be printed
SMALL_BIT = _i(32)  # set in small letters, clear in capitals
CAPITAL_MASK = _i(223)  # clears that bit
SMALL_E, SMALL_M, SMALL_N = _i(ord("e")), _i(ord("m")), _i(ord("n"))

# letters of words
A, B, C, U, V, W = (_i(ord(letter)) for letter in "ABCUVW")
D, E, F, G, I, J, K, L = (_i(ord(letter)) for letter in "DEFGIJKL")  # noqa: E741 - the letter is its name
M, P, R, S, T, X, Y, Z = (_i(ord(letter)) for letter in "MPRSTXYZ")

# commands
G0, G1, G2, G3 = _i(0), _i(10), _i(20), _i(30)
G5, G6_9 = _i(50), _i(69)  # curves, from .. to
G10, G11 = _i(100), _i(110)
G17, G18, G19, G20, G21 = _i(170), _i(180), _i(190), _i(200), _i(210)
G28, G33 = _i(280), _i(330)
G38_2, G38_5, G380 = _i(382), _i(385), _i(3800)  # probing
G53 = _i(530)
G73, G76, G81, G89 = _i(730), _i(760), _i(810), _i(890)  # cycles
G90, G91 = _i(900), _i(910)
G92, G92_1, G92_2, G92_3 = _i(920), _i(921), _i(922), _i(923)
G161, G162 = _i(1610), _i(1620)
M6, M82, M83 = _i(60), _i(820), _i(830)
M101, M102, M103 = _i(1010), _i(1020), _i(1030)
M120, M121 = _i(1200), _i(1210)
M132, M135 = _i(1320), _i(1350)
M200, M207, M208, M221 = _i(2000), _i(2070), _i(2080), _i(2210)
M622, M623 = _i(6220), _i(6230)
