"""The brackets that bolt the enclosure to the machine's frame.

Each is an L with a gusset rib at both ends: the leg stands against a lug of the tub, the
foot lies on the frame. Seen in the bracket's own plan, x runs away from the lug, y up the
leg and z along the enclosure's wall. It is printed in these very coordinates, lying on
its side, so that no layer is pulled off the next one when the corner is bent.

What holds what: upwards and downwards the lug screws carry across their axis and the foot
screws along theirs; away from the wall the lug screws (or, pushed, the leg itself) carry
along their axis and the foot screws across theirs; along the wall both carry across.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.brackets.kind import Lug, Plate, Stack
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.formats import materials, screws
from layouts.pack import Mount, Pack
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.fasteners import Into, ScrewUse, insert_screw_length_mm
from layouts.parts.feature import Feature
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.slabs.bore import through
from layouts.slabs.profile import polygon, rounded_polygon

# All of these are common practice, no source
THICKNESSES_MM = (6.0, 7.0, 8.0)  # leg and foot; the least is that of an ear, then as the mass asks
RIB_MM = 4.0  # each gusset: ten lines of a 0.4 nozzle
FILLET_MM = 3.0  # inside corner, as far as the lug screws' washers leave room
LEAST_FILLET_MM = 1.0
ROUND_MM = 2.0  # free corners of the profile
HEEL_ROUND_MM = 1.0  # corners that lie on lug and frame
RIB_FRONT_MM = 1.5  # a rib's blunt ends, so that it does not run out in a feather edge
RIB_BACK_MM = 3.0  # a rib ends so far before the ends of leg and foot
RIB_LONG_MM = 17.0  # along foot and leg at most: printed on its side, one rib is a bridge
RIB_GAP_MM = 1.0  # between a washer and a rib: that bridge may sag
TOOL_GAP_MM = 0.5  # between a washer or head and what stands beside it otherwise
EDGE_MM = 2.0  # between a washer and the end of the foot

# The feet lie so far below the tub, so that its drains stay open on a plate; common practice,
# no source
STAND_MM = 3.0

GRAVITY_M_S2 = 9.80665  # standard gravity, ISO 80000-3
SAME_CARD_MM = 1e-6
BRACKET_OUT_MM = 13.0  # from lug to the foot's end, less the frame screw's washer
SAFETY = 4.0  # printed polymer, short-term load; general design practice (2.5 to 4), from memory


@dataclass(frozen=True, kw_only=True, slots=True)
class BracketDesign:
    """All sizes of a bracket; lengths in mm in the bracket's own plan (see the module).

    ``leg_holes``: (up the leg, along the wall). ``foot_holes``: (away from the lug, along
    the wall). ``near_mm``: the nearest foot hole's distance from the leg's outer face.
    ``placed``: one (4, 4) matrix a lug, from these coordinates to the pack's.
    """

    thickness_mm: float
    width_mm: float
    foot_mm: float
    leg_mm: float
    rib_mm: float
    fillet_mm: float
    near_mm: float
    leg_holes: tuple[tuple[float, float], ...]
    foot_holes: tuple[tuple[float, float], ...]
    leg_hole_mm: float
    foot_hole_mm: float
    lug_screw: str
    lug_screw_long_mm: float
    mount_screw: str
    placed: tuple[NDArray[np.float64], ...]

    @property
    def profile_mm(self) -> tuple[tuple[float, float], ...]:
        """Corners of the L, counter-clockwise from the heel."""
        thick = self.thickness_mm
        return (
            (0.0, 0.0),
            (self.foot_mm, 0.0),
            (self.foot_mm, thick),
            (thick, thick),
            (thick, self.leg_mm),
            (0.0, self.leg_mm),
        )

    @property
    def profile_radii_mm(self) -> tuple[float, ...]:
        """Rounds of the L's corners in the same order; the fourth is the inside fillet."""
        heel, free = HEEL_ROUND_MM, ROUND_MM
        return (heel, heel, free, self.fillet_mm, free, heel)

    @property
    def rib_profile_mm(self) -> tuple[tuple[float, float], ...]:
        """Corners of a rib, counter-clockwise; it reaches half a thickness into leg and foot."""
        inside, out = self.thickness_mm / 2.0, self.thickness_mm + RIB_FRONT_MM
        end = min(self.foot_mm - RIB_BACK_MM, self.thickness_mm + RIB_LONG_MM)
        top = min(self.leg_mm - RIB_BACK_MM, self.thickness_mm + RIB_LONG_MM)
        return ((inside, inside), (end, inside), (end, out), (out, top), (inside, top))

    @property
    def bridge_mm(self) -> float:
        """Longest strand in the air when the upper rib's lowest layer is printed."""
        _, (end, _), _, (_, top), _ = self.rib_profile_mm
        return math.hypot(end - self.thickness_mm, top - self.thickness_mm)

    @property
    def screw_uses(self) -> tuple[ScrewUse, ...]:
        """The screws of all brackets."""
        count = len(self.placed)
        lug, mount = screws()[self.lug_screw], screws()[self.mount_screw]
        return (
            ScrewUse(
                where="brackets to lugs", screw=self.lug_screw, length_mm=self.lug_screw_long_mm,
                count=count * len(self.leg_holes), into=Into.INSERT, washer=True,
                grip_mm=self.thickness_mm + lug.washer_high_mm,
            ),
            ScrewUse(
                where="brackets to the frame", screw=self.mount_screw, length_mm=None,
                count=count * len(self.foot_holes), into=Into.FRAME, washer=True,
                grip_mm=self.thickness_mm + mount.washer_high_mm,
            ),
        )  # fmt: skip

    @property
    def parts(self) -> tuple[Part, ...]:
        """One part, a placed copy a lug."""
        return (bracket_part(self),) if self.placed else ()

    @property
    def stand_mm(self) -> float:
        """The feet lie so far below the tub."""
        return STAND_MM

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Every screw in its place, bracket by bracket, the leg's first."""
        thick = self.thickness_mm
        found = []
        for number, matrix in enumerate(self.placed, start=1):
            turn, shift = matrix[:3, :3], matrix[:3, 3]
            for where, screw, into, way, holes in (
                ("brackets to lugs", self.lug_screw, Into.INSERT, (1.0, 0.0, 0.0),
                 [(thick, up, along) for up, along in self.leg_holes]),
                ("brackets to the frame", self.mount_screw, Into.FRAME, (0.0, 1.0, 0.0),
                 [(out, thick, along) for out, along in self.foot_holes]),
            ):  # fmt: skip
                found += [
                    PlacedScrew(
                        where=where, screw=screw, at_mm=turn @ np.array(at) + shift,
                        out=turn @ np.array(way), through_mm=thick, into=into, washer=True,
                        on=number,
                    )
                    for at in holes
                ]  # fmt: skip
        return tuple(found)

    def checks(self, pack: Pack, lugs: Sequence[Lug], *, mass_kg: float) -> tuple[Check, ...]:
        """What shocks ask of the corner; nothing without a load."""
        if pack.load is None or not lugs:
            return ()
        return (bracket_root_stress(pack, self, lugs[0], mass_kg=mass_kg),)

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """Foot, leg and gussets of card; the foot runs under the leg."""
        count = len(self.placed)
        if not count:
            return ()
        layers, thick = stack(self.thickness_mm)
        wide, each = self.width_mm, f"{layers} layers, {count} brackets"
        whole = shapely.Polygon(self.rib_profile_mm)
        beyond = whole.intersection(shapely.box(thick, thick, 1e4, 1e4))
        ring = [(float(x), float(y)) for x, y in shapely.orient_polygons(beyond).exterior.coords]
        ribs = stack(self.rib_mm)[0]
        return (
            Plate(
                name="bracket-foot", title=f"bracket's foot, {each}",
                outline_mm=_upright(wide, self.foot_mm), places=(((0.0, thick), (wide, thick)),),
                holes=tuple((z, x, self.foot_hole_mm) for x, z in self.foot_holes),
                words=((wide / 2, thick / 2, "foot: leg here", 2.5),
                       (wide / 2, self.foot_mm - 3.0, f"drill {self.mount_screw}", 2.5)),
                count=layers * count,
            ),
            Plate(
                name="bracket-leg", title=f"bracket's leg, {each}",
                outline_mm=_upright(wide, self.leg_mm - thick),
                holes=tuple((z, up - thick, self.leg_hole_mm) for up, z in self.leg_holes),
                words=((wide / 2, 2.5, f"leg: {self.lug_screw} to the lug", 2.5),),
                count=layers * count,
            ),
            Plate(
                name="bracket-gusset", title=f"bracket's gusset, {ribs} a side, 2 a bracket",
                outline_mm=tuple(ring[:-1]), count=2 * ribs * count,
                words=((thick + 6.0, thick + 3.0, "gusset", 2.0),),
            ),
        )  # fmt: skip

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """How the card bracket goes together; then what is off, if anything is."""
        layers, thick = stack(self.thickness_mm)
        how = (
            f"Brackets: {layers} layers each for foot and leg. The leg stands on the foot, flush "
            f"with its back; gussets at both ends. Glue the leg on its lug's block, the foot "
            f"{STAND_MM:g} mm below the floor."
        )
        if abs(thick - self.thickness_mm) <= SAME_CARD_MM:
            return (how,)
        return (
            how,
            f"Legs and feet are {thick:g} mm thick instead of {self.thickness_mm:g}; the feet's "
            "far ends and holes are true.",
        )


