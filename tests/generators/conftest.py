"""A sound pack file, and work put in the place of the real one."""

from __future__ import annotations

import sys
import types
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.generators.packfile.files import PLAIN


@pytest.fixture
def pack_file(tmp_path: Path) -> Path:
    """A sound pack file."""
    file = tmp_path / "pack.yaml"
    file.write_text(PLAIN, encoding="utf-8")
    return file


@pytest.fixture
def maker(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[..., object]], None]:
    """Puts a function in the place of ``generators.run.make_pack``."""

    def put(make_pack: Callable[..., object]) -> None:
        module = types.ModuleType("generators.run")
        module.make_pack = make_pack  # type: ignore[attr-defined]
        monkeypatch.setitem(sys.modules, "generators.run", module)

    return put
