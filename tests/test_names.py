"""One name for one thing: no two classes are called the same."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_each_class_name_is_defined_once() -> None:
    """Over layouts and generators, private classes too."""
    found: dict[str, list[str]] = defaultdict(list)
    for folder in ("layouts", "generators"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ClassDef):
                    found[node.name].append(path.relative_to(ROOT).as_posix())
    assert len(found) > 200
    assert {name: places for name, places in found.items() if len(places) > 1} == {}
