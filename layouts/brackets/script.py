"""Brackets of one's own: the shape comes from a script that was run before planning.

Nothing here runs a script: the pack carries what it gave, its screw holes and the faces under its
screws' heads proven. The strength of such a bracket is not known and not checked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.brackets.angle import KIND as ANGLE
from layouts.brackets.angle_sizes import bracket_matrix
from layouts.brackets.angle_strength import STAND_MM
from layouts.brackets.holding import FrameHold, HeldBody, LugSize
from layouts.brackets.kind import Bought, Hold, MountingPad, Plate, Stack
from layouts.brackets.scripted import PAD_WIDE_MM, ScriptedBracket
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Pack
from layouts.parts.fasteners import Into, insert_screw_length_mm
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew

__all__ = ["KIND", "NOT_RUN", "ScriptBracket"]

NOT_RUN = "is not run unless that is allowed"
ALLOW = "read the script, then add --allow-scripts"
COLOUR = (0.45, 0.47, 0.50)
GRID_MM = 1e-4  # corners of an outline are joined on such a grid: far below a cut in card
ROUND_MM = 0.02  # corners of an outline nearer than this to a line through others are left out
TO_PAD, TO_FRAME = "brackets to mounting pads", "brackets to the frame"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ScriptBracket:
    """Brackets of one script in place; ``placed``: one (4, 4) matrix a pad, print to pack."""

    given: ScriptedBracket
    placed: tuple[NDArray[np.float64], ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """One part, a placed copy a pad."""
        if not self.placed:
            return ()
        return (
            Part(
                name="bracket", role="bracket", field="mount", drawing=self.given.shape,
                placed=self.placed, colour=COLOUR,
                print_note=f"as it lies in the file: what {self.given.name} draws along the wall "
                           "is up, so that the layers run around the corner. Four walls, infill "
                           "50 % or more. Its strength is not checked: test it before relying "
                           "on it",
            ),
        )  # fmt: skip

    def holds(
        self, body: HeldBody, lugs: Sequence[tuple[MountingPad, LugSize]]
    ) -> tuple[FrameHold, ...]:
        """None: what a shape from a script bears is not known."""
        return ()

    def stiffness_n_mm(self, pack: Pack) -> None:
        """Not known of a shape that a script gives."""

    @property
    def bought(self) -> tuple[Bought, ...]:
        """Nothing."""
        return ()

    @property
    def stand_mm(self) -> float:
        """The feet lie so far below the tub."""
        return self.given.sizes.stand_mm

    @property
    def hold(self) -> Hold:
        """By the farthest row of the frame's screws."""
        sizes = self.given.sizes
        out, along = zip(*sizes.frame_holes_mm, strict=True)
        return Hold(out_mm=max(out), below_mm=sizes.stand_mm, apart_mm=max(along) - min(along))

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Every screw in its place, bracket by bracket, those into the pad first."""
        sizes, middle = self.given.sizes, self.given.middle_mm
        pad = zip(sizes.pad_holes_mm, self.given.pad_grips_mm, strict=True)
        frame = zip(sizes.frame_holes_mm, self.given.frame_grips_mm, strict=True)
        own = [
            (TO_PAD, sizes.pad_screw, Into.INSERT, (1.0, 0.0, 0.0), (grip, y, z + middle), grip)
            for (y, z), grip in pad
        ]
        own += [
            (TO_FRAME, sizes.frame_screw, Into.FRAME, (0.0, 1.0, 0.0), (x, grip, z + middle), grip)
            for (x, z), grip in frame
        ]
        return tuple(
            PlacedScrew(
                where=where,
                name=f"screw in mounting pad {number}" if into is Into.INSERT
                else f"frame screw of bracket {number}",
                heads=f"screw heads on bracket {number}", screw=screw,
                at_mm=matrix[:3, :3] @ np.array(at) + matrix[:3, 3],
                out=matrix[:3, :3] @ np.array(way), through_mm=grip, into=into,
                length_mm=_length_mm(screw, grip) if into is Into.INSERT else None,
                washer=True, on=number,
            )
            for number, matrix in enumerate(self.placed, start=1)
            for where, screw, into, way, at, grip in own
        )  # fmt: skip

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """None: its strength can't be derived from its shape alone."""
        return ()

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """Its outlines seen from above and from the pad, one standing on the other."""
        count = len(self.placed)
        if not count:
            return ()
        sizes, middle, name = self.given.sizes, self.given.middle_mm, self.given.name
        foot, thick = stack(max(self.given.frame_grips_mm))
        leg, _ = stack(max(self.given.pad_grips_mm))
        above = _outline(self._seen((2, 0)))
        beyond = _outline(self._seen((2, 1)).intersection(shapely.box(-1e4, thick, 1e4, 1e4)))
        return (
            Plate(
                name="bracket-foot", title=f"{name} from above, {foot} layers, {count} brackets",
                outline_mm=above, count=foot * count,
                holes=tuple((z + middle, x, sizes.frame_hole_mm) for x, z in sizes.frame_holes_mm),
                words=((middle, 2.5, "foot: leg here", 2.5),),
            ),
            Plate(
                name="bracket-leg", title=f"{name} from the pad, {leg} layers, {count} brackets",
                outline_mm=tuple((z, y - thick) for z, y in beyond), count=leg * count,
                holes=tuple(
                    (z + middle, y - thick, sizes.pad_hole_mm) for y, z in sizes.pad_holes_mm
                ),
                words=((middle, 2.5, "leg", 2.5),),
            ),
        )  # fmt: skip

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """How the card bracket is assembled; then what differs."""
        return (
            "Brackets: glue the layers of each foot and each leg together, stand the leg on the "
            "foot, flush with its back. Glue the leg on the block of its mounting pad, the foot "
            f"{self.stand_mm:g} mm below the floor.",
            f"Of the brackets only the outlines that {self.given.name} gives from above and from "
            "the pad are cut: what fills the corner between foot and leg is omitted.",
        )

    def _seen(self, axes: tuple[int, int]) -> shapely.Geometry:
        """The shape's shadow on the plane of two of its axes."""
        shape = self.given.shape
        corners = shape.vertices_mm[:, list(axes)][shape.faces]
        a, b, c = np.moveaxis(corners, 1, 0)
        area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
        facing = shapely.polygons(corners[area > GRID_MM**2])  # those behind cover the same
        return shapely.union_all(facing, grid_size=GRID_MM)


