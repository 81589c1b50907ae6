"""The one kernel decorator; the only file that imports numba.

A kernel, its helper kernels and its constants live in one folder named ``kernels``. Numba's cache looks only at the
file of the outermost kernel, so an edited helper in another file would leave old machine code in use; the cache here
looks at all files of the folder (see `viewer.kernel_files`).
"""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from viewer.kernel_files import family_hash

_F = TypeVar("_F", bound=Callable[..., Any])


def compiler_is_off() -> bool:
    """Whether kernels run as plain Python (``NUMBA_DISABLE_JIT=1``), as the slow test run does."""
    return os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")


if TYPE_CHECKING:

    def kernel(function: _F) -> _F:
        """Compile ``function`` to machine code on first use."""

    def inner_kernel(function: _F) -> _F:
        """Compile ``function`` into the kernels that call it."""

    def lean_kernel(function: _F) -> _F:
        """Compile ``function``, which makes no arrays, without counting references."""

    def lean_inner_kernel(function: _F) -> _F:
        """Compile ``function``, which makes no arrays, into the lean kernels that call it."""

    def byte_at(buffer: Any, at: int) -> Any:
        """Return buffer[at] (uint8) without looking whether `at` counts from the end."""

else:
    import numba
    from numba.core.caching import FunctionCache
    from numba.core.runtime import rtsys

    hash_once = lru_cache(maxsize=None)(family_hash)

    class KernelCache(FunctionCache):
        """Numba's cache on disk, which loads machine code without getting the compiler ready first.

        Numba imports all that it may compile, and scipy's linear algebra with it, before it looks into its cache: half a
        second at every start. It does so again on its own where something is not cached and has to be compiled.
        What machine code itself needs of the runtime is set up here. The index is stamped with the hash of the
        kernel's whole family.
        """

        def __init__(self, function):
            super().__init__(function)
            self._cache_file._source_stamp = hash_once(Path(function.__code__.co_filename).resolve().parent)

        def load_overload(self, sig, target_context):
            """Return the machine code for a signature; None where it is not cached."""
            rtsys.initialize(target_context)
            with self._guard_against_spurious_io_errors():
                return self._load_overload(sig, target_context)

    def _cached(function, **options):
        """Compile ``function`` on first use, cached on disk, running without the interpreter lock."""
        compiled = numba.njit(nogil=True, error_model="numpy", **options)(function)
        if not compiler_is_off():
            compiled._cache = KernelCache(function)
        return compiled

    def _inner(function, **options):
        """Compile ``function`` without wrappers for Python and C, and without a place of its own in the cache."""
        return numba.njit(
            nogil=True, error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True, **options
        )(function)

    def kernel(function):
        """Compile ``function`` on first use, cached on disk, running without the interpreter lock.

        ``error_model="numpy"`` makes a division by zero give inf or nan, as arrays do, instead of a
        branch for every division. Without ``nogil`` a worker thread would stop the window.
        """
        return _cached(function)

    def inner_kernel(function):
        """Compile ``function`` into the kernels of its family that call it; Python cannot call it.

        Without wrappers for Python and C and without a place of its own in the cache, which nobody would use, a
        helper compiles in half the time.
        """
        return _inner(function)

    def lean_kernel(function):
        """Compile ``function`` as `kernel` does, but without counting references to arrays.

        For families that make no arrays: what they are handed stays alive as long as the call, because the caller
        holds it. Numba would count a reference, atomically, whenever an array is taken out of a tuple or handed to a
        helper that is not inlined: in the scanner some dozen times a line. All helpers of the family are lean, too.
        A kernel that makes an array is refused by the compiler.
        """
        return _cached(function, _nrt=False)

    def lean_inner_kernel(function):
        """Compile ``function`` into the lean kernels of its family that call it; Python cannot call it."""
        return _inner(function, _nrt=False)

    if compiler_is_off():

        def byte_at(buffer, at):
            """Return buffer[at]; plain Python."""
            return buffer[at]

    else:
        from numba.extending import intrinsic

        @intrinsic
        def byte_at(typing_context, buffer, at):
            """Return buffer[at]: a load, without the two instructions for indices below zero."""

            def generate(context, builder, signature, arguments):
                array = context.make_array(signature.args[0])(context, builder, arguments[0])
                return builder.load(builder.gep(array.data, [arguments[1]]))

            return numba.types.uint8(buffer, at), generate
