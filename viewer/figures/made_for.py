"""What a program says it was made for, as far as its settings agree."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar, cast

from viewer.read.comments.statements import Statement, Value

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Stated(Generic[T]):
    """A value and where it is stated."""

    value: T
    line: int
    """From 1; the first of several."""
    text: str


@dataclass(frozen=True, slots=True)
class MadeFor:
    """What the settings in a program's comments state; None: nothing, or not the same everywhere."""

    material: Stated[str] | None = None
    """Abbreviation of the plastic (``PETG``)."""
    nozzle: Stated[float] | None = None
    """Diameter, mm."""
    filament_diameter: Stated[float] | None = None
    """mm."""
    layer_height: Stated[float] | None = None
    """mm."""
    first_layer_height: Stated[float] | None = None
    """mm."""
    nozzle_temperature: Stated[float] | None = None
    """degC."""
    first_layer_nozzle_temperature: Stated[float] | None = None
    """degC."""
    plate_temperature: Stated[float] | None = None
    """degC."""
    first_layer_plate_temperature: Stated[float] | None = None
    """degC."""
    plate: Stated[tuple[float, float]] | None = None
    """Width and depth, mm."""
    printer: Stated[str] | None = None
    """As written: a text to be quoted, whose meaning is not looked at."""

    @property
    def filament_diameter_mm(self) -> float | None:
        """The filament's diameter as stated, mm."""
        return None if self.filament_diameter is None else self.filament_diameter.value


def made_for(statements: Sequence[Statement], tools: Collection[int]) -> MadeFor:
    """Collect what statements agree on.

    A list with one value a tool counts by the tool that lays filament; if several do, its values must be equal. So must
    the values of all statements of a quantity.

    Parameters
    ----------
    tools
        Those that draw filament.
    """
    return MadeFor(
        material=cast("Stated[str] | None", _agreed(statements, tools, "material")),
        nozzle=_number(statements, tools, "nozzle_mm"),
        filament_diameter=_number(statements, tools, "filament_diameter_mm"),
        layer_height=_number(statements, tools, "layer_height_mm"),
        first_layer_height=_number(statements, tools, "first_layer_height_mm"),
        nozzle_temperature=_number(statements, tools, "nozzle_c"),
        first_layer_nozzle_temperature=_number(statements, tools, "first_layer_nozzle_c"),
        plate_temperature=_number(statements, tools, "plate_c"),
        first_layer_plate_temperature=_number(statements, tools, "first_layer_plate_c"),
        plate=_plate(statements, tools),
        printer=cast("Stated[str] | None", _agreed(statements, tools, "printer")),
    )


def _number(statements: Sequence[Statement], tools: Collection[int], quantity: str) -> Stated[float] | None:
    return cast("Stated[float] | None", _agreed(statements, tools, quantity))


def _agreed(statements: Sequence[Statement], tools: Collection[int], quantity: str) -> Stated[Value] | None:
    """Return the one value of a quantity that all of its statements have."""
    own = [one for one in statements if one.quantity == quantity]
    values = {value for one in own for value in _of_tools(one.values, tools)}
    return Stated(values.pop(), own[0].line, own[0].text) if len(values) == 1 else None


def _of_tools(values: tuple[Value, ...], tools: Collection[int]) -> tuple[Value, ...]:
    """Return those of a list that are of tools which lay filament; all where the list does not reach them."""
    own = tuple(values[tool] for tool in tools if tool < len(values))
    return own if len(values) > 1 and len(own) == len(tools) > 0 else values


def _plate(statements: Sequence[Statement], tools: Collection[int]) -> Stated[tuple[float, float]] | None:
    """Return the plate's size: in one statement, or its width and depth in two."""
    whole = _agreed(statements, tools, "plate_mm")
    if whole is not None:
        return cast("Stated[tuple[float, float]]", whole)
    width, depth = _number(statements, tools, "plate_x_mm"), _number(statements, tools, "plate_y_mm")
    if width is None or depth is None:
        return None
    return Stated((width.value, depth.value), width.line, f"{width.text}; {depth.text}")
