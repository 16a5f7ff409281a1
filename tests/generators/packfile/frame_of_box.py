"""Brackets placed for a pack that is a plain box, without a plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from generators.report.onto_frame import frame_screw_words
from layouts.brackets.angle_holds import frame_holds
from layouts.brackets.holding import HeldBody, LugSize
from layouts.frame_spec import FrameFeature, FramePlate, HoldWishes
from layouts.mounting.choosing import choose_brackets
from layouts.planning.held import FrameScrew

# PETG at room temperature, safety 4; invented pack
LUG = LugSize(
    wide_mm=34.0, high_mm=26.0, out_mm=10.0, screw="M5", apart_mm=20.0, up_mm=14.0, arm_mm=11.3,
    moment_n_mm=4500.0, insert_n=190.0, push_n=175.0,
)  # fmt: skip
LOW, HIGH = (85.0, 40.0, 3.0), (215.0, 160.0, 90.0)


def box_body(*, mass_kg: float = 1.5, faces: Sequence[str] = ("+x", "-x", "+y", "-y")) -> HeldBody:
    """The box in its space; pads stand 10 mm out of it wherever a bracket has wall behind it."""

    def lug_at(face: str, along_mm: float, wide_mm: float, out_mm: float) -> float | None:
        axis = "xy".index(face[1])
        other = 1 - axis
        if not LOW[other] + wide_mm / 2 <= along_mm <= HIGH[other] - wide_mm / 2:
            return None
        return HIGH[axis] + 10.0 if face[0] == "+" else 10.0 - LOW[axis]

    return HeldBody(
        low_mm=LOW, high_mm=HIGH, centre_mm=(150.0, 100.0, 46.0), mass_kg=mass_kg,
        load_g=(2.0, 2.0, 2.0), faces=tuple(faces), limit_mpa=11.0, modulus_mpa=2000.0, lug=LUG,
        lug_at=lug_at,
    )  # fmt: skip


def placed_on(features: Sequence[FrameFeature], hold: HoldWishes) -> Any:
    """Words of the brackets that are chosen, and of each frame screw."""
    body = box_body(faces=hold.faces)
    plates = {one.name: one for one in features if isinstance(one, FramePlate)}
    found = choose_brackets(
        body, lambda t: [b for one in features for b in frame_holds(body, one, thick_mm=t)],
        most=hold.most, thick_mm=(5.0, 8.0),
    )  # fmt: skip
    if found is None:
        return None
    screws = [
        frame_screw_words(
            FrameScrew(
                at_mm=np.array(at), out=np.array((0.0, 0.0, 1.0)), on=number, off_mm=0.0,
                screw=one.place.screw,  # type: ignore[union-attr]
                plate=plates[one.feature],
                hole=next(
                    (
                        hole for hole in plates[one.feature].holes
                        if np.allclose(plates[one.feature].in_space_mm(hole.at_mm), at)
                    ),
                    None,
                ),
            )
        )
        for number, one in enumerate(found.chosen, start=1)
        for at in one.holes_mm
    ]  # fmt: skip
    return [one.words for one in found.chosen], found.answer.use, screws
