"""The printer's profile: its text, and the file that it is written to."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap

from generators.gauges.form import FilledForm
from generators.outfolder import OutputFolderError
from generators.packfile.faults import shown
from layouts.gauges.values import MeasuredValue, PrinterMeasured

__all__ = ["PROFILE", "profile_text", "told_values", "write_profile"]

PROFILE = "printer-profile.yaml"
WIDE = 100  # letters of a line
ONE_PRINT = (
    "one print can't show how scale and pockets differ from print to print: print and measure two, "
    "and read both"
)


def told_values(measured: PrinterMeasured) -> tuple[tuple[str, str, str], ...]:
    """Key, value and comment of each line of a profile."""
    x, y, z = measured.shrink_percent
    z_told = "z not measured" if z is None else f"z +-{z.plus_minus:.2f}"
    shrink = ", ".join(_number(0.0 if one is None else one.value) for one in (x, y, z))
    return (
        _row("hole_mm", measured.hole_mm, "holes come out less by it, in diameter"),
        _row("outside_mm", measured.outside_mm, "outsides grow by it, each side"),
        (
            "shrink_percent",
            f"[{shrink}]",
            f"x +-{x.plus_minus:.2f}, y +-{y.plus_minus:.2f}, {z_told}",
        ),
        _row("foot_mm", measured.foot_mm, "the first layer bulges by it, each side"),
    )


def _row(key: str, one: MeasuredValue, what: str) -> tuple[str, str, str]:
    return key, _number(one.value), f"+-{one.plus_minus:.2f}: {what}"


def _number(value: float) -> str:
    return f"{round(value, 3) + 0.0:g}"


def profile_text(measured: PrinterMeasured, forms: Sequence[FilledForm]) -> str:
    """YAML with keys of a pack file's section ``printer``; uncertainties as comments."""
    filaments = "; ".join(dict.fromkeys(shown(one.filament) for one in forms))
    prints = "one print" if len(forms) == 1 else f"{len(forms)} prints"
    lines = [
        *_comment(f"Printer profile by {prints} of the fit gauge, filament: {filaments}"),
        *_comment(
            "It holds for this printer, nozzle, layer height, filament and the slicer's settings. "
            "A pack file takes it by its key printer.profile."
        ),
        *(f"{key}: {value}  # {comment}" for key, value, comment in told_values(measured)),
        f"measured: {max(one.date for one in forms)}",
        *(line for note in measured.notes for line in _comment(note)),
    ]
    if len(forms) == 1:
        lines += _comment(ONE_PRINT)
    return "\n".join(lines) + "\n"


def _comment(text: str) -> list[str]:
    """Lines of a comment, the second and further ones indented."""
    return wrap(text, width=WIDE, initial_indent="# ", subsequent_indent="#   ")


def write_profile(out_dir: Path, text: str) -> tuple[Path, tuple[str, ...]]:
    """Write the profile into ``out_dir``, which exists; returns its path and what to say of a file
    that was there: another text is kept under another name. OSError passes through."""
    path = out_dir / PROFILE
    if path.is_dir():
        raise OutputFolderError(
            path,
            why="is a folder, where the profile goes",
            remedy="move it away, or give another folder",
        )
    notes: list[str] = []
    handle, beside = tempfile.mkstemp(prefix=f".{PROFILE}-", dir=out_dir)
    try:
        with open(handle, "w", encoding="utf-8") as stream:
            stream.write(text)
        os.chmod(beside, 0o644)  # a temporary file is closed to others; a result is not
        if os.path.lexists(path) and not _holds(path, text):
            kept = _free_name(path)
            _keep(path, kept)
            notes.append(f"{path}: was there already, kept as {kept.name}")
        os.replace(beside, path)
    finally:
        if os.path.lexists(beside):
            os.unlink(beside)
    return path, tuple(notes)


def _holds(path: Path, text: str) -> bool:
    return not path.is_symlink() and path.read_bytes() == text.encode()


def _keep(path: Path, kept: Path) -> None:
    """The same file under another name: linked, so that it never lacks its own, or renamed where
    links can't be made."""
    try:
        os.link(path, kept, follow_symlinks=False)
    except (OSError, NotImplementedError):
        os.rename(path, kept)


def _free_name(path: Path) -> Path:
    number = 1
    while True:
        mark = "-kept" if number == 1 else f"-kept-{number}"
        other = path.with_name(f"{path.stem}{mark}{path.suffix}")
        if not os.path.lexists(other):
            return other
        number += 1
