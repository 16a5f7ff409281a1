"""Every import points down one list of folders, in ``layouts`` and in ``generators``.

Imports inside functions and those for type checkers count too: what a folder can't do without
lies below it, or is handed in.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import layouts

TOP = Path(layouts.__file__).parent.parent

# Ground first: a folder, or a module of its own, may import only what stands before it.
LAYOUTS = """
    errors checks physics formats cut_plate_spec enclosure_spec frame_spec mount_spec place_spec
    printer_spec
    slabs
    ratings spaces pack defaults placing grouping
    parts
    printing
    gauges
    printable
    brackets
    mounting
    fitting
    cells
    sorting strips plates currents holders
    wiring
    enclosures
    heat shorts electrical
    planning
    suggesting
"""
GENERATORS = """
    version outfolder own_files signals streams atomic_folder messages progress faultlog
    limited_process forked_process second_process
    spaces packfile
    meshes kernel
    made_part solid_job
    proofs making proven
    scripts
    drawings
    print_answer electrical_rows printing_row second_holder_row sheet_row mounting_row result
    exports
    shaded
    welding fit_words fitting proving fixes form_choice
    report
    files solid_work printed_bill pages mesh_work print_work layer_work makers run
    dummy suggesting sorting gauges
    page
    commands cli __main__
"""


@cache
def statements(path: Path) -> tuple[ast.AST, ...]:
    """All of a file's syntax tree; read once."""
    return tuple(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


def arrows(top: Path, package: str) -> Iterator[tuple[str, str, str]]:
    """(module, its folder, imported folder) for every import from folder to folder."""
    for path in sorted((top / package).rglob("*.py")):
        name = ".".join(path.relative_to(top).with_suffix("").parts).removesuffix(".__init__")
        for node in statements(path):
            for other in imported(node, package):
                if "examples" in name.split("."):
                    continue  # data: an example script is read by no module
                if name != package and other != name.split(".")[1]:
                    yield name, name.split(".")[1], other


def imported(node: ast.AST, package: str) -> Iterator[str]:
    """Folders of the package that a statement imports from."""
    names: list[str] = []
    if isinstance(node, ast.Import):
        names = [alias.name for alias in node.names]
    elif isinstance(node, ast.ImportFrom) and node.module:
        names = [f"{node.module}.{alias.name}" for alias in node.names]
    for name in names:
        parts = name.split(".")
        if parts[0] == package and len(parts) > 1:
            yield parts[1]


def climbing(top: Path, package: str, order: str) -> set[tuple[str, str]]:
    """(module, folder) of every import that does not point down. KeyError: a folder not listed."""
    floor = {name: number for number, name in enumerate(order.split())}
    return {(name, to) for name, at, to in arrows(top, package) if floor[to] >= floor[at]}


def test_layouts_imports_point_down() -> None:
    """Values that all need at the bottom, plans of whole packs at the top."""
    assert climbing(TOP, "layouts", LAYOUTS) == set()


def test_generators_imports_point_down() -> None:
    """Reading, meshes and kernel, proofs, drawings, files and pages, commands."""
    assert climbing(TOP, "generators", GENERATORS) == set()


@pytest.mark.parametrize(("package", "order"), [("layouts", LAYOUTS), ("generators", GENERATORS)])
def test_the_lists_name_what_there_is(package: str, order: str) -> None:
    """Each folder and module once, and none that is gone; folders of data import nothing."""
    there = {
        path.stem
        for path in (TOP / package).iterdir()
        if path.suffix == ".py" or (path / "__init__.py").exists()
    }
    listed = order.split()
    assert len(set(listed)) == len(listed)
    assert there - {"__init__", "tables", "examples"} == set(listed)


def test_only_sides_of_a_pack_are_known_to_fitting() -> None:
    """Bodies in spaces: what they are bodies of is the caller's matter."""
    named = {
        alias.name
        for path in (TOP / "layouts" / "fitting").glob("*.py")
        for node in statements(path)
        if isinstance(node, ast.ImportFrom) and node.module == "layouts.pack"
        for alias in node.names
    }
    assert named == {"Side"}


def test_an_import_that_climbs_is_found(tmp_path: Path) -> None:
    """At the top, inside a function, for type checkers, and of a whole folder."""
    low = tmp_path / "layouts" / "slabs"
    low.mkdir(parents=True)
    (tmp_path / "layouts" / "__init__.py").touch()
    (low / "one.py").write_text("from layouts.planning.search import best\n")
    (low / "two.py").write_text("def f():\n    import layouts.cells.arrange\n")
    (low / "three.py").write_text("if TYPE_CHECKING:\n    from layouts.heat import limit\n")
    (low / "four.py").write_text("from layouts import pack\n")
    (low / "sound.py").write_text("from layouts.errors import PlanError\nimport numpy\n")
    assert climbing(tmp_path, "layouts", LAYOUTS) == {
        ("layouts.slabs.one", "planning"),
        ("layouts.slabs.two", "cells"),
        ("layouts.slabs.three", "heat"),
        ("layouts.slabs.four", "pack"),
    }


@pytest.mark.parametrize(
    ("own", "readers"),
    [
        ("layouts.enclosures.box", {"layouts.enclosures.registry"}),
        ("layouts.enclosures.fitted", {"layouts.enclosures.registry"}),
        ("layouts.brackets.angle", set()),
        ("layouts.brackets.flat", set()),
    ],
)
def test_own_sizes_are_read_in_their_folder_alone(own: str, readers: set[str]) -> None:
    """What a form or a kind is made from: the rest reads what the protocols hand over."""
    folder = own if "enclosures" in own else own.rpartition(".")[0]
    found = set()
    for path in sorted([*(TOP / "layouts").rglob("*.py"), *(TOP / "generators").rglob("*.py")]):
        module = ".".join(path.relative_to(TOP).with_suffix("").parts)
        for node in statements(path):
            named = getattr(node, "module", None) if isinstance(node, ast.ImportFrom) else None
            if named and (named + ".").startswith(own) and not module.startswith(folder):
                found.add(module)
    assert found == readers
