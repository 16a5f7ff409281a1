"""Invented frames drawn by chance, built round a set of brackets that is known to hold."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from layouts.brackets.holding import FrameHold, HeldBody, apart
from layouts.frame_spec import FrameHole, FramePlate
from layouts.mounting.choosing import choose_brackets, judged
from tests.layouts.mounting.example_holds import Lugs, body, offers

LUGS = Lugs(wide_mm=60.0, wall_mm=3.4, ribs=3, deep_mm=12.0)
COUNT = 8


def drawn(chance: random.Random) -> tuple[HeldBody, FramePlate]:
    """A pack in a bay with pairs of holes, 20 apart, before some of its walls."""
    wide, deep = chance.uniform(110.0, 180.0), chance.uniform(150.0, 230.0)
    bay = wide + 2 * chance.uniform(45.0, 70.0), deep + 2 * chance.uniform(45.0, 70.0)
    low = ((bay[0] - wide) / 2, (bay[1] - deep) / 2, 3.0)
    high = ((bay[0] + wide) / 2, (bay[1] + deep) / 2, chance.uniform(75.0, 105.0))
    load = chance.choice([(0.8, 0.6, 1.0), (2.0, 2.0, 2.0), (4.0, 4.0, 6.0)])
    pack = body(low, high, chance.uniform(1.0, 2.6), load)
    holes = []
    for sign, axis in ((-1.0, 0), (1.0, 0), (-1.0, 1), (1.0, 1)):
        edge = (high if sign > 0 else low)[axis] + sign * LUGS.out_mm
        for _ in range(chance.choice([1, 2])):
            middle = chance.uniform(low[1 - axis] + 40, high[1 - axis] - 40)
            out = edge + sign * chance.uniform(20.0, 30.0)
            for along in (middle - 10.0, middle + 10.0):
                at = (out, along) if axis == 0 else (along, out)
                holes.append(FrameHole(at_mm=at, screw="M5"))
    outline = ((0.0, 0.0), (bay[0], 0.0), bay, (0.0, bay[1]))
    plate = FramePlate(
        name="floor", at_mm=(0.0, 0.0, 0.0), normal="+z", outline_mm=outline, thick_mm=2.0,
        holes=tuple(holes),
    )  # fmt: skip
    return pack, plate


def known_set(pack: HeldBody, plate: FramePlate) -> list[FrameHold]:
    """Brackets on pairs of holes, as many as stand beside each other, six at most."""
    found: list[FrameHold] = []
    for one in offers(pack, [plate], 6.0, lugs=LUGS):
        if len(one.holes_mm) == 2 and all(apart(one.takes_mm, b.takes_mm) for b in found):
            found.append(one)
    return found[:6]


@pytest.mark.slow
def test_a_frame_that_can_hold_is_found_to_hold() -> None:
    """With holes that are of no use among those that are; made heavy, each is refused with its
    weakest place."""
    chance = random.Random(7)
    held = 0
    while held < COUNT:
        pack, plate = drawn(chance)
        known = known_set(pack, plate)
        if len(known) < 2 or not judged(pack, known).holds:
            continue
        more = tuple(
            FrameHole(at_mm=(chance.uniform(8.0, 200.0), chance.uniform(8.0, 200.0)), screw="M5")
            for _ in range(6)
        )
        noisy = replace(plate, holes=plate.holes + more)

        def placed(
            thick_mm: float, noisy: FramePlate = noisy, pack: HeldBody = pack
        ) -> list[FrameHold]:
            return offers(pack, [noisy], thick_mm, lugs=LUGS)

        found = choose_brackets(pack, placed, most=6, thick_mm=(5.0, 6.0, 8.0))
        assert found is not None and found.holds
        held += 1
        heavy = replace(pack, mass_kg=60.0)
        refused = choose_brackets(heavy, placed, most=6, thick_mm=(8.0,))
        assert refused is not None and not refused.holds and refused.answer.use > 1.0
        worst = refused.chosen[refused.answer.worst]
        assert refused.answer.at_mm in [point.at_mm for point in worst.points]
        assert abs(refused.answer.force_n) > 0.0 and worst.words.startswith("L on floor")