def design_bracket(
    pack: Pack, lugs: Sequence[Lug], *, mass_kg: float | None = None
) -> BracketDesign:
    """One bracket that fits all lugs and the frame's holes.

    With ``mass_kg`` and a load in the pack it takes the least thickness at which
    ``bracket_root_stress`` holds, or the greatest there is. Raises PlanError when the frame's
    holes stand closer than their washers, ValueError when lugs differ.
    """
    if not lugs:
        raise ValueError("a bracket needs at least one lug on the tub's wall")
    check_frame_holes(pack.mount)
    kinds = {(lug.high_mm, lug.apart_mm, lug.up_mm, lug.screw) for lug in lugs}
    if len(kinds) > 1:
        raise ValueError("all lugs must be alike: one bracket is to fit each of them")
    lugs = [_from_foot(lug) for lug in lugs]
    made = [_design(pack, lugs, thickness) for thickness in _thicknesses(lugs[0])]
    if mass_kg is None or pack.load is None:
        return made[0]
    held = (d for d in made if _root_stress(pack, d, lugs[0], mass_kg).holds)
    return next(held, made[-1])


def check_frame_holes(mount: Mount) -> None:
    """Raises PlanError where the frame has no hole, or two nearer than their washers allow."""
    holes = np.asarray(mount.holes_mm, dtype=np.float64).reshape(-1, 2)
    washer = screws()[mount.screw].washer_mm
    if not len(holes):
        raise PlanError(
            field="mount.holes_mm", why="the frame offers no hole", mend="name one or more"
        )
    for first in range(len(holes)):
        for second in range(first):
            apart = float(np.hypot(*(holes[first] - holes[second])))
            if apart < washer + TOOL_GAP_MM:
                raise PlanError(
                    field="mount.holes_mm",
                    value=f"holes {second + 1} and {first + 1}: {apart:.1f} mm apart",
                    why=f"has two holes too near each other for the washers of {mount.screw}",
                    mend=f"keep them {washer + TOOL_GAP_MM:.1f} mm apart or use a smaller screw",
                )


