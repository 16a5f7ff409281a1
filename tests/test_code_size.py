"""Functions and files stay small enough to be read at once."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[1]
MOST_FUNCTION_LINES = 60
MOST_FILE_LINES = 400


def files(*folders: str) -> list[Path]:
    """Python files below some of the project's folders."""
    return sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py"))


def long_functions(source: str) -> set[str]:
    """Names of the functions with more lines than allowed, decorators not counted."""
    return {
        node.name
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (node.end_lineno or node.lineno) - node.lineno + 1 > MOST_FUNCTION_LINES
    }


def test_no_function_is_longer_than_allowed() -> None:
    """Of layouts and generators, but for those that are named."""
    seen = files("layouts", "generators")
    assert len(seen) > 100
    found = {
        (path.relative_to(ROOT).as_posix(), name)
        for path in seen
        for name in long_functions(path.read_text(encoding="utf-8"))
    }
    assert found == set()


def test_no_file_is_longer_than_allowed() -> None:
    """Of layouts, generators and tests."""
    seen = files("layouts", "generators", "tests")
    lines = {
        path.relative_to(ROOT).as_posix(): len(path.read_text(encoding="utf-8").splitlines())
        for path in seen
    }
    assert {path: count for path, count in lines.items() if count > MOST_FILE_LINES} == {}


def test_one_line_too_many_is_found() -> None:
    """Sixty lines pass, also within a class; sixty-one are named."""
    most = "def most():\n" + "    pass\n" * (MOST_FUNCTION_LINES - 1)
    assert long_functions(most) == set()
    over = "class A:\n    def over(self):\n" + "        pass\n" * MOST_FUNCTION_LINES
    assert long_functions(most + over) == {"over"}
