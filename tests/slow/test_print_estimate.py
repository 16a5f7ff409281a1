"""Hours, grams and plates against a general slicer, where one is on this machine.

prusa-slicer comes with Debian's packages; it reads the files as they are written, makes the tool
path that the estimate goes without, and counts every move. Its settings are written from the
printer's own. The packs are invented; nothing in the estimate was fitted to their parts.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from generators.exports.stl import write_stl
from generators.made_part import MeshedPart, meshed_part
from generators.print_work import PrintJob, work_on_printing
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.parts_list import parts_of
from layouts.printer_spec import Printer
from layouts.printing.estimate import effort_of
from layouts.printing.lines import part_lines
from layouts.printing.sections import layer_stack
from layouts.printing.settings import PrintSettings, settings_of
from layouts.printing.totals import FAST, FAST_ACCELERATION_MM_S2, WITHIN_PERCENT
from layouts.printing.totals import WITHIN_PERCENT_FAST as FAST_PERCENT
from tests.samples import sample_pack

SLICER = shutil.which("prusa-slicer") or ""
MASS_PERCENT = 5
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not SLICER, reason="no general slicer on this machine"),
]


@pytest.fixture(scope="module")
def plan() -> PackPlan:
    """A small pack of cells that stand on a grid."""
    return plan_pack(sample_pack(2, 3, format="18650"))


def options(printer: Printer, settings: PrintSettings) -> list[str]:
    """The slicer's own words for a printer and settings."""
    speeds, line = printer.speeds_mm_s, f"{settings.line_mm:g}"
    acceleration, jerk = f"{printer.acceleration_mm_s2:g}", f"{printer.jerk_mm_s:g}"
    x, y, z = printer.bed_mm
    return [
        "--gcode-flavor=marlin2", "--machine-limits-usage=time_estimate_only",
        f"--machine-max-acceleration-extruding={acceleration}",
        f"--machine-max-acceleration-travel={acceleration}",
        f"--machine-max-jerk-x={jerk}", f"--machine-max-jerk-y={jerk}",
        f"--nozzle-diameter={printer.nozzle_mm:g}",
        f"--filament-diameter={printer.filament.diameter_mm:g}", "--filament-density=1.27",
        f"--bed-shape=0x0,{x:g}x0,{x:g}x{y:g},0x{y:g}", f"--max-print-height={z:g}",
        f"--layer-height={settings.layer_mm:g}", f"--first-layer-height={settings.layer_mm:g}",
        *(f"--{what}extrusion-width={line}"
          for what in ("", "external-perimeter-", "perimeter-", "infill-", "solid-infill-",
                       "top-infill-", "first-layer-")),
        f"--perimeters={settings.wall_lines}", f"--top-solid-layers={settings.top_layers}",
        f"--bottom-solid-layers={settings.bottom_layers}",
        f"--fill-density={100 * settings.infill_share:g}%", "--fill-pattern=gyroid",
        f"--external-perimeter-speed={speeds.outer:g}", f"--perimeter-speed={speeds.inner:g}",
        f"--small-perimeter-speed={speeds.small:g}", f"--infill-speed={speeds.sparse:g}",
        f"--solid-infill-speed={speeds.solid:g}", f"--top-solid-infill-speed={speeds.top:g}",
        f"--bridge-speed={speeds.bridge:g}", f"--first-layer-speed={speeds.first:g}",
        f"--travel-speed={speeds.travel:g}", "--skirts=0",
    ]  # fmt: skip


def sliced(
    file: Path, printer: Printer, settings: PrintSettings, *more: str
) -> tuple[float, float]:
    """(hours, grams) of a file."""
    out = file.with_suffix(".gcode")
    done = subprocess.run(
        [SLICER, *options(printer, settings), *more, "--export-gcode", "-o", str(out), str(file)],
        capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = f"{done.stdout}\n{done.stderr}".lower()
    assert "warning" not in told and "error" not in told, told
    text = out.read_text(encoding="utf-8")
    (told,) = re.findall(r"printing time \(normal mode\) = (.*)", text)
    units = {"d": 24.0, "h": 1.0, "m": 1 / 60, "s": 1 / 3600}
    hours = sum(int(count) * units[unit] for count, unit in re.findall(r"(\d+)([dhms])", told))
    (grams,) = re.findall(r"\n; filament used \[g\] = ([\d.]+)", text)
    return hours, float(grams)


def part_named(plan: PackPlan, name: str) -> MeshedPart:
    """One part with its mesh."""
    (part,) = [one for one in parts_of(plan) if one.name == name]
    return meshed_part(part)


@pytest.mark.parametrize(
    ("name", "fast"),
    [
        ("holder-lower", False),
        ("lid", False),
        ("tub", False),
        ("bracket", False),
        ("holder-upper", True),
    ],
)
def test_hours_and_grams_are_a_slicers(
    name: str, fast: bool, plan: PackPlan, tmp_path: Path
) -> None:
    """At the suggested settings: hours as near as is told, grams within 5 %."""
    printer = plan.pack.printer
    if fast:
        printer = replace(printer, speeds_mm_s=FAST, acceleration_mm_s2=FAST_ACCELERATION_MM_S2)
    one = part_named(plan, name)
    settings = settings_of(one.part.role, printer)
    write_stl(tmp_path / "part.stl", one.printed)
    hours, grams = sliced(tmp_path / "part.stl", printer, settings)
    found = effort_of(part_lines(layer_stack(one.part, settings.layer_mm), settings), printer)
    within = FAST_PERCENT if fast else WITHIN_PERCENT
    assert found.hours == pytest.approx(hours, rel=within / 100)
    assert found.filament_g == pytest.approx(grams, rel=MASS_PERCENT / 100)


def test_every_plate_is_sliced_as_it_is(plan: PackPlan, tmp_path: Path) -> None:
    """Nothing is moved, nothing lies off the bed: a slicer that may not arrange takes each file."""
    printer = replace(plan.pack.printer, bed_mm=(150.0, 150.0, 200.0))
    job = PrintJob(
        name="pack", printer=printer, meshed=tuple(meshed_part(part) for part in parts_of(plan)),
        solid_mm={}, folder=tmp_path,
    )  # fmt: skip
    printing = work_on_printing(job)
    files = sorted((tmp_path / "plates").iterdir())
    assert len(files) == len(printing.beds) >= 2
    # few thick layers: what counts is that it slices at all
    rough = replace(settings_of("tub", printer), layer_mm=0.3, infill_share=0.0, wall_lines=1)
    for file, bed in zip(files, printing.beds, strict=True):
        hours, grams = sliced(file, printer, rough, "--dont-arrange")
        assert 0.0 < hours < bed.total.hours and 0.0 < grams < bed.total.filament_g
        where = (tmp_path / "plates" / f"{file.stem}.gcode").read_text(encoding="utf-8")
        xy = [(float(x), float(y)) for x, y in re.findall(r"\nG1 X([\d.-]+) Y([\d.-]+) E", where)]
        assert all(3.0 <= v <= 147.0 for at in xy for v in at)
