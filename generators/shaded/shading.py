"""A shaded picture of things, drawn without a graphics card: depth, light, ink, colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from generators.shaded.depth_map import Camera, NearestMap, camera_of, depth_map, turned_view
from generators.shaded.inking import coloured, edges
from generators.shaded.light import SHADOW_OFF_MM, occluded, shaded_normals
from generators.shaded.palette import rgb
from generators.shaded.things import Thing, Wedge
from generators.shaded.triangles import Soup, soup_of

__all__ = ["ShadedPicture", "View", "shaded_picture"]

LIGHT = np.array([-0.52, 0.62, 0.59])  # from upper left in front of the picture
LIGHT_MAP = 1300  # pixels a side
COARSE = 2  # ambient occlusion is looked at for each second pixel
DARKEST = 0.25  # that ambient occlusion makes a pixel
FADE_RATIO = 0.06  # of the picture's width: the border in which its shadow fades
EVEN = 3  # colours by whole steps of this: smaller files, no difference to the eye


@dataclass(frozen=True, kw_only=True, slots=True)
class View:
    """From where and how large: ``towards`` the eye, picture at most ``wide`` x ``high`` pixels;
    ``samples`` x ``samples`` of each are looked at. ``apart_ratio``: 0 in place, 1 pulled apart.
    ``ground``: whether a shadow falls beside."""

    towards: tuple[float, float, float]
    wide: int
    high: int
    samples: int = 2
    apart_ratio: float = 0.0
    ground: bool = True
    margin_ratio: float = 0.94


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ShadedPicture:
    """``image`` (h, w, 4) red, green, blue, alpha, 0 to 255; ``thing`` (h, w): the number of what
    lies at each pixel, -1 for nothing; ``cut`` (h, w): whether it is a cut face."""

    image: NDArray[np.uint8]
    thing: NDArray[np.int16]
    cut: NDArray[np.bool_]


def shaded_picture(
    things: Sequence[Thing], view: View, wedges: Mapping[str, Wedge] | None = None
) -> ShadedPicture:
    """Draw things; ``wedges``: cut away, by name. The same picture to the last bit every time."""
    wedges = {} if wedges is None else wedges
    soup = soup_of(things, view.apart_ratio)
    k = view.samples
    camera = camera_of(
        soup, turned_view(view.towards), view.wide * k, view.high * k, view.margin_ratio, COARSE * k
    )
    seen = depth_map(soup, camera, wedges)
    hit = seen.face >= 0
    triangle = np.maximum(seen.face, 0)
    thing = np.where(hit, soup.thing[triangle], -1).astype(np.int16)
    copy = np.where(hit, soup.copy[triangle], 0).astype(np.int32)
    normals, lit = _lit(soup, camera, seen, wedges)
    lit = ndimage.gaussian_filter(lit, 0.9 * k)
    z_mm = np.where(hit, seen.depth / np.float32(camera.scale), np.float32(-1e3))
    ambient = _ambient(z_mm, normals, hit, camera.scale)
    flags = np.zeros(hit.shape, np.uint8)
    edges(copy, seen.plane, z_mm, normals, hit, flags)
    shadow = np.zeros((1, 1), np.float32)
    if view.ground:
        shadow = ndimage.gaussian_filter(np.where(hit, np.float32(0), 1 - lit), 3.0 * k)
        shadow *= _faded(*shadow.shape)
    light = LIGHT / np.linalg.norm(LIGHT)
    halfway = light + (0.0, 0.0, 1.0)
    summed = np.zeros((camera.high // k, camera.wide // k, 4), np.float32)
    coloured(
        thing, seen.plane, normals, lit, ambient, flags, shadow,
        np.array([rgb(one.paint.value) for one in things], np.float32),
        np.array([one.paint.shines for one in things]),
        camera.turn[:, 2].copy(), light, halfway / np.linalg.norm(halfway), camera.scale, k, summed,
    )  # fmt: skip
    return ShadedPicture(
        image=_image(summed), thing=thing[::k, ::k], cut=(seen.plane >= 0)[::k, ::k]
    )


def _lit(
    soup: Soup, camera: Camera, seen: NearestMap, wedges: Mapping[str, Wedge]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Normals a pixel and the share of the light that reaches it."""
    towards = LIGHT @ camera.turn
    turn = turned_view((float(towards[0]), float(towards[1]), float(towards[2])))
    sun = camera_of(soup, turn, LIGHT_MAP, LIGHT_MAP, 0.97)
    sun = replace(sun, high=LIGHT_MAP)
    lights = depth_map(soup, sun, wedges)
    most = max((len(wedge) for wedge in wedges.values()), default=0)
    cut_normals = np.zeros((len(soup.cuts), max(most, 1), 3), np.float32)
    for k, name in enumerate(soup.cuts):
        for i, (normal, _) in enumerate(wedges.get(name, ())):
            cut_normals[k, i] = np.asarray(normal) / np.linalg.norm(normal)
    normals = np.zeros((*seen.depth.shape, 3), np.float32)
    lit = np.zeros(seen.depth.shape, np.float32)
    shaded_normals(
        seen.depth, seen.face, seen.plane, seen.corners, soup.normals, soup.cut, cut_normals,
        camera.turn, camera.scale, np.array(camera.centre_mm), lights.depth, turn, sun.scale,
        np.array(sun.centre_mm), float(soup.points_mm[:, 2].min()), SHADOW_OFF_MM,
        normals, lit,
    )  # fmt: skip
    return normals, lit


def _ambient(
    z_mm: NDArray[np.float32], normals: NDArray[np.float32], hit: NDArray[np.bool_], scale: float
) -> NDArray[np.float32]:
    """What is open to the sky at each pixel, 0 to 1."""
    some = np.s_[::COARSE, ::COARSE]
    covered = np.zeros(z_mm[some].shape, np.float32)
    occluded(z_mm[some].copy(), normals[some].copy(), hit[some].copy(), COARSE / scale, covered)
    coarse = np.clip(1 - 2.1 * ndimage.gaussian_filter(covered, 1.6), DARKEST, 1.0)
    fine = np.repeat(np.repeat(coarse, COARSE, axis=0), COARSE, axis=1)
    open_: NDArray[np.float32] = fine[: z_mm.shape[0], : z_mm.shape[1]].astype(np.float32)
    return np.ascontiguousarray(open_)


def _faded(high: int, wide: int) -> NDArray[np.float32]:
    """1, but 0 at the picture's border: the shadow beside ends softly."""
    y, x = (
        np.clip(np.minimum(np.arange(n), np.arange(n)[::-1]) / (FADE_RATIO * wide), 0.0, 1.0)
        for n in (high, wide)
    )
    share: NDArray[np.float32] = np.minimum(
        y.astype(np.float32)[:, None], x.astype(np.float32)[None, :]
    )
    return share


def _image(summed: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Colours without their alpha, 0 to 255."""
    alpha = summed[..., 3:]
    colour = np.where(alpha > 0, summed[..., :3] / np.maximum(alpha, 1e-6), 0)
    image = (np.clip(np.concatenate([colour, alpha], axis=2), 0, 1) * 255 + 0.5).astype(np.uint8)
    image[..., :3] = np.where(image[..., 3:] > 0, image[..., :3] // EVEN * EVEN, 0)
    found: NDArray[np.uint8] = image
    return found
