"""From the drawn gauge through an invented printer to a pack file's section ``printer``.

The printer is made of plain geometry: sections of the gauge's own STL file are stretched, outer
rims pushed out and holes drawn in by shapely, and lengths taken from what is left.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh

from generators.cli import main
from generators.meshes.for_printer import drawn_for_printer
from generators.packfile.resolve import read_pack
from layouts.gauges.drawing import gauge_part
from layouts.gauges.sizes import gauge_sizes
from tests.generators.gauges.test_form import filled
from tests.samples import sample_pack

CAN_MM = 21.12
SCALES = (0.9962, 0.9984, 0.9990)
OUTSIDE_MM, HOLE_MM, FOOT_MM = 0.07, 0.19, 0.16
FIRST_LAYER_MM = 0.2
PACK = (
    'name: cart\ncell: {format: "21700", capacity_ah: 4.8, continuous_a: 15,'
    " internal_resistance_mohm: 14}\nseries: 3\nparallel: 2\n"
)


def printed(mesh: trimesh.Trimesh, z_mm: float) -> shapely.Polygon:
    """The gauge's section at a height as the printer makes it."""
    cut = mesh.section(plane_origin=(0, 0, z_mm), plane_normal=(0, 0, 1))
    rings = [shapely.Polygon(ring[:, :2]) for ring in cut.discrete]
    whole = max(rings, key=lambda ring: ring.area)
    holes = [ring for ring in rings if ring is not whole and ring.area > 0.3]
    bulge = FOOT_MM if z_mm < FIRST_LAYER_MM else 0.0
    made = _stretched(whole).buffer(OUTSIDE_MM + bulge, join_style="mitre")
    for hole in holes:
        made = made.difference(_stretched(hole).buffer(-HOLE_MM / 2 - bulge, join_style="mitre"))
    assert isinstance(made, shapely.Polygon)
    return made


def _stretched(shape: shapely.Polygon) -> shapely.Polygon:
    return shapely.transform(shape, lambda points: points * np.array(SCALES[:2]))


def between(made: shapely.Polygon, axis: int, at_mm: float) -> float:
    """A length along an axis, on a line at a place of the other."""
    line = [(-10.0, at_mm), (200.0, at_mm)]
    if axis == 1:
        line = [(y, x) for x, y in line]
    low_high = np.array(shapely.LineString(line).intersection(made).bounds).reshape(2, 2)
    return float(low_high[1, axis] - low_high[0, axis])


def widest_mm(made: shapely.Polygon) -> list[float]:
    """What goes into each of the five widest holes at most, the narrowest first."""
    holes = sorted((shapely.Polygon(ring) for ring in made.interiors), key=lambda one: one.area)
    circles = [shapely.maximum_inscribed_circle(hole, tolerance=1e-4) for hole in holes[-5:]]
    return [2 * float(shapely.length(circle)) for circle in circles]


def takes(made: shapely.Polygon, can_mm: float) -> list[bool]:
    """Whether the can goes into each of them."""
    return [wide > can_mm for wide in widest_mm(made)]


