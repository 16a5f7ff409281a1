"""Brackets of a script's: what it is told, where its screws stand, what is billed and cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from generators.meshes.of_part import undrilled_mesh
from layouts.brackets.angle import design_bracket
from layouts.brackets.kind import MountingPad
from layouts.brackets.registry import kind_named, kind_of
from layouts.brackets.script import ScriptBracket
from layouts.brackets.scripted import PAD_WIDE_MM, ScriptedBracket, sizes_for
from layouts.enclosures.box.pads import MOUNTING_PAD_HIGH_MM, MOUNTING_PAD_MM
from layouts.errors import PlanError
from layouts.pack import Load, Mount, Pack, Side
from layouts.parts.fasteners import Into
from layouts.parts.given import GivenShape
from layouts.parts.screw import screw_uses
from tests.samples import sample_pack

HOLES = ((0.0, 0.0), (20.0, 0.0), (4.0, 15.0))  # no symmetry of any kind
MOUNTING_PADS = tuple(
    MountingPad(
        side=side, face_mm=90.0, along_mm=7.0, underside_mm=-12.0, high_mm=MOUNTING_PAD_HIGH_MM
    )
    for side in (Side.MINUS_X, Side.PLUS_X)
)


def asking(holes: tuple[tuple[float, float], ...] = HOLES, screw: str = "M5") -> Pack:
    """A pack that asks for a script, not run."""
    mount = Mount(kind="script", screw=screw, holes_mm=holes, script="own.py")
    return sample_pack(mount=mount)


def given(pack: Pack, *, pad_mm: tuple[float, float] = (6.0, 6.0)) -> ScriptedBracket:
    """The angle bracket's own shape as if a script had drawn it."""
    (part,) = design_bracket(pack, MOUNTING_PADS).parts
    mesh = undrilled_mesh(part)
    return ScriptedBracket(
        name="own.py",
        source="",
        sizes=sizes_for(pack),
        shape=GivenShape(
            vertices_mm=mesh.vertices_mm, faces=mesh.faces, solid=b"", solid_mm3=1.0,
            curved_mm2=0.0, pieces=(),
        ),
        middle_mm=part.drawing.box_mm()[1][2] / 2,
        pad_grips_mm=pad_mm,
        frame_grips_mm=(6.0,) * len(pack.mount.holes_mm),
    )  # fmt: skip


def bracket(pad_mm: tuple[float, float] = (6.0, 6.0)) -> ScriptBracket:
    """Designed for two pads."""
    pack = asking()
    run = replace(pack, mount=replace(pack.mount, given=given(pack, pad_mm=pad_mm)))
    made = kind_of(run).design(run, MOUNTING_PADS, mass_kg=None)
    assert isinstance(made, ScriptBracket)
    return made


def test_a_script_is_told_the_pad_and_the_frames_holes() -> None:
    """The pad's sizes are those that the tub has; the frame's holes keep clear of its heads."""
    sizes = sizes_for(asking())
    assert sizes.pad_wide_mm == PAD_WIDE_MM == MOUNTING_PAD_MM
    assert sizes.top_mm == 3.0 + MOUNTING_PAD_HIGH_MM
    assert sizes.pad_holes_mm == ((17.0, -10.0), (17.0, 10.0))
    assert (sizes.pad_hole_mm, sizes.pad_washer_mm, sizes.pad_head_mm) == (4.5, 9.0, 4.8)
    assert (sizes.frame_hole_mm, sizes.frame_washer_mm, sizes.frame_head_mm) == (5.5, 10.0, 6.0)
    # 8 of plate, 4.8 of head, 5 of washer and 0.5 beside it, up to half a millimetre
    assert sizes.frame_holes_mm == ((18.5, 10.0), (18.5, -10.0), (33.5, 6.0))


def test_frame_holes_closer_than_their_washers_are_refused() -> None:
    """As for the angle."""
    with pytest.raises(PlanError, match=r"mount\.holes_mm: has two holes too close to each other"):
        sizes_for(asking(((0.0, 0.0), (12.0, 0.0)), "M6"))


