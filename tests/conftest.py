"""What several tests share: one small pack made once, and which cases are slow."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import settings

# Random tests draw the same cases every time: a fault that they find is found by everyone.
settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")


@pytest.hookimpl(tryfirst=True)  # before cases are left out by their marks
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark as slow what ``one_in`` leaves out: of each test's cases all but the first and one in
    n after it."""
    counted: Counter[str] = Counter()
    for item in items:
        mark = item.get_closest_marker("one_in")
        if mark is None:
            continue
        test = item.nodeid.partition("[")[0]
        if counted[test] % mark.args[0]:
            item.add_marker(pytest.mark.slow)
        counted[test] += 1


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
