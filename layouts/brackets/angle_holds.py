"""Where angle brackets could hold a pack on a level plate below it: holes there or new.

A bracket takes one hole, or two that lie alike from its pad's wall; new holes come in pairs, as
near to the leg as its screws allow. What it bears is the least of its corner, both inserts and the
wall above its pad, for each force alone."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.affinity import translate

from layouts.brackets.angle_sizes import (
    EDGE_MM,
    RIB_BACK_MM,
    RIB_GAP_MM,
    RIB_LONG_MM,
    RIB_MM,
    fillet_mm,
    first_hole_mm,
)
from layouts.brackets.angle_strength import STAND_MM, corner_factors_mm2
from layouts.brackets.drilling import free_to_drill
from layouts.brackets.frequency import angle_stiffness_n_mm
from layouts.brackets.holding import (
    EDGE_FREE_MM,
    FARTHEST_MM,
    LEVEL_MM,
    TOOL_LONG_MM,
    TOOL_MM,
    Box3,
    FootPlace,
    FrameHold,
    HeldBody,
    HoldPoint,
    LugSize,
)
from layouts.brackets.lug_caps import least_caps_n, lug_shares
from layouts.formats import screws
from layouts.frame_spec import FrameFeature, FramePlate
from layouts.parts.whole_layers import layers_up_mm

__all__ = ["frame_holds", "place_points"]

# All of these are common practice, no source
PAIR_MM = (12.0, 45.0)  # between two holes of one foot
ALIKE_MM = 2.5  # two holes of one foot lie alike from the wall within this
NEW_APART_MM = 20.0  # between two new holes
NEW_PLACES = 7  # along a side


def frame_holds(body: HeldBody, feature: FrameFeature, *, thick_mm: float) -> Iterator[FrameHold]:
    """Every place of one angle bracket on a plate that its foot may lie on."""
    lug, lug_at = body.lug, body.lug_at
    if lug is None or lug_at is None or not isinstance(feature, FramePlate):
        return
    level = feature.at_mm[2]
    if feature.normal != "+z" or abs(body.low_mm[2] - level - STAND_MM) > LEVEL_MM:
        return
    outline = shapely.Polygon([feature.in_space_mm(at)[:2] for at in feature.outline_mm])
    inner = outline.buffer(-EDGE_FREE_MM)
    new = translate(free_to_drill(feature), *feature.at_mm[:2])
    for face in (one for one in body.faces if one[1] != "z"):
        for screw, holes, drilled in _spots(body, feature, face, lug, thick_mm):
            found = _bracket(body, feature, face, screw, holes, thick_mm, drilled=drilled)
            if found is None:
                continue
            (x0, y0, _), (x1, y1, _) = found.takes_mm[0]
            if not outline.buffer(LEVEL_MM).contains(shapely.box(x0, y0, x1, y1)):
                continue
            spots = new if drilled else inner
            if all(spots.covers(shapely.Point(at[:2])) for at in found.holes_mm):
                yield found


def _axis_of(face: str) -> tuple[float, int]:
    """Sign and axis of a level face's normal."""
    return (1.0 if face[0] == "+" else -1.0), "xy".index(face[1])


def _least_mm(lug: LugSize, screw: str, thick_mm: float) -> float:
    """A foot's hole from the pad's face, at least."""
    fillet = fillet_mm(lug.screw, up_mm=lug.up_mm + STAND_MM, thick_mm=thick_mm)
    return thick_mm + first_hole_mm(lug.screw, screw, fillet=fillet)


