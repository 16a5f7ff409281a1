"""A small pack with a bracket script, made, fitted and copied as a dummy."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
import trimesh

from generators import cli, fitting
from generators.dummy import pieces
from generators.dummy.compare import compare, outer_surface
from generators.dummy.outside import BracketSolid
from generators.meshes.of_part import undrilled_mesh
from generators.packfile.resolve import read_pack
from generators.proofs.solids import mesh_solid
from generators.scripts import running, worker
from generators.scripts.job import ScriptJob, Trouble
from layouts.brackets.kind import MountingPad
from layouts.brackets.registry import kind_of
from layouts.brackets.scripted import ScriptedBracket, sizes_for
from layouts.fitting import fit
from layouts.formats import screws
from layouts.pack import Side
from layouts.parts.fasteners import Into
from layouts.planning.pack_plan import plan_pack
from tests.fit import Result, faults
from tests.generators.scripts.files import PACK, pack_file
from tests.runs import without_pictures

SCRIPT = files("layouts.examples").joinpath("saddle_bracket.py").read_text(encoding="utf-8")
TEXT = PACK.replace("own.py", "own.py, holes_mm: [[0, 0], [22, 3]]") + (
    "space: {box_mm: [240, 200, 140]}\nload: {continuous_a: 4}\n"
)


@pytest.fixture(scope="module")
def ran() -> dict[str, ScriptedBracket | Trouble]:
    """What each script gave: it is run once, in a process of its own."""
    return {}


@pytest.fixture(autouse=True)
def once(ran: dict[str, ScriptedBracket | Trouble], monkeypatch: pytest.MonkeyPatch) -> None:
    """The same answer for each test."""
    real = running.run_script

    def remembered(job: ScriptJob) -> ScriptedBracket | Trouble:
        if job.source not in ran:
            ran[job.source] = real(job)
        return ran[job.source]

    monkeypatch.setattr(running, "run_script", remembered)


def command(tmp_path: Path, *words: str) -> int:
    """A command on the pack; its exit status."""
    name, *rest = words
    file = pack_file(tmp_path, SCRIPT, TEXT)
    return cli.main([name, str(file), "--allow-scripts", "--out", str(tmp_path / "out"), *rest])


@pytest.mark.slow
def test_make_places_proves_bills_and_writes_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Everything holds, told also from the files alone; strength is cautioned, not checked."""
    without_pictures(monkeypatch)
    assert command(tmp_path, "make") == 0
    printed = capsys.readouterr()
    assert (
        "caution: mount.script: the strength of the brackets of own.py is not checked"
        in printed.out
    )
    folder = tmp_path / "out" / "pond-lamp"
    assert faults(Result(folder)) == []
    told = json.loads((folder / "result.json").read_text("utf-8"))
    assert "bracket_root_stress" not in {check["id"] for check in told["checks"]}
    assert told["pack"]["mount"]["script"] == "own.py" and "given" not in told["pack"]["mount"]
    bill = (folder / "bill.csv").read_text("utf-8")
    assert 'socket head screws,"M5, 7 mm + frame",4,pcs,ISO 4762; 4 brackets to the frame' in bill
    assert "socket head screws,M4 x 12,4,pcs,ISO 4762; 4 brackets to mounting pads" in bill
    assert (folder / "own.py").read_text("utf-8") == SCRIPT
    report = (folder / "report.html").read_text("utf-8")
    assert "the strength of the brackets of own.py is not checked" in report
    _rods_pass(tmp_path / "pack.yaml", Result(folder))
    step = (folder / "assembly.step").read_text("utf-8")
    assert "bracket-1" in step and "bracket-2" in step


def _rods_pass(file: Path, result: Result) -> None:
    """Every screw goes through its bracket and, into a pad, down its insert's hole."""
    pack = running.with_bracket(read_pack(file), allowed=True).pack
    placed = plan_pack(pack).bracket.screws
    assert len(placed) == 8
    solid = [mesh for role, _, mesh in result.placed if role in ("bracket", "tub")]
    for one in placed:
        size = screws()[one.screw]
        deep = size.insert_deep_mm if one.into is Into.INSERT else 1.0
        ends = [one.point(1.0), one.point(-one.through_mm - deep + 0.1)]
        rod = trimesh.creation.cylinder(radius=float(one.screw[1:]) / 2, segment=ends, sections=64)
        for mesh in solid:
            met = trimesh.boolean.intersection([rod, mesh])
            assert len(met.faces) == 0 or met.volume < 1e-3, one