def test_its_screws_stand_where_the_angles_do_along_the_wall_and_up() -> None:
    """On both walls: at the pad's insert holes, and over the same holes of the frame."""
    ours = bracket().screws
    theirs = design_bracket(asking(), MOUNTING_PADS).screws
    assert len(ours) == len(theirs) == 10
    for one, other in zip(ours, theirs, strict=True):
        assert (one.where, one.screw, one.into, one.on) == (
            other.where, other.screw, other.into, other.on,
        )  # fmt: skip
        assert one.out == pytest.approx(other.out)
        assert one.at_mm[1:] == pytest.approx(other.at_mm[1:])
        if one.into is Into.INSERT:
            assert one.at_mm == pytest.approx(other.at_mm)
    out = {(one.on, round(abs(float(one.at_mm[0])) - 90.0, 6)) for one in ours if one.into
           is Into.FRAME}  # fmt: skip
    assert out == {(1, 18.5), (1, 33.5), (2, 18.5), (2, 33.5)}


def test_screws_through_different_thicknesses_are_billed_apart() -> None:
    """A plate of 6 mm and a boss of 10: M4 of two lengths."""
    uses = screw_uses(bracket((6.0, 10.0)).screws)
    assert [(use.screw, use.length_mm, use.count, use.grip_mm) for use in uses] == [
        ("M4", 12.0, 2, 6.8), ("M4", 16.0, 2, 10.8), ("M5", None, 6, 7.0),
    ]  # fmt: skip
    assert sum(use.count for use in uses) == len(bracket().screws)


def test_reach_and_wall_are_the_shapes_own() -> None:
    """Before the script has run, the angle's stand in."""
    pack = asking()
    shape = given(pack)
    run = replace(pack, mount=replace(pack.mount, given=shape))
    (x1, _, z1) = shape.shape.box_mm()[1]
    assert kind_of(run).reach_mm(run) == (x1, 3.0)
    assert kind_of(run).wall_mm(run) == pytest.approx(z1)
    assert kind_of(pack).reach_mm(pack) == kind_named("angle").reach_mm(pack)
    assert kind_of(pack).wall_mm(pack) == kind_named("angle").wall_mm(pack)
    aside = replace(pack.mount, given=replace(shape, middle_mm=z1 - 4.0))
    assert kind_of(run).wall_mm(replace(pack, mount=aside)) == pytest.approx(2 * (z1 - 4.0))


def test_a_script_that_was_not_run_gives_no_bracket() -> None:
    """The field and the way out are named."""
    with pytest.raises(PlanError, match=r"mount\.script: is not run .*--allow-scripts"):
        kind_of(asking()).design(asking(), MOUNTING_PADS, mass_kg=None)


def test_pads_of_other_sizes_than_it_was_told_are_refused() -> None:
    """Then what was proven says nothing."""
    pack = asking()
    run = replace(pack, mount=replace(pack.mount, given=given(pack)))
    for other in (replace(MOUNTING_PADS[0], up_mm=13.0), replace(MOUNTING_PADS[0], high_mm=30.0)):
        with pytest.raises(ValueError, match=r"own\.py was drawn for another mounting pad"):
            kind_of(run).design(run, [other], mass_kg=None)


def test_its_strength_is_not_claimed() -> None:
    """No check, whatever the load."""
    pack = replace(asking(), load=Load(continuous_a=10.0))
    assert bracket().checks(pack, MOUNTING_PADS, mass_kg=5.0) == ()
    assert "strength is not checked" in bracket().parts[0].print_note


def test_card_plates_are_its_outlines_with_true_holes() -> None:
    """The foot as seen from above, the leg from the pad, as high as the foot leaves it."""
    foot, leg = bracket().plates(lambda thick_mm: (2, 5.0))
    (_, _, z0), (x1, y1, z1) = bracket().given.shape.box_mm()
    for plate, high in ((foot, x1), (leg, y1 - 5.0)):
        corners = np.array(plate.outline_mm)
        assert corners.min(axis=0) == pytest.approx([z0, 0.0], abs=1e-3)
        assert corners.max(axis=0) == pytest.approx([z1, high], abs=1e-3)
        assert plate.count == 4  # two layers of two brackets
    middle = z1 / 2
    assert foot.holes == (
        (middle + 10, 18.5, 5.5),
        (middle - 10, 18.5, 5.5),
        (middle + 6, 33.5, 5.5),
    )
    assert leg.holes == ((middle - 10, 12.0, 4.5), (middle + 10, 12.0, 4.5))
    assert "is omitted" in bracket().card_words(lambda thick_mm: (2, 5.0))[1]


def test_without_a_pad_there_is_nothing() -> None:
    """No part, no screw, no card."""
    bare = replace(bracket(), placed=())
    assert (bare.parts, bare.screws, bare.plates(lambda thick_mm: (2, 5.0))) == ((), (), ())
