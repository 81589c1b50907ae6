"""The `Settings` table: what changes rarely, one row a distinct combination, and an index for every move."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.read.moves import F64, I32

FIELDS = (
    "tool",  # number of the tool, 0 where none was chosen
    "speed_factor",  # M220, 1 = 100 %
    "accel_print_mm_s2",  # M204 P or S; NaN: not stated
    "accel_travel_mm_s2",  # M204 T, or S
    "accel_retract_mm_s2",  # M204 R
    
    "top_x_mm_s", "top_y_mm_s", "top_z_mm_s", "top_e_mm_s",  # M203 (mm/s) and the like
    "accel_x_mm_s2", "accel_y_mm_s2", "accel_z_mm_s2", "accel_e_mm_s2",  # M201
    "jump_x_mm_s", "jump_y_mm_s", "jump_z_mm_s", "jump_e_mm_s",  # M205 X Y Z E, M566 (instant speed change)
    "deviation_mm",  # M205 J (junction deviation)
    "corner_mm_s",  # corner speed at a right angle (word commands)
    "least_segment_s",  # M205 B (smallest segment time)
    "top_path_mm_s",  # speed limit along the path from a word command
    "fan",  # M106, 0 .. 1 (part-cooling fan, P0 or none)
    "nozzle_c",  # target of the current tool, NaN: never set
    "plate_c",  # target of the plate, NaN: never set
    "object",  # number of the object mark, -1: none
)


@dataclass(frozen=True, slots=True, eq=False)
class Settings:
    """Rows are distinct combinations of `FIELDS`; NaN means that the program never stated it.

    The limits are what the *program* states; whether the machine obeys them is the printer card's word.
    """

    table: F64  # (rows, len(FIELDS))
    of_move: I32  # (moves,) row of `table` that holds during the move
    object_names: tuple[str, ...]  # name of object number i

    def column(self, field: str) -> F64:
        """Give one field for every row of `table`: (rows,)."""
        return self.table[:, FIELDS.index(field)]