@pytest.mark.slow
def test_two_runs_give_the_same_bytes(tmp_path: Path) -> None:
    """The script is run anew, in another process: this one."""
    pack = running.with_bracket(read_pack(pack_file(tmp_path, SCRIPT, TEXT)), allowed=True).pack
    first = pack.mount.given
    job = ScriptJob(file="own.py", source=SCRIPT, line=1, sizes=sizes_for(pack))
    second = worker.answer(job)
    assert first is not None and isinstance(second, ScriptedBracket)
    assert first.shape.solid == second.shape.solid
    assert (first.shape.vertices_mm == second.shape.vertices_mm).all()
    assert (first.shape.faces == second.shape.faces).all()


@pytest.mark.slow
def test_its_convex_pieces_hold_the_mesh_and_little_more(tmp_path: Path) -> None:
    """Every corner lies within one of them; together they are far less than one hull."""
    pack = running.with_bracket(read_pack(pack_file(tmp_path, SCRIPT, TEXT)), allowed=True).pack
    assert pack.mount.given is not None
    shape = pack.mount.given.shape
    hulls = [trimesh.convex.convex_hull(one.vertices_mm) for one in shape.convex_pieces(np.eye(4))]
    planes = [(hull.face_normals, hull.triangles[:, 0]) for hull in hulls]
    inside = [
        (np.einsum("fk,nfk->nf", normal, shape.vertices_mm[:, None] - at) < 1e-6).all(axis=1)
        for normal, at in planes
    ]
    assert np.any(inside, axis=0).all()
    whole = trimesh.convex.convex_hull(shape.vertices_mm)
    assert sum(hull.volume for hull in hulls) < 0.7 * whole.volume


@pytest.mark.slow
def test_fit_counts_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pack stands in its space with the script's brackets on it: they are the tightest."""
    monkeypatch.setattr(fitting, "bends_across", lambda outlets: ("+z",))  # fewer to try
    monkeypatch.setattr(fit, "FINE_KEPT", 1)
    assert command(tmp_path, "fit") == 0
    assert capsys.readouterr().out.startswith("fits: ")
    row = json.loads((tmp_path / "out" / "pond-lamp-fit" / "fit.json").read_text("utf-8"))
    assert row["fits"] and all(check["holds"] for check in row["checks"])


@pytest.mark.slow
def test_dummy_copies_it(tmp_path: Path) -> None:
    """Two flat pieces of card, with what the card leaves out."""
    assert command(tmp_path, "dummy", "--sheets") == 0
    row = json.loads((tmp_path / "out" / "pond-lamp-dummy" / "dummy.json").read_text("utf-8"))
    cards = {one["name"]: one for one in row["sheets"]["pieces"]}
    assert cards["bracket-foot"]["title"] == "own.py from above, 2 layers, 2 brackets"
    assert cards["bracket-leg"]["count"] == 4
    assert "drill-plan" in cards


@pytest.mark.slow
def test_the_printed_dummy_of_it_is_a_thin_shell_with_the_same_outside(tmp_path: Path) -> None:
    """Hollow, its holes open, and its skin where the bracket's is."""
    pack = running.with_bracket(read_pack(pack_file(tmp_path, SCRIPT, TEXT)), allowed=True).pack
    pad = MountingPad(side=Side.PLUS_X, face_mm=0.0, along_mm=0.0, underside_mm=0.0)
    bracket = kind_of(pack).design(pack, [pad], mass_kg=None)
    (part,) = bracket.parts
    made = undrilled_mesh(part)
    whole = mesh_solid(made.vertices_mm, made.faces)
    solid = BracketSolid(part=part, solid=whole, undrilled=whole)
    shell = pieces._bracket(solid, bracket.screws, pieces.lines_of(pack.printer))
    assert shell.volume() < 0.25 * whole.volume()
    assert (shell - whole).volume() < 1e-6
    apart = compare(outer_surface(whole), outer_surface(shell), samples=300)
    assert max(apart.to_dummy_mm, apart.to_pack_mm) < 0.05
