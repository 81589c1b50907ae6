"""JSON as text; known without the engine."""

from __future__ import annotations

import json
import math
from typing import Any


def json_text(value: Any, indented: bool) -> str:
    """Return one JSON object as text with its line's end; what is no number (NaN) becomes null.

    All characters are ASCII, others escaped (RFC 8259, section 7): it is valid whatever the output's encoding.
    """
    return json.dumps(_finite(value), allow_nan=False, indent=2 if indented else None) + "\n"


def _finite(value: Any) -> Any:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    return value
