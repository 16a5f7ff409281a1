"""Planning a pack stays light: what ``layouts`` may not load, and no circles."""

from __future__ import annotations

import ast
import pkgutil
import subprocess
import sys
from pathlib import Path

import layouts

FORBIDDEN = ("OCP", "cadquery", "trimesh", "pydantic", "yaml", "generators", "manifold3d", "vtk")
FOLDER = Path(layouts.__file__).parent
EXAMPLES = "layouts.examples"  # a user's scripts: printed and copied, never imported


def imported(path: Path) -> set[str]:
    """Full names of the modules that a file imports."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
    return names


def test_no_module_of_layouts_names_a_forbidden_package() -> None:
    """Neither at the top nor inside a function."""
    files = sorted(set(FOLDER.rglob("*.py")) - set((FOLDER / "examples").glob("*.py")))
    assert len(files) > 20
    wrong = {
        (path.name, name)
        for path in files
        for name in imported(path)
        if name.split(".")[0] in FORBIDDEN
    }
    assert wrong == set()


def test_planning_loads_none_of_them() -> None:
    """A fresh interpreter that imports all of ``layouts`` has loaded no kernel and no reader.

    YAML is kept out by force: numba reads its own settings with it where it is installed, which is
    no matter of ours, while an import of our own would fail here."""
    modules = [
        module.name
        for module in pkgutil.walk_packages(layouts.__path__, "layouts.")
        if not module.name.startswith(f"{EXAMPLES}.")
    ]
    code = (
        "import importlib, sys\nsys.modules['yaml'] = None\n"
        f"for name in {modules!r}: importlib.import_module(name)\n"
        f"print([n for n in {FORBIDDEN!r} if sys.modules.get(n)])"
    )
    said = subprocess.check_output([sys.executable, "-c", code], text=True)
    assert said.strip() == "[]"


def test_nothing_imports_an_example() -> None:
    """What ``layouts/examples`` may name stays out of every run."""
    folders = (FOLDER, FOLDER.with_name("generators"))
    files = [path for folder in folders for path in folder.rglob("*.py")]
    naming = [path for path in files if EXAMPLES in path.read_text(encoding="utf-8")]
    assert naming  # the module that prints them
    assert not [path for path in naming if any(n.startswith(EXAMPLES) for n in imported(path))]


def test_imports_run_one_way() -> None:
    """No module of layouts or generators imports itself by way of others."""
    top = FOLDER.parent
    files = {
        ".".join(path.relative_to(top).with_suffix("").parts).removesuffix(".__init__"): path
        for package in ("layouts", "generators")
        for path in sorted((top / package).rglob("*.py"))
    }
    graph = {name: imported_at_run_time(path) & set(files) for name, path in files.items()}
    done: set[str] = set()

    def visit(name: str, way: tuple[str, ...]) -> None:
        assert name not in way, " -> ".join((*way, name))
        if name not in done:
            for other in sorted(graph[name]):
                visit(other, (*way, name))
            done.add(name)

    for name in graph:
        visit(name, ())
    assert len(done) == len(files)


def imported_at_run_time(path: Path) -> set[str]:
    """Modules imported at a file's top level, those for type checkers only left out."""
    names: set[str] = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
    return names
