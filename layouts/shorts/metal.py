"""Screws, nuts and inserts near the strips: loose metal that may take on any potential."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import Arrangement
from layouts.enclosures.box.sizes import Cut, EnclosureDesign
from layouts.formats import screws
from layouts.holders.fastening import Core
from layouts.pack import Pack
from layouts.parts.tie_screw import SUNK_MM, tie_screw
from layouts.shorts.bare import ANYWHERE, FLOATING, Bare
from layouts.shorts.values import PRINT_MM

__all__ = ["Metal", "metal_parts"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Metal:
    """Loose metal: its n parts, and which of them are one piece, ``body`` (n,)."""

    parts: Bare
    body: NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Part:
    """Shape and radius in the plan, heights, what is gained up to the face.

    Parts of one ``body`` are one piece; "" is a piece by itself.
    """

    name: str
    shape: BaseGeometry
    radius_mm: float
    low_mm: float
    high_mm: float
    wall_mm: float = 0.0
    tile: int = ANYWHERE
    body: str = ""


def metal_parts(
    pack: Pack, arrangement: Arrangement, core: Core, enclosure: EnclosureDesign | None
) -> Metal:
    """All loose metal of a pack; each may lie anywhere in the hole that is made for it."""
    parts = _ties(pack, arrangement, core)
    if enclosure is not None:
        parts += [*_lid(enclosure), *_lugs(enclosure)]
        parts += [*_cut(enclosure.lid_screw, enclosure.tub_cut, "tub")]
        parts += [*_cut(enclosure.lid_screw, enclosure.lid_cut, "lid")]
    bodies = [part.body or f"part {k}" for k, part in enumerate(parts)]
    known = {body: k for k, body in enumerate(dict.fromkeys(bodies))}
    bare = Bare(
        shapes=np.array([part.shape for part in parts], dtype=np.object_),
        radius_mm=_numbers([part.radius_mm + PRINT_MM for part in parts]),
        potential=np.full(len(parts), FLOATING, dtype=np.int64),
        node=np.full(len(parts), ANYWHERE, dtype=np.int64),
        wall_mm=_numbers([part.wall_mm for part in parts]),
        tile=np.array([part.tile for part in parts], dtype=np.int64),
        low_mm=_numbers([part.low_mm for part in parts]),
        high_mm=_numbers([part.high_mm for part in parts]),
        name=lambda k: parts[k].name,
    )
    return Metal(parts=bare, body=np.array([known[body] for body in bodies], dtype=np.int64))


def _numbers(values: list[float]) -> NDArray[np.float64]:
    return np.array(values, dtype=np.float64)


def _ties(pack: Pack, arrangement: Arrangement, core: Core) -> list[_Part]:
    """The tie posts' screws: heads in the upper face, nuts in the lower one.

    Both lie ``SUNK_MM`` and more inside the outer face: a way along the plastic gains that.
    """
    if not core.posts:
        return []
    tie, lip = tie_screw(pack), pack.holder.lip_mm
    places = np.array([(post.x_mm, post.y_mm) for post in core.posts])
    tile = arrangement.tile[cKDTree(arrangement.xy_mm).query(places)[1]]
    top = pack.lip_to_lip_mm + lip
    found = []
    for k, (x, y) in enumerate(places.tolist()):
        middle = shapely.Point(x, y)
        for name, radius, low, high in (
            ("head", tie.head_hole_mm / 2, top - tie.head_recess_mm, top),
            ("nut", tie.nut_flats_mm / math.sqrt(3), -lip, tie.nut_recess_mm - lip),
        ):
            found.append(
                _Part(
                    name=f"screw {name} in post {k + 1}",
                    shape=middle,
                    radius_mm=radius,
                    low_mm=low,
                    high_mm=high,
                    wall_mm=SUNK_MM,
                    tile=int(tile[k]),
                    body=f"tie {k}",
                )
            )
    return found


def _lid(design: EnclosureDesign) -> list[_Part]:
    """Inserts in the tub's columns with the screws' ends in them, and heads on the lid."""
    size = screws()[design.lid_screw]
    found = []
    for k, boss in enumerate(boss for boss in design.bosses if boss.screw):
        middle = shapely.Point(boss.x_mm, boss.y_mm)
        found += [
            _Part(
                name=f"insert of lid screw {k + 1}",
                shape=middle,
                radius_mm=design.insert_mm,
                low_mm=design.z_rim_mm - design.insert_deep_mm,
                high_mm=design.z_lid_mm,
                body=f"lid {k}",
            ),
            _Part(
                name=f"head of lid screw {k + 1}",
                shape=middle,
                radius_mm=size.head_mm / 2,
                low_mm=design.z_lid_mm,
                high_mm=design.z_lid_mm + size.head_high_mm,
                body=f"lid {k}",
            ),
        ]
    return found


def _lugs(design: EnclosureDesign) -> list[_Part]:
    """Inserts that lie in the lugs, from their face inwards."""
    found = []
    radius = design.lug_hole_mm
    for k, lug in enumerate(design.lugs):
        far = lug.outward * lug.face_mm
        near = lug.outward * (lug.face_mm - design.lug_hole_deep_mm)
        z = lug.underside_mm + lug.up_mm
        for side in (-1, 1):
            y = lug.y_mm + side * lug.apart_mm / 2
            found.append(
                _Part(
                    name=f"insert in lug {k + 1}",
                    shape=shapely.box(min(near, far), y - radius, max(near, far), y + radius),
                    radius_mm=0.0,
                    low_mm=z - radius,
                    high_mm=z + radius,
                )
            )
    return found


def _cut(screw: str, cut: Cut, word: str) -> list[_Part]:
    """Screws and inserts that close a cut part's ears, a head's height before and behind."""
    size = screws()[screw]
    radius = max(size.head_mm, size.insert_hole_mm) / 2
    found = []
    for ear in cut.ears:
        rect = ear.rect
        for at in ear.screws:
            if ear.axis == 0:
                shape = shapely.box(
                    rect.x0 - size.head_high_mm, at.y_mm - radius,
                    rect.x1 + size.head_high_mm, at.y_mm + radius,
                )  # fmt: skip
            else:
                shape = shapely.box(
                    at.x_mm - radius, rect.y0 - size.head_high_mm,
                    at.x_mm + radius, rect.y1 + size.head_high_mm,
                )  # fmt: skip
            found.append(
                _Part(
                    name=f"screw between pieces of the {word}",
                    shape=shape,
                    radius_mm=0.0,
                    low_mm=at.z_mm - radius,
                    high_mm=at.z_mm + radius,
                )
            )
    return found