def _thicknesses(lug: Lug) -> list[float]:
    """Those that leave room for a fillet below the lug screws' washers."""
    room = lug.up_mm - screws()[lug.screw].washer_mm / 2.0 - LEAST_FILLET_MM
    fitting = [thickness for thickness in THICKNESSES_MM if thickness <= room]
    if not fitting:
        raise ValueError(
            f"lug holes {lug.up_mm:.1f} mm up leave {room:.1f} mm for the bracket's foot, "
            f"which is at least {THICKNESSES_MM[0]:.1f}: move them up or use a smaller screw"
        )
    return fitting


def _design(pack: Pack, lugs: Sequence[Lug], thickness: float) -> BracketDesign:
    lug = lugs[0]
    small, large = screws()[lug.screw], screws()[pack.mount.screw]
    fillet = min(FILLET_MM, lug.up_mm - small.washer_mm / 2.0 - thickness)
    # a foot screw comes down past the heads of the lug screws; its washer lies off the fillet
    past_heads = small.washer_high_mm + small.head_high_mm + large.head_mm / 2.0
    near = max(fillet + large.washer_mm / 2.0, past_heads) + TOOL_GAP_MM
    near = math.ceil(near * 2.0) / 2.0  # to half a millimetre: a figure that can be marked out
    along, out = np.asarray(pack.mount.holes_mm, dtype=np.float64).T
    along = along - (along.min() + along.max()) / 2.0
    out = out - out.min() + thickness + near
    width = bracket_width_mm(pack.mount, apart_mm=lug.apart_mm, screw=lug.screw)
    least_leg = lug.up_mm + small.washer_mm / 2.0 + EDGE_MM
    if lug.high_mm < max(least_leg, thickness + 2.0 * fillet + RIB_BACK_MM + RIB_FRONT_MM):
        raise ValueError(
            f"a lug {lug.high_mm:.1f} mm high is too low for its holes {lug.up_mm:.1f} mm up: "
            f"{least_leg:.1f} or more"
        )
    # the wall's direction to the right, seen from outside, runs against the plan's z
    return BracketDesign(
        thickness_mm=thickness,
        width_mm=width,
        foot_mm=float(out.max()) + large.washer_mm / 2.0 + EDGE_MM,
        leg_mm=lug.high_mm,
        rib_mm=RIB_MM,
        fillet_mm=fillet,
        near_mm=near,
        leg_holes=tuple(
            (lug.up_mm, width / 2.0 + side * lug.apart_mm / 2.0) for side in (-1.0, 1.0)
        ),
        foot_holes=tuple(
            (float(x), width / 2.0 - float(u)) for x, u in zip(out, along, strict=True)
        ),
        leg_hole_mm=small.clearance_mm,
        foot_hole_mm=large.clearance_mm,
        lug_screw=lug.screw,
        lug_screw_long_mm=insert_screw_length_mm(
            lug.screw, grip_mm=thickness + small.washer_high_mm
        ),
        mount_screw=pack.mount.screw,
        placed=tuple(bracket_matrix(one, width_mm=width) for one in lugs),
    )


