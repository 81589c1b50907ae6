"""`beadline`: the window, or a command of the console (`python -m viewer` is the same)."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence

COLLECT_AT = 50_000
"""New containers after which Python looks for cycles. Its usual 700 to 2,000 cost a twentieth of the start: modules make
containers by the hundred thousand and none of them is garbage."""
LIBRARIES = "libegl1 libgl1 libxkbcommon0 libdbus-1-3 fontconfig"
"""Debian's packages of what the window needs from the system."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program.

    Parameters
    ----------
    argv
        Arguments without the program's name; None: those of the process.

    Returns
    -------
    int
        Exit status: 0, 1 (`vet`: something says stop), 2 (could not be done), 130 (Ctrl-C).
    """
    gc.set_threshold(COLLECT_AT)
    from viewer.shown.console.command_line import run

    return run(sys.argv[1:] if argv is None else list(argv), open_window)


def open_window(
    path: str | None, printer: str | None, filament: str | None, workshop: str | None
) -> int | str:
    """Open the window and give its exit status, or say why it cannot be opened (the end of a sentence)."""
    if sys.platform.startswith("linux") and (why := _no_display()):
        return why
    try:
        import PySide6.QtWidgets  # noqa: F401 - whether it can be loaded is the question
    except ModuleNotFoundError:
        return "PySide6 is not installed; install Beadline again"
    except ImportError as problem:
        library = str(problem).partition(":")[0]
        return f"the system library {library} is missing; on Debian: apt install {LIBRARIES}"
    try:
        from viewer.shown.window.app import run as run_window
    except ModuleNotFoundError as problem:
        return f"{problem.name} is not installed; install Beadline again"
    return run_window(path, printer, filament, workshop)


def _no_display() -> str:
    """Say why no window can appear, "" if it can: Qt ends the process if it meets one of these itself."""
    chosen = os.environ.get("QT_QPA_PLATFORM", "")
    if chosen and not chosen.startswith(("xcb", "wayland")):
        return ""
    if os.environ.get("WAYLAND_DISPLAY") and not chosen.startswith("xcb"):
        return ""
    if not os.environ.get("DISPLAY"):
        return "there is no display (neither DISPLAY nor WAYLAND_DISPLAY is set)"
    return _no_x_server()


def _no_x_server() -> str:
    """Ask the X server that DISPLAY names whether it is there, with its own client library."""
    import ctypes

    try:
        ctypes.CDLL("libxcb-cursor.so.0")  # Qt's documentation, "Qt for X11 Requirements": needed since 6.5
        xcb = ctypes.CDLL("libxcb.so.1")
    except OSError as problem:
        library = str(problem).partition(":")[0]
        return f"the system library {library} is missing; on Debian: apt install {LIBRARIES} libxcb-cursor0"
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connect.argtypes = [ctypes.c_char_p, ctypes.c_void_p]
    xcb.xcb_connection_has_error.argtypes = xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(None, None)
    failed = bool(xcb.xcb_connection_has_error(connection))
    xcb.xcb_disconnect(connection)
    return f"the display {os.environ['DISPLAY']} does not answer" if failed else ""


if __name__ == "__main__":
    sys.exit(main())
