"""What is wrong with a bracket script is one line, status 2, and nothing is written.

Each from a pack file through the command line. What needs the kernel is run in this process
instead of one of its own, since loading the kernel takes longest; ``test_running`` does that.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from generators import cli
from generators.scripts import running, shape, worker
from tests.generators.scripts.files import ENTRY_LINE, PACK, SCRIPT_LINE, angle, pack_file

pytestmark = pytest.mark.one_in(4)  # cases that run a script each


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Scripts run in this very process."""
    monkeypatch.setattr(running, "run_script", worker.answer)


def told(capsys: pytest.CaptureFixture[str], command: str, file: Path, *words: str) -> str:
    """The one line that a command says of a pack file; it must end with status 2."""
    out = file.parent / "out"
    where = [] if command == "check" else ["--out", str(out)]
    assert cli.main([command, str(file), *where, *words]) == 2
    printed = capsys.readouterr()
    assert printed.out == "" and not out.exists()
    (line,) = printed.err.splitlines()
    return line


@pytest.mark.parametrize("command", ["make", "check", "fit", "dummy", "place"])
def test_a_script_is_not_run_unless_that_is_allowed(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The line of the key, the script's file, and the word that allows it."""
    trace = tmp_path / "was-run"
    file = pack_file(tmp_path, f"open({str(trace)!r}, 'w')\ndef bracket(sizes): pass\n")
    assert told(capsys, command, file) == (
        f"{file}:{SCRIPT_LINE}: mount.script: is not run unless that is allowed (own.py), read the "
        "script, then add --allow-scripts"
    )
    assert not trace.exists()


def test_held_cells_alone_have_no_brackets_to_run_a_script_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without an enclosure the key is of no account, so nothing needs to be allowed."""
    file = pack_file(tmp_path, None, PACK + "enclosure: {style: none}\n")
    assert cli.main(["check", str(file)]) == 0
    assert "own.py" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("mount", "says"),
    [
        ("kind: script", "mount.script: is not given (script), give the path of a Python file"),
        ("script: own.py", "mount.script: goes with kind: script alone (own.py), write that, or"),
        ("kind: script, script: own.txt", "mount.script: is not the path of a Python file (own"),
        ("kind: script, script: none.py", "mount.script: can't be read: No such file or direc"),
        ("kind: script, script: own.py, holes_mm: [[0, 0], [10.9, 0]]", "mount.holes_mm: has tw"),
    ],
)
def test_the_pack_file_is_told_at_its_own_line(
    mount: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Key and file do not go together, the file is missing, or the frame's holes are too near."""
    text = PACK.replace("kind: script, script: own.py", mount)
    screw = text.replace("10.9, 0]]", "10.9, 0]], screw: M6")  # washers of 12
    file = pack_file(tmp_path, angle(), screw)
    assert told(capsys, "check", file, "--allow-scripts").startswith(f"{file}:5: {says}")


@pytest.mark.parametrize(
    ("script", "line", "says"),
    [
        ("x = 1\ndef bracket(sizes:\n", 2, "is not Python ('(' was never closed), fix the script"),
        ("def brackets(sizes): ...\n", 1, "has no function bracket, write def bracket(sizes), w"),
        ("x\0 = 1\n", 1, "is not Python (source code"),
        ("\n\ndef bracket(sizes):\n    y = 1\n    return y / 0\n", 5,
         "stops with an error (ZeroDivisionError division by zero), fix the script"),
        ("import nowhere_to_be_found\ndef bracket(sizes): ...\n", 1,
         "stops with an error (ModuleNotFoundError No module named 'nowhere"),
        ("import sys\ndef bracket(sizes):\n    sys.exit(3)\n", 3,
         "stops with an error (SystemExit 3), fix the script"),
        ("def bracket(sizes):\n    return 7\n", 1,
         "bracket() does not return a Workplane (int), return a cadquery Workplane that"),
        ("\ndef bracket(sizes): pass\n", 2, "bracket() does not return a Workplane (Non"),
    ],
)  # fmt: skip
def test_a_script_that_gives_no_shape_is_told_at_its_line(
    script: str, line: int, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    here: None,
) -> None:  # fmt: skip
    """The line is where it stopped, else that of its function."""
    file = pack_file(tmp_path, script)
    said = told(capsys, "make", file, "--allow-scripts")
    assert said.startswith(f"{tmp_path / 'own.py'}:{line}: bracket: {says}")


def test_text_that_is_not_utf_8_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """At the line of the first wrong byte."""
    file = pack_file(tmp_path, None)
    (tmp_path / "own.py").write_bytes(b"def bracket(s):\n    return '\xe4'\n")
    said = told(capsys, "check", file, "--allow-scripts")
    assert said == f"{tmp_path / 'own.py'}:2: bracket: is not UTF-8 text, save it as UTF-8 text"


def test_a_script_that_is_too_large_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is not even read to its end."""
    file = pack_file(tmp_path, "#" * 1_000_001)
    said = told(capsys, "check", file, "--allow-scripts")
    assert said == f"{tmp_path / 'own.py'}:1: bracket: is too large, give at most 1 MB"


BOW_TIE = "return cq.Workplane('XY').polyline([(0, 0), (9, 9), (9, 0), (0, 9)]).close().extrude(9)"
HOLLOW = "return whole.cut(cq.Workplane('XY').box(1, 1, 1).translate((3, 3, 0)))"
DISC = "return whole.union(cq.Workplane('XZ').center(18.5, 10).circle(3).extrude(-8))"
SHORT = "whole.intersect(cq.Workplane('XY').box(21, 99, 99).translate((10.5, 0, 0)))"


@pytest.mark.parametrize(
    ("last", "says"),
    [
        ("return cq.Workplane('XY')", "gives no solid (nothing), return a cadquery Workplane that"),
        ("return whole.faces('>X')", "gives no solid (1 faces), return a cadquery Workplane that"),
        ("return whole.union(cq.Workplane('XY').box(1, 1, 1).translate((50, 1, 0)))",
         "gives more than one solid (2 solids), join them with union"),
        (BOW_TIE, "returns a solid that the kernel finds invalid ("),
        (HOLLOW, "has a closed void, open it or fill it"),
        ("return whole.translate((-0.5, 0, 0))",
         "reaches behind the pad's face (x -0.5), keep all of it at x >= 0"),
        ("return whole.translate((0, -0.5, 0))",
         "reaches below the frame's (y -0.5), keep all of it at y >= 0"),
        ("return whole.translate((0, 1, 0))",
         "is higher than the pad (y 30), keep all of it at y <= 29: leads bend above it"),
        ("return whole.translate((0, 0, 2))",
         "has no through hole for the M4 screw at y 17, z -10 ("),
        ("return whole.union(pin('YZ', 17, 10, 3, 6))",
         "has no through hole for the M4 screw at y 17, z 10 ("),
        (DISC, "has no through hole for the M5 screw at x 18.5, z 10 ("),
        ("return " + SHORT, "has too little material under the washer of the M5 screw at x 18.5"),
        ("return plate(6, 29, 20).cut(pin('YZ', 17, -10, 2.2, 6)).cut(pin('YZ', 17, 10, 2.2, 6))",
         "has no material for the M5 screw at x 18.5, z 10, put a plate there, round a 5.5 hole"),
        ("return whole.cut(pin('YZ', 17, -10, 3.5, 6))",
         "has too little material under the washer of the M4 screw at y 17, z -10 ("),
        ("return whole.cut(pin('YZ', 17, -10, 3.5, 3))",
         "has too little material on the pad round the M4 screw at y 17, z -10 ("),
        ("return whole.cut(pin('YZ', 17, -10, 4.4, 4).translate((1, 0, 0)))",
         "has too little material between the two faces round the M4 screw at y 17, z -10 ("),
    ],
)  # fmt: skip
def test_a_shape_that_is_no_bracket_is_told_at_its_function(
    last: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], here: None
) -> None:
    """One sound solid, in its room, with open holes and material under each head."""
    file = pack_file(tmp_path, angle(last=last))
    said = told(capsys, "check", file, "--allow-scripts")
    assert said.startswith(f"{tmp_path / 'own.py'}:{ENTRY_LINE}: bracket: {says}")


def test_a_head_in_the_way_of_another_screw_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], here: None
) -> None:
    """On a plate too thick the pad's heads stand where the frame's screws come down."""
    said = told(capsys, "check", pack_file(tmp_path, angle(pad_mm=9.0)), "--allow-scripts")
    assert said.endswith(
        "bracket: is so thick on the pad that a head obstructs the M5 screw at x 18.5, z -10 (9 "
        "mm), make it 8.7 mm thick there"
    )


def test_a_thickness_that_no_screw_suits_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], here: None
) -> None:
    """With 15.6 mm and a washer 20 is too short and 25 stands on the insert's ground."""
    last = "; ".join(
        [
            "bosses = pin('YZ', 17, -10, 5, 15.6).union(pin('YZ', 17, 10, 5, 15.6))",
            "holes = pin('YZ', 17, -10, 2.25, 15.6).union(pin('YZ', 17, 10, 2.25, 15.6))",
            "return whole.union(bosses).cut(holes)",
        ]
    )
    text = PACK.replace("own.py", "own.py, holes_mm: [[0, 0]]")  # between the two heads
    said = told(capsys, "check", pack_file(tmp_path, angle(last=last), text), "--allow-scripts")
    assert said.endswith(
        "bracket: has a thickness for which there is no standard length of the M4 screw at y "
        "17, z -10 (15.6 mm), make it 15.2 mm thick there"
    )


def test_a_mesh_too_fine_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], here: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its triangles are counted."""
    monkeypatch.setattr(shape, "MOST_TRIANGLES", 100)
    said = told(capsys, "check", pack_file(tmp_path, angle()), "--allow-scripts")
    assert "bracket: is too finely detailed (" in said
    assert said.endswith("omit threads and engraved text: at most 100 triangles")
