"""The picture at the top of the README."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks.demo_picture import (
    MOST_OTHER_RATIO,
    PICTURE,
    demo_picture,
    other_ratio,
)

pytestmark = pytest.mark.slow


def test_it_is_that_of_the_demo(tmp_path: Path) -> None:
    """Made anew it is the same but for few pixels, and small; another picture is told apart."""
    fresh = tmp_path / "fresh.png"
    fresh.write_bytes(demo_picture())
    assert other_ratio(PICTURE, fresh) <= MOST_OTHER_RATIO
    assert PICTURE.stat().st_size < 350_000
    from PIL import Image

    Image.open(PICTURE).rotate(180).save(tmp_path / "turned.png")
    assert other_ratio(PICTURE, tmp_path / "turned.png") > 10 * MOST_OTHER_RATIO
