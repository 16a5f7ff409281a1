"""Stiffness formulas of brackets against finite elements of their own solids."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from layouts.brackets.flat import FlatBracket
from layouts.brackets.kind import MountingPad
from layouts.brackets.registry import kind_named
from layouts.brackets.tube_clamp import ClampBracket
from layouts.pack import Mount, Pack, Side
from layouts.parts.fasteners import Into
from layouts.parts.screw import PlacedScrew
from tests.layouts.brackets.bracket_elements import Ring, pulled_n_mm
from tests.samples import sample_pack

PADS = (
    MountingPad(side=Side.PLUS_X, face_mm=80.0, along_mm=0.0, underside_mm=-8.1),
    MountingPad(side=Side.MINUS_X, face_mm=80.0, along_mm=0.0, underside_mm=-8.1),
)
WITHIN = 0.15


def rings_of(
    bracket: FlatBracket | ClampBracket, which: Callable[[PlacedScrew], bool]
) -> tuple[Ring, ...]:
    """Washers of the first bracket's screws in its own coordinates."""
    back = np.linalg.inv(bracket.placed[0])
    found = []
    for one in bracket.screws:
        if one.on == 1 and which(one):
            x, y, z = (back[:3, :3] @ one.at_mm + back[:3, 3]).tolist()
            u, v, w = np.round(back[:3, :3] @ one.out).tolist()
            size = one.size
            found.append(
                Ring(at_mm=(x, y, z), out=(u, v, w), inner_mm=size.clearance_diameter_mm + 0.4,
                     outer_mm=size.washer_diameter_mm)
            )  # fmt: skip
    return tuple(found)


def pack_of(mount: Mount) -> Pack:
    """PETG, whose modulus the elements have."""
    return sample_pack(mount=mount)


@pytest.mark.slow
def test_a_flat_bracket_is_as_stiff_as_its_elements() -> None:
    """Pulled at the pad screws' washers, held at the frame screws', each way."""
    pack = pack_of(Mount(kind="flat", screw="M5", holes_mm=((0.0, 0.0), (20.0, 0.0))))
    bracket = kind_named("flat").design(pack, PADS, mass_kg=None)
    assert isinstance(bracket, FlatBracket)
    found = pulled_n_mm(
        bracket.parts[0],
        held=rings_of(bracket, lambda one: one.into is Into.FRAME),
        loaded=rings_of(bracket, lambda one: one.into is Into.INSERT),
        forces_n=((0.0, 0.0, 100.0), (100.0, 0.0, 0.0), (0.0, 100.0, 0.0)),
    )
    for spring, elements in zip(bracket.stiffness_n_mm(pack), found, strict=True):
        assert spring / elements == pytest.approx(1.0, abs=WITHIN)


@pytest.mark.slow
def test_a_tube_clamp_is_as_stiff_as_its_elements() -> None:
    """Block and leg, held at the pad screws' washers, loaded in the trough: off the wall and along
    it."""
    mount = Mount(kind="round_clamp", screw="M5", holes_mm=(), tube_mm=25.0, cross_bolt=False)
    pack = pack_of(mount)
    bracket = kind_named("round_clamp").design(pack, PADS, mass_kg=None)
    assert isinstance(bracket, ClampBracket)
    sizes = bracket.sizes

    def trough(x: np.ndarray) -> np.ndarray:
        far = np.hypot(x[0] - sizes.tube_x_mm, x[1] - sizes.tube_y_mm)
        return np.asarray(np.isclose(far, sizes.hollow_mm, atol=0.3))

    found = pulled_n_mm(
        bracket.parts[0],
        held=rings_of(bracket, lambda one: one.into is Into.INSERT),
        loaded=trough,
        forces_n=((100.0, 0.0, 0.0), (0.0, 0.0, 100.0)),
    )
    for spring, elements in zip(bracket.stiffness_n_mm(pack), found, strict=False):
        assert spring / elements == pytest.approx(1.0, abs=WITHIN)