def _spots(
    body: HeldBody, plate: FramePlate, face: str, lug: LugSize, thick_mm: float
) -> Iterator[tuple[str, tuple[tuple[float, float], ...], bool]]:
    """Screw, holes in the plan and whether they are to be drilled, for one bracket each."""
    assert body.lug_at is not None
    sign, axis = _axis_of(face)
    other = 1 - axis
    given = [(hole.screw, plate.in_space_mm(hole.at_mm)[:2]) for hole in plate.holes]
    able = []
    for screw, at in given:
        far = body.lug_at(face, at[other], _wide_mm(body, lug, screw, 0.0), 0.0)
        if (
            far is not None
            and _least_mm(lug, screw, thick_mm) <= sign * at[axis] - far <= FARTHEST_MM
        ):
            able.append((screw, at))
    yield from ((screw, (at,), False) for screw, at in able)
    for (screw, first), (same, second) in itertools.combinations(able, 2):
        between = abs(first[other] - second[other])
        alike = abs(first[axis] - second[axis]) <= ALIKE_MM
        if screw == same and alike and PAIR_MM[0] <= between <= PAIR_MM[1]:
            yield screw, (first, second), False
    if not plate.drill:
        return
    screw = body.screw
    half = _wide_mm(body, lug, screw, NEW_APART_MM) / 2.0
    least = _least_mm(lug, screw, thick_mm)
    out_mm = least + screws()[screw].washer_diameter_mm / 2.0 + EDGE_MM
    for along in np.linspace(body.low_mm[other] + half, body.high_mm[other] - half, NEW_PLACES):
        far = body.lug_at(face, float(along), 2.0 * half, out_mm)
        if far is None:
            continue
        pair = []
        for step in (-NEW_APART_MM / 2.0, NEW_APART_MM / 2.0):
            out, beside = sign * (far + least), float(along) + step
            pair.append((out, beside) if axis == 0 else (beside, out))
        yield screw, tuple(pair), True


def _wide_mm(body: HeldBody, lug: LugSize, screw: str, between_mm: float) -> float:
    """Width along the wall, as ``angle_sizes.bracket_width_mm`` has it."""
    pad_row = lug.apart_mm + screws()[lug.screw].washer_diameter_mm
    foot_row = between_mm + screws()[screw].washer_diameter_mm
    ribs = 2.0 * (RIB_GAP_MM + layers_up_mm(RIB_MM, body.layer_mm))
    return layers_up_mm(max(pad_row, foot_row) + ribs, body.layer_mm)


def _bracket(
    body: HeldBody,
    plate: FramePlate,
    face: str,
    screw: str,
    holes: Sequence[tuple[float, float]],
    thick_mm: float,
    *,
    drilled: bool,
) -> FrameHold | None:
    """One bracket on these holes; None where its pad finds no wall or way."""
    lug = body.lug
    assert lug is not None and body.lug_at is not None
    sign, axis = _axis_of(face)
    other = 1 - axis
    along = [at[other] for at in holes]
    middle, between = (min(along) + max(along)) / 2.0, max(along) - min(along)
    wide = _wide_mm(body, lug, screw, between)
    washer = screws()[screw].washer_diameter_mm
    out = [sign * at[axis] for at in holes]
    far = body.lug_at(face, middle, wide, 0.0)
    if far is None:
        return None
    reach = max(out) - far + washer / 2.0 + EDGE_MM
    if body.lug_at(face, middle, wide, reach) is None:
        return None
    if min(out) - far < _least_mm(lug, screw, thick_mm) - 1e-6:
        return None
    place = FootPlace(
        face=face, along_mm=middle, face_mm=far, screw=screw, thick_mm=thick_mm,
        foot_mm=tuple((u - middle, v - far) for u, v in zip(along, out, strict=True)),
    )  # fmt: skip
    level = plate.at_mm[2]
    pad_wide = max(wide, lug.wide_mm)
    return FrameHold(
        kind="angle",
        feature=plate.name,
        face=face,
        points=place_points(body, lug, place, wide_mm=wide, level_mm=level),
        grams=_grams(body, lug, thick_mm, wide, reach),
        drilled=len(holes) if drilled else 0,
        screws=len(holes) + 2,
        thick_mm=thick_mm,
        place=place,
        takes_mm=(
            _span(face, far, reach, middle, wide, (level, level + STAND_MM + lug.high_mm)),
            _span(face, far - lug.out_mm, lug.out_mm, middle, pad_wide, (level, body.high_mm[2])),
        ),
        tools_mm=tuple(_tool(at, level + thick_mm) for at in holes),
        holes_mm=tuple((*at, level) for at in holes),
    )