def bracket_width_mm(mount: Mount, *, apart_mm: float = 20.0, screw: str = "M4") -> float:
    """Width along the wall: the wider row of washers, room beside them, and the ribs.

    ``apart_mm`` and ``screw`` are the lug's. Raises PlanError when the frame has no hole.
    """
    along = [u for u, _ in mount.holes_mm]
    if not along:
        raise PlanError(
            field="mount.holes_mm", why="the frame offers no hole", mend="name one or more"
        )
    lug_row = apart_mm + screws()[screw].washer_mm
    foot_row = max(along) - min(along) + screws()[mount.screw].washer_mm
    return max(lug_row, foot_row) + 2.0 * (RIB_GAP_MM + RIB_MM)


def bracket_matrix(lug: Lug, *, width_mm: float) -> NDArray[np.float64]:
    """(4, 4) from the bracket's plan to the pack: leg on the lug, middle on its middle."""
    side = float(lug.outward)
    matrix = np.zeros((4, 4))
    matrix[:3, 0] = side, 0.0, 0.0  # away from the wall
    matrix[:3, 1] = 0.0, 0.0, 1.0  # up
    matrix[:3, 2] = 0.0, -side, 0.0  # along the wall, so that nothing is mirrored
    matrix[:3, 3] = side * lug.face_mm, lug.y_mm + side * width_mm / 2.0, lug.underside_mm
    matrix[3, 3] = 1.0
    return matrix


def frame_holes_mm(design: BracketDesign) -> NDArray[np.float64]:
    """(n, 3) where the frame must be drilled: all foot holes, underside, pack's coordinates."""
    holes = np.array([(x, 0.0, z, 1.0) for x, z in design.foot_holes])
    return np.vstack([(holes @ matrix.T)[:, :3] for matrix in design.placed])


def bracket_root_stress(pack: Pack, design: BracketDesign, lug: Lug, *, mass_kg: float) -> Check:
    """Bending stress at the corner of leg and foot when the load's jolts come all at once.

    Each of n brackets takes 1/n of mass * acceleration; as the pack may be turned in its
    space, the greater of the two level jolts acts both along the wall and across it. Plain
    beam formula 6 M / (b t^2) of a rectangle, b by t, and along the wall 6 M / (t b^2): the
    leg is bent by the push away from the wall at the lug screws' height, the foot by the
    lift at the leg up to its nearest screw. The ribs are left out, and the stresses added,
    both on the safe side; b is no more than a spread of 45 degrees from the lug screws
    reaches. Raises ValueError without a load: then nothing was asked.
    """
    if pack.load is None:
        raise ValueError("load: without one there is no acceleration to hold against")
    return _root_stress(pack, design, _from_foot(lug), mass_kg)


def _from_foot(lug: Lug) -> Lug:
    """The lug with its heights told from the level of the bracket's foot."""
    return replace(
        lug,
        underside_mm=lug.underside_mm - STAND_MM,
        high_mm=lug.high_mm + STAND_MM,
        up_mm=lug.up_mm + STAND_MM,
    )


