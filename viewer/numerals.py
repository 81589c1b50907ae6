"""Numbers as people read them, none of which says more than is true, and how a sentence begins.

Findings and all that is shown share them.
"""

from __future__ import annotations

import math
from typing import Final

UNKNOWN: Final = "unknown"
_NARROW: Final = "\u202f"
"""Groups of three digits are set apart by a narrow blank (ISO 80000-1, 7.3.1)."""
_USUAL_DIGITS: Final = 3
_MAX_DIGITS: Final = 6


def number_text(value: float | None, digits: int = _USUAL_DIGITS) -> str:
    """Return a number with a number of significant digits, all those before the point; "0" only for exactly 0.

    >>> number_text(12.345), number_text(0.2000001), number_text(0.00001), number_text(-0.0), number_text(4567.8)
    ('12.3', '0.2', 'below 0.001', '0', '4568')
    """
    if value is None or math.isnan(value):
        return UNKNOWN
    if math.isinf(value):
        return "infinite" if value > 0 else "-infinite"
    if value == 0.0:
        return "0"
    if abs(value) < 0.0005:
        return "below 0.001" if value > 0 else "above -0.001"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    if decimals <= 0:
        return count_text(round(value))
    whole, _, rest = f"{round(value, decimals):.{decimals}f}".partition(".")
    grouped = count_text(int(whole)) if abs(value) >= 1.0 else whole
    return f"{grouped}.{rest}".rstrip("0").rstrip(".")


def count_text(count: int) -> str:
    """Return a whole number, from five digits on in groups of three."""
    return str(count) if abs(count) < 10_000 else f"{count:,}".replace(",", _NARROW)


def told_apart(value: float, other: float) -> tuple[str, str]:
    """Return two numbers that are held against each other, with a digit more, or some, where they would read alike.

    >>> told_apart(4.996, 5.0), told_apart(62.0, 40.0), told_apart(5.0, 5.0)
    (('4.996', '5'), ('62', '40'), ('5', '5'))
    """
    for digits in range(_USUAL_DIGITS, _MAX_DIGITS + 1):
        texts = number_text(value, digits), number_text(other, digits)
        if texts[0] != texts[1] or value == other:
            break
    return texts


def share_text(share: float | None) -> str:
    """Return a share as per cent; 0 and 100 only where it is exact.

    >>> share_text(0.99716), share_text(0.99999), share_text(1.0), share_text(0.00001)
    ('99.7 %', 'over 99.9 %', '100 %', 'below 0.1 %')
    """
    if share is None or math.isnan(share):
        return UNKNOWN
    if share in (0.0, 1.0):
        return f"{share * 100:.0f} %"
    if 0.0 < share < 0.001:
        return "below 0.1 %"
    if 0.999 < share < 1.0:
        return "over 99.9 %"
    return f"{f'{100.0 * share:.1f}'.removesuffix('.0')} %"


def more_or_less(ratio: float) -> str:
    """Say by how much one figure is more or less than another, from their ratio; all of it only where it is exact.

    >>> more_or_less(1.5), more_or_less(0.0003), more_or_less(0.0), more_or_less(3.2)
    ('50 % more', 'over 99.9 % less', '100 % less', '220 % more')
    """
    if ratio >= 1.0:
        return f"{number_text(100.0 * (ratio - 1.0))} % more"
    text = number_text(100.0 * (1.0 - ratio))
    return f"{'over 99.9' if text == '100' and ratio > 0.0 else text} % less"


def counted_text(count: int, word: str) -> str:
    """Return a number of things whose plural ends in s.

    >>> counted_text(1, "print"), counted_text(0, "print"), counted_text(12_000, "line")
    ('1 print', '0 prints', '12\u202f000 lines')
    """
    return f"{count_text(count)} {word}{'' if count == 1 else 's'}"


def capital(text: str) -> str:
    """Return a text with a capital first letter, as a sentence begins; the others stay as they are.

    >>> capital("the PETG is hot"), capital("")
    ('The PETG is hot', '')
    """
    return text[:1].upper() + text[1:]
