"""Pictures of parts and of the assembly, and the process that draws them."""

from __future__ import annotations

import math
import re
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
import pytest

from generators.drawings.pictures import (
    CAN_SIDES,
    Cans,
    PartPicture,
    PictureJob,
    can_triangles,
    draw,
    pulled_apart,
)
from generators.makers import Draughtsman
from generators.meshes.mesh import Mesh
from tests.generators.drawings.shapes import box, drilled_plate

HERE = (np.eye(4),)


def small_job(cells: int = 2) -> PictureJob:
    """A tub, holders and a lid as plain plates, some cans, one bracket on each side."""
    sized = {
        "tub": drilled_plate(30, 4, 30),
        "holder_lower": drilled_plate(20, 5, 10),
        "holder_upper": drilled_plate(20, 5, 10),
        "lid": drilled_plate(30, 3, 3),
        "bracket": box((0, 0, 0), (10, 10, 10)),
    }
    left, right = np.eye(4), np.eye(4)
    left[0, 3], right[0, 3] = -42.0, 32.0
    return PictureJob(
        parts=tuple(
            PartPicture(
                name=role.replace("_", "-"),
                role=role,
                vertices_mm=vertices,
                faces=faces,
                placed=(left, right) if role == "bracket" else HERE,
                aside=((-1.0, 0.0), (1.0, 0.0)) if role == "bracket" else (),
                alone=role != "lid",
            )
            for role, (vertices, faces) in sized.items()
        ),
        cans=Cans(
            xy_mm=np.column_stack([np.arange(cells) * 20.0, np.zeros(cells)]),
            diameter_mm=18.0,
            length_mm=65.0,
        ),
    )


def test_cans_are_closed_prisms() -> None:
    """Volume of a 24-sided prism by its formula, outward facets (so above zero), two cans."""
    points, faces = can_triangles(small_job().cans)
    area = CAN_SIDES / 2 * 9.0**2 * math.sin(math.tau / CAN_SIDES)
    assert Mesh(points, faces).volume_mm3() == pytest.approx(2 * area * 65.0, rel=1e-12)
    assert points.min(axis=0) == pytest.approx([-9.0, -9.0, 0.0])


def test_layers_float_above_each_other_in_order() -> None:
    """From below: tub, lower holder, cans, upper holder, lid; a gap between each two."""
    meshes = pulled_apart(small_job())
    layers = [meshes[k] for k in (0, 3, 4, 5, 6)]  # the brackets follow the tub
    spans = [(points[:, 2].min(), points[:, 2].max()) for points, _ in layers]
    assert all(low > high + 5.0 for (_, high), (low, _) in zip(spans, spans[1:], strict=False))
    assert [round(high - low) for low, high in spans] == [30, 10, 65, 10, 3]


def test_brackets_stand_beside_the_tub_at_its_height() -> None:
    """Each moves out sideways on its own side and stays level with the tub."""
    meshes = pulled_apart(small_job())
    (left, _), (right, _) = meshes[1], meshes[2]
    assert left[:, 0].max() < -60 and right[:, 0].min() > 60
    assert left[:, 2].min() == pytest.approx(meshes[0][0][:, 2].min())


def test_a_bracket_on_another_wall_moves_out_of_that_wall() -> None:
    """Along y alone, as far as the others move along x."""
    job = small_job()
    parts = [
        replace(part, aside=((0.0, 1.0), (0.0, -1.0))) if part.role == "bracket" else part
        for part in job.parts
    ]
    usual, turned = pulled_apart(job), pulled_apart(replace(job, parts=tuple(parts)))
    moved = [turned[k][0] - usual[k][0] for k in (1, 2)]
    assert moved[0] == pytest.approx(np.tile((30.0, 30.0, 0.0), (len(moved[0]), 1)))
    assert moved[1] == pytest.approx(np.tile((-30.0, -30.0, 0.0), (len(moved[1]), 1)))


def test_without_cells_the_other_layers_stay() -> None:
    """A job without cans gives one mesh less and no error."""
    assert len(pulled_apart(small_job(0))) == len(pulled_apart(small_job())) - 1


def test_parts_get_pictures_from_above_and_below_if_asked() -> None:
    """Every part but the one that is not to be drawn alone; titles name part and way."""
    pictures = draw(small_job())
    names = {"tub", "holder-lower", "holder-upper", "bracket"}
    assert set(pictures.above) == set(pictures.below) == names
    assert "<title>tub, as printed, from above</title>" in pictures.above["tub"]
    assert "<title>tub, as printed, from below</title>" in pictures.below["tub"]
    assert pictures.above["tub"] != pictures.below["tub"]


def test_pictures_fit_their_printed_room() -> None:
    """Width and height in mm lie within what is required, margins of 3 mm a side included."""
    pictures = draw(small_job())
    for svg, room in ((pictures.exploded, (150, 215)), (pictures.above["tub"], (82, 62))):
        found = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', svg)
        assert found is not None
        wide, tall = map(float, found.groups())
        assert wide <= room[0] * 1.12 and tall <= room[1] * 1.12
        assert wide > room[0] * 0.9 or tall > room[1] * 0.9


@pytest.mark.slow
def test_another_process_draws_the_same() -> None:
    """The draughtsman's pictures are those drawn here, byte for byte."""
    job = small_job()
    with Draughtsman() as draughtsman:
        draughtsman.start(job)
        assert draughtsman.result() == draw(job)


@pytest.mark.slow
def test_a_draughtsman_that_fails_says_why() -> None:
    """A job that cannot be drawn raises with the process's own words."""
    job = small_job()
    broken = PartPicture(
        name="x",
        role="no_such_layer",
        vertices_mm=job.parts[0].vertices_mm,
        faces=job.parts[0].faces,
        placed=HERE,
    )
    with Draughtsman() as draughtsman:
        draughtsman.start(PictureJob(parts=(broken,), cans=job.cans))
        with pytest.raises(RuntimeError, match="no_such_layer"):
            draughtsman.result()


def test_leaving_early_ends_the_process() -> None:
    """A run that fails before its pictures leaves no process behind."""
    with Draughtsman() as draughtsman:
        process = draughtsman._process
        begin = time.monotonic()
    assert process.returncode is not None and time.monotonic() - begin < 5.0


def test_the_drawing_process_loads_numpy_alone() -> None:
    """No kernel, no mesh library: it is ready at once."""
    code = (
        "import sys, generators.drawings.pictures;"
        "print([m for m in ('OCP', 'cadquery', 'manifold3d', 'trimesh', 'scipy', 'shapely')"
        " if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
