"""What several tests share: one small pack made once."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

# Random tests draw the same cases every time: a fault that they find is found by everyone.
settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")


@pytest.fixture(scope="session")
def small_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a whole run of an invented 3S2P pack, made once for all tests."""
    from generators.packfile.resolve import parse_pack
    from generators.run import make_pack

    text = (
        "name: pond-lamp\n"
        'cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25}\n'
        "series: 3\nparallel: 2\nlattice: honeycomb\n"
        "space: {box_mm: [240, 240, 140]}\nload: {continuous_a: 6}\n"
    )
    read = parse_pack(text.encode(), "pond-lamp.yaml")
    out = tmp_path_factory.mktemp("small-run")
    outcome = make_pack(
        read.pack,
        source_text=read.source_text,
        cautions=read.cautions,
        out_dir=out,
        report_progress=lambda stage, share: None,
    )
    return outcome.folder