def _root_stress(pack: Pack, design: BracketDesign, lug: Lug, mass_kg: float) -> Check:
    """The check itself, with the lug's heights told from the foot."""
    assert pack.load is not None
    thick = design.thickness_mm
    washer = screws()[design.lug_screw].washer_mm
    broad = min(design.width_mm, lug.apart_mm + washer + 2.0 * lug.up_mm)
    *level_g, upright_g = (abs(g) for g in pack.load.acceleration_g)
    share_n = GRAVITY_M_S2 * mass_kg / len(design.placed)  # for each g
    pull_n = along_n = max(level_g) * share_n
    lift_n = upright_g * share_n
    up, out = lug.up_mm - thick / 2.0, design.near_mm + thick / 2.0
    stress = (
        6.0 * (pull_n * up + lift_n * out) / (broad * thick**2)
        + 6.0 * along_n * math.hypot(up, out) / (thick * broad**2)
        + (pull_n + lift_n) / (broad * thick)
    )
    limit = materials()[pack.printer.material].strength_mpa / SAFETY
    return Check(
        id="bracket_root_stress",
        about="bending stress where a bracket's leg meets its foot, ribs left out",
        holds=stress <= limit,
        value=stress,
        limit=limit,
        unit="MPa",
        source=(
            "beam formula; lowest printed tensile strength in the layers (materials table) "
            f"over {SAFETY:g}, common practice, no source"
        ),
        how_to_mend=(
            "spread mount.holes_mm wider along the wall, use a stronger printer.material, "
            "lower load.acceleration_g, or support the tub from below as well"
        ),
        at_least=False,
        where="bracket",
    )


def _upright(wide: float, high: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))


COLOUR = (0.45, 0.47, 0.50)


def bracket_drawing(design: BracketDesign) -> Drawing:
    """Rib, L, rib; the leg's holes bored along x from its back, the foot's along y from below."""
    thick, wide = design.thickness_mm, design.width_mm
    profile = (rounded_polygon(design.profile_mm, design.profile_radii_mm),)
    rib = (polygon(design.rib_profile_mm),)
    leg = [
        through((0.0, up, along), (1.0, 0.0, 0.0), design.leg_hole_mm / 2.0, thick)
        for up, along in design.leg_holes
    ]
    foot = [
        through((out, 0.0, along), (0.0, 1.0, 0.0), design.foot_hole_mm / 2.0, thick)
        for out, along in design.foot_holes
    ]
    return drawing_of(
        (
            Feature(name="profile", loops=profile, z0_mm=0.0, z1_mm=wide),
            Feature(name="rib", loops=rib, z0_mm=0.0, z1_mm=design.rib_mm),
            Feature(name="rib", loops=rib, z0_mm=wide - design.rib_mm, z1_mm=wide),
        ),
        bores=(*leg, *foot),
    )


def bracket_print_note(design: BracketDesign) -> str:
    """How to print it, and in which order its screws go in."""
    return (
        "as it lies in the file, on its side: the layers then run round the corner, which is "
        "what bends. Four walls, half filled or more. The screw holes close over by themselves; "
        f"the upper rib begins as a bridge of {design.bridge_mm:.0f} mm, where a little sag does "
        "no harm: support it if your printer bridges badly. Lug screws go in before the foot's"
    )


def bracket_part(design: BracketDesign) -> Part:
    """The bracket, one placed copy a lug."""
    return Part(
        name="bracket",
        role="bracket",
        drawing=bracket_drawing(design),
        placed=design.placed,
        colour=COLOUR,
        print_note=bracket_print_note(design),
    )


@dataclass(frozen=True, slots=True)
class _Angle:
    """The kind itself."""

    name: str = "plate"

    def reach_mm(self, pack: Pack) -> tuple[float, float]:
        """Beyond the pad, and below the tub."""
        across = [v for _, v in pack.mount.holes_mm]
        out = BRACKET_OUT_MM + screws()[pack.mount.screw].washer_mm
        out += max(across, default=0.0) - min(across, default=0.0)
        return out, STAND_MM

    def wall_mm(self, pack: Pack) -> float:
        """Its foot's holes, washers and ribs; a lug's width at least."""
        along = [u for u, _ in pack.mount.holes_mm]
        span = max(along, default=0.0) - min(along, default=0.0)
        return max(34.0, span + screws()[pack.mount.screw].washer_mm + 10.0)

    def design(
        self, pack: Pack, lugs: Sequence[Lug], *, mass_kg: float | None = None
    ) -> BracketDesign:
        """One bracket for all lugs."""
        return design_bracket(pack, lugs, mass_kg=mass_kg)


ANGLE = _Angle()
