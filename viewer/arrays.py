"""Array types, and arrays that cannot be written: what every stage hands over."""

from __future__ import annotations

from typing import Any, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

F32 = npt.NDArray[np.float32]
F64 = npt.NDArray[np.float64]
I32 = npt.NDArray[np.int32]
I64 = npt.NDArray[np.int64]
U8 = npt.NDArray[np.uint8]
Bool = npt.NDArray[np.bool_]

_T = TypeVar("_T", bound=np.generic)
_Columns = TypeVar("_Columns", bound=NamedTuple)


def read_only(array: npt.NDArray[_T]) -> npt.NDArray[_T]:
    """Return a contiguous view that cannot be written; the array itself stays as it is.

    To the compiler a read-only array is another type than a writable one: kernels that are always called with
    read-only columns are compiled once.
    """
    view = np.ascontiguousarray(array).view()
    view.flags.writeable = False
    return view


def columns_of(kind: type[_Columns], source: object) -> _Columns:
    """Return the columns that a kernel asks for: read-only views of the attributes of ``source``.

    Parameters
    ----------
    kind
        A NamedTuple class of the kernel's family; each of its fields is the name of an attribute.
    source
        A table of columns: `Moves`, `Layers`, `Beads`.

    Raises
    ------
    AttributeError
        ``source`` has no such column.
    """
    return kind._make(read_only(getattr(source, name)) for name in kind._fields)


def freeze(*arrays: npt.NDArray[Any]) -> None:
    """Make arrays read-only in place, as a stage does with the columns that it hands over."""
    for array in arrays:
        array.flags.writeable = False