def place_points(
    body: HeldBody, lug: LugSize, place: FootPlace, *, wide_mm: float, level_mm: float
) -> tuple[HoldPoint, ...]:
    """All three forces at each hole, which share the bracket's stiffness and what it bears.

    ``wide_mm``: of the bracket along the wall; ``level_mm``: of its foot's underside."""
    sign, axis = _axis_of(place.face)
    off, along = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    off[axis], along[1 - axis] = sign, 1.0
    holes = []
    for beside, out in place.foot_mm:
        level = (sign * (place.face_mm + out), place.along_mm + beside)
        x, y = level if axis == 0 else level[::-1]
        holes.append((x, y, level_mm))
    ways = ((off[0], off[1], 0.0), (along[0], along[1], 0.0), (0.0, 0.0, 1.0))
    springs = _springs_n_mm(body, lug, place, wide_mm)
    caps = _caps_n(body, lug, place, wide_mm)
    share = 1.0 / len(holes)
    return tuple(
        HoldPoint(
            at_mm=at,
            way=way,
            stiffness_n_mm=spring * share,
            along_n=cap * share,
            against_n=cap * share,
        )
        for at in holes
        for way, spring, cap in zip(ways, springs, caps, strict=True)
    )


def _tool(at: tuple[float, float], z: float) -> Box3:
    """The way of a driver over a foot's screw."""
    x, y = at
    half = TOOL_MM / 2.0
    return (x - half, y - half, z), (x + half, y + half, z + TOOL_LONG_MM)


def _span(
    face: str, far: float, long: float, middle: float, wide: float, z: tuple[float, float]
) -> Box3:
    """A box from ``far`` outwards on one side."""
    sign, axis = _axis_of(face)
    low, high = sorted((sign * far, sign * (far + long)))
    spans = [(low, high), (middle - wide / 2.0, middle + wide / 2.0)]
    (x0, x1), (y0, y1) = spans if axis == 0 else spans[::-1]
    return (x0, y0, z[0]), (x1, y1, z[1])


def _springs_n_mm(
    body: HeldBody, lug: LugSize, place: FootPlace, wide: float
) -> tuple[float, float, float]:
    """Off the wall, along it and upright."""
    washer = screws()[place.screw].washer_diameter_mm
    near = min(out for _, out in place.foot_mm)
    inside = near + washer / 2.0 + EDGE_MM - RIB_BACK_MM - place.thick_mm
    above = lug.high_mm + STAND_MM - RIB_BACK_MM - place.thick_mm
    return angle_stiffness_n_mm(
        thick_mm=place.thick_mm, wide_mm=wide, near_mm=near - washer / 2.0,
        up_mm=lug.up_mm + STAND_MM, rib_mm=layers_up_mm(RIB_MM, body.layer_mm),
        rib_reach_mm=min(RIB_LONG_MM, inside, above), modulus_mpa=body.modulus_mpa,
    )  # fmt: skip


def _caps_n(
    body: HeldBody, lug: LugSize, place: FootPlace, wide: float
) -> tuple[float, float, float]:
    """The most off the wall, along it and upright: corner, inserts and wall."""
    near, far = (pick(out for _, out in place.foot_mm) for pick in (min, max))
    corner = corner_factors_mm2(
        thick_mm=place.thick_mm, wide_mm=wide, near_mm=near - place.thick_mm,
        up_mm=lug.up_mm + STAND_MM, apart_mm=lug.apart_mm,
        washer_mm=screws()[lug.screw].washer_diameter_mm,
    )  # fmt: skip
    stresses = tuple(one / body.limit_mpa for one in corner)
    apart = float(np.ptp([along for along, _ in place.foot_mm]))
    lug_shares_n = lug_shares(lug, out_mm=far, below_mm=STAND_MM, apart_mm=apart)
    return least_caps_n((stresses[0], stresses[1], stresses[2]), *lug_shares_n)


def _grams(body: HeldBody, lug: LugSize, thick: float, wide: float, foot: float) -> float:
    """Leg, foot and both gussets."""
    leg = lug.high_mm + STAND_MM
    reach = max(0.0, min(RIB_LONG_MM, foot - thick - RIB_BACK_MM))
    return body.density_g_mm3 * (wide * thick * (foot + leg - thick) + RIB_MM * reach**2)
