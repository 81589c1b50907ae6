"""The imports of the package as a graph: no circle, also where an import is for type checkers only."""

from __future__ import annotations

from pathlib import Path

import grimp

WINDOW = "viewer.shown.window"
MOST_MODULES = 20
"""Of one folder, `__init__` not counted."""


def circles(edges: dict[str, set[str]]) -> list[list[str]]:
    """Return the strongly connected components of more than one module (Tarjan 1972)."""
    number: dict[str, int] = {}
    low: dict[str, int] = {}
    path: list[str] = []
    found: list[list[str]] = []

    def visit(module: str) -> None:
        number[module] = low[module] = len(number)
        path.append(module)
        for other in sorted(edges[module]):
            if other not in number:
                visit(other)
                low[module] = min(low[module], low[other])
            elif other in path:
                low[module] = min(low[module], number[other])
        if low[module] == number[module]:
            at = path.index(module)
            if len(path) - at > 1:
                found.append(sorted(path[at:]))
            del path[at:]

    for module in sorted(edges):
        if module not in number:
            visit(module)
    return found


def test_the_search_finds_circles() -> None:
    edges = {"a": {"b"}, "b": {"c"}, "c": {"b", "d"}, "d": set(), "e": {"a", "f"}, "f": {"e"}}
    assert circles(edges) == [["b", "c"], ["e", "f"]]


def test_no_module_is_in_a_circle_of_imports() -> None:
    graph = grimp.build_graph("viewer", exclude_type_checking_imports=False, cache_dir=None)
    edges = {module: graph.find_modules_directly_imported_by(module) for module in graph.modules}
    assert len(edges) > 200
    assert f"{WINDOW}.shell.panes" in edges[f"{WINDOW}.shell.arrangement"], (
        "late imports must be in the graph"
    )
    assert f"{WINDOW}.shell.panes" in edges[f"{WINDOW}.shell.main_window"], "and those for type checkers"
    assert circles(edges) == []


def test_no_room_of_the_window_is_crowded() -> None:
    window = Path(__file__).parents[1] / Path(*WINDOW.split("."))
    rooms = [folder for folder in window.iterdir() if (folder / "__init__.py").is_file()]
    assert len(rooms) >= 12
    crowded = {
        room.name: count for room in rooms if (count := len(list(room.glob("[!_]*.py")))) > MOST_MODULES
    }
    assert crowded == {}