def test_a_printer_is_found_again_from_the_gauge_that_it_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Drawn, printed by an invented printer, measured to 0.01, filled in, read, and taken by a
    pack file; the gauge of a pack with that profile is drawn bare again."""
    pack = tmp_path / "cart.yaml"
    pack.write_text(PACK, encoding="utf-8")
    out = tmp_path / "out"
    assert main(["gauge", str(pack), "--can", str(CAN_MM), "--out", str(out)]) == 0
    folder = out / "cart-gauge"
    mesh = trimesh.load(folder / "fit-gauge.stl")
    above, foot = printed(mesh, 2.5), printed(mesh, 0.1)
    took = [all(pair) for pair in zip(takes(above, CAN_MM), takes(foot, CAN_MM), strict=True)]
    # 21.42 x 0.9962 - 0.19 = 21.149 takes it, 21.32 x 0.9962 - 0.19 = 21.049 does not
    assert took == takes(above, CAN_MM) == [False, False, False, True, True]
    lengths = {
        "long_x_mm": between(above, 0, 5.0), "short_x_mm": between(above, 0, 95.0),
        "long_y_mm": between(above, 1, 5.0), "short_y_mm": between(above, 1, 95.0),
        "foot_x_mm": between(foot, 0, 5.0), "foot_y_mm": between(foot, 1, 5.0),
        "long_z_mm": mesh.bounds[1][2] * SCALES[2], "short_z_mm": 3.6 * SCALES[2],
    }  # fmt: skip
    values = {key: f"{value:.2f}" for key, value in lengths.items()}
    values |= {"date": "2026-03-31", "filament": "invented", "can_mm": str(CAN_MM)}
    values["took_can"] = str([10 * k for k, one in enumerate(took) if one])
    form = folder / "readings.yaml"
    form.write_text(filled(values, form.read_text(encoding="utf-8")), encoding="utf-8")
    capsys.readouterr()
    assert main(["gauge", "--read", str(form), "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "hole_mm: 0.1" in said and "(+-0.07: holes come out less by it, in diameter)" in said
    assert "note: one print can't show how scale and pockets differ from print to print" in said

    pack.write_text(PACK + "printer: {profile: printer-profile.yaml}\n", encoding="utf-8")
    printer = read_pack(pack).pack.printer
    assert printer.hole_mm == pytest.approx(HOLE_MM, abs=0.072)
    assert printer.outside_mm == pytest.approx(OUTSIDE_MM, abs=0.009)
    assert printer.foot_mm == pytest.approx(FOOT_MM, abs=0.010)
    assert printer.shrink_percent[:2] == pytest.approx((0.38, 0.16), abs=0.036)
    assert printer.shrink_percent[2] == pytest.approx(0.10, abs=0.14)
    assert printer.measured == "2026-03-31"

    drawn = (folder / "fit-gauge.stl").read_bytes()
    assert main(["gauge", str(pack), "--can", str(CAN_MM), "--out", str(out)]) == 0
    assert (folder / "fit-gauge.stl").read_bytes() == drawn
    assert "kept what no run has written: readings.yaml as readings-kept.yaml" in (
        capsys.readouterr().out
    )


@pytest.mark.slow
def test_drawn_for_the_printer_that_was_read_the_gauge_comes_out_true() -> None:
    """The values that the gauge tells, as far off as they may be, put into the drawing of printed
    files: the same printer then makes lengths and pockets to the plan's sizes."""
    pack = sample_pack()
    sizes = gauge_sizes(pack, can_mm=CAN_MM)
    for off in (0.0, 1.0, -1.0):
        printer = replace(
            pack.printer,
            hole_mm=HOLE_MM + 0.071 * off,
            outside_mm=OUTSIDE_MM - 0.009 * off,
            foot_mm=FOOT_MM + 0.010 * off,
            shrink_percent=(0.38 + 0.035 * off, 0.16 - 0.035 * off, 0.10),
        )
        (body,) = drawn_for_printer(gauge_part(sizes), printer).scaled()
        again = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
        assert again.is_watertight and again.body_count == 1
        made, low = printed(again, 2.5), printed(again, 0.1)
        for axis, (at, length) in itertools.product((0, 1), ((5.0, 100.0), (95.0, 20.0))):
            # shrinkage over the length, and both sides
            most = abs(off) * (0.00036 * length + 2 * 0.009) + 0.001
            assert between(made, axis, at) == pytest.approx(length, abs=most)
            assert between(low, axis, at) == pytest.approx(length, abs=most + 2 * 0.010)
        for hole, pocket in zip(widest_mm(made), sizes.pockets, strict=True):
            # beside hole_mm the shrinkage over a pocket, and the chords' distance from their arcs
            most = abs(off) * (0.071 + 0.008) + 0.025
            assert hole == pytest.approx(pocket.diameter_mm, abs=most)