def _length_mm(screw: str, thick_mm: float) -> float:
    """Of a screw through a plate and its washer into an insert."""
    return insert_screw_length_mm(screw, grip_mm=thick_mm + screws()[screw].washer_high_mm)


def _outline(plan: shapely.Geometry) -> tuple[tuple[float, float], ...]:
    """Corners of a plan's largest piece, counter-clockwise, its holes filled."""
    whole = max(shapely.get_parts(plan), key=lambda piece: float(piece.area))
    ring = shapely.orient_polygons(shapely.Polygon(whole.exterior).simplify(ROUND_MM)).exterior
    return tuple((float(x), float(y)) for x, y in ring.coords[:-1])


def _given(pack: Pack) -> ScriptedBracket | None:
    """What the pack's script gave; None before it was run."""
    given = pack.mount.given
    return given if isinstance(given, ScriptedBracket) else None


@dataclass(frozen=True, slots=True)
class _Script:
    """The kind itself. Before its script is run, the angle's reach stands in for its own."""

    name: str = "script"

    def reach_mm(self, pack: Pack) -> tuple[float, float]:
        """Beyond the pad, and below the tub."""
        given = _given(pack)
        return ANGLE.reach_mm(pack) if given is None else (given.shape.box_mm()[1][0], STAND_MM)

    def most_out_mm(self, pack: Pack) -> float:
        """It has one size."""
        return ANGLE.most_out_mm(pack) if _given(pack) is None else self.reach_mm(pack)[0]

    def wall_mm(self, pack: Pack) -> float:
        """Twice its farther end's distance from the pad's middle; a pad's width at least."""
        given = _given(pack)
        if given is None:
            return ANGLE.wall_mm(pack)
        far = max(given.middle_mm, given.shape.box_mm()[1][2] - given.middle_mm)
        return max(PAD_WIDE_MM, 2.0 * far)

    def design(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float | None = None
    ) -> ScriptBracket:
        """The script's bracket on each pad.

        Raises PlanError where no script was run, ValueError for pads of other sizes than it was
        sizes.
        """
        given = _given(pack)
        if given is None:
            raise PlanError(field="mount.script", why=NOT_RUN, remedy=ALLOW)
        sizes = given.sizes
        for pad in pads:
            holes = tuple((sizes.stand_mm + pad.up_mm, s * pad.apart_mm / 2.0) for s in (-1.0, 1.0))
            high = sizes.stand_mm + pad.high_mm
            if (sizes.top_mm, sizes.pad_holes_mm, sizes.pad_screw) != (high, holes, pad.screw):
                raise ValueError(f"{given.name} was drawn for another mounting pad than {pad}")
        return ScriptBracket(
            given=given,
            placed=tuple(
                bracket_matrix(
                    replace(pad, underside_mm=pad.underside_mm - sizes.stand_mm),
                    width_mm=2.0 * given.middle_mm,
                )
                for pad in pads
            ),
        )


KIND = _Script()
