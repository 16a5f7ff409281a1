"""Small packs, where the protection board is longer than the cells: each has a sound plan."""

from __future__ import annotations

import pytest

from layouts.pack import Lattice
from layouts.planning.pack_plan import plan_checks, plan_pack
from tests.samples import sample_pack

# board, glands and lid screws once did not fit together in these
TIGHT = [
    (3, 1, "21700", Lattice.HONEYCOMB),
    (2, 4, "32700", Lattice.GRID),
    (1, 1, "18650", Lattice.GRID),
]


def assert_sound(series: int, parallel: int, format: str, lattice: Lattice) -> None:
    """A plan exists and all its checks hold."""
    plan = plan_pack(sample_pack(series, parallel, format=format, lattice=lattice))
    failed = [check.id for check in plan_checks(plan, mass_kg=5.0) if not check.holds]
    assert failed == [], (series, parallel, format, lattice)


@pytest.mark.one_in(3)
@pytest.mark.parametrize(("series", "parallel", "format", "lattice"), TIGHT)
def test_tight_packs_find_room(series: int, parallel: int, format: str, lattice: Lattice) -> None:
    """Glands move outward until a lid screw stands between them and the board."""
    assert_sound(series, parallel, format, lattice)


@pytest.mark.slow
@pytest.mark.parametrize("format", ["18650", "21700", "26650", "32700"])
@pytest.mark.parametrize("lattice", list(Lattice))
def test_all_small_packs_find_room(format: str, lattice: Lattice) -> None:
    """Every pack of up to 8 in series and 4 in parallel, from defaults alone."""
    for series in range(1, 9):
        for parallel in range(1, 5):
            assert_sound(series, parallel, format, lattice)
