"""A space's form turned into a ``Space``: files read, outlines and meshes made sound."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TypeVar

from generators.packfile.faults import Path
from generators.packfile.space_models import KeepOutEntry, SpaceSection
from generators.spaces.errors import UnreadableError
from generators.spaces.opening import DRAWINGS
from generators.spaces.reading import Read, SpaceFile, read_space_files
from layouts.errors import PlanError
from layouts.place_spec import PackPlace
from layouts.spaces.space import Prism, Solid, Space, box_space

__all__ = ["SpaceError", "SpaceFinding", "built_space"]

SHAPES = ("box_mm", "outline_mm", "file")
ROOM = -1
BODIES = ("box_mm", "cylinder", "file")

Value = TypeVar("Value")


@dataclass(frozen=True, kw_only=True, slots=True)
class SpaceFinding:
    """One thing that keeps a space from being used. ``path``: keys from the section down."""

    path: Path
    why: str
    remedy: str
    value: str | None = None  # None: the key's own value as written


class SpaceError(ValueError):
    """The space can't be used. ``findings`` holds all that was found."""

    def __init__(self, findings: list[SpaceFinding]) -> None:
        super().__init__("; ".join(f"{one.path}: {one.why}, {one.remedy}" for one in findings))
        self.findings = tuple(findings)


def built_space(form: SpaceSection, folder: str) -> Space:
    """The space that a form describes; files count from ``folder``.

    Raises SpaceError with all that is wrong, at the keys where it is.
    """
    at = form.place
    place = None if at is None else PackPlace(turns_deg=at.turns_deg, at_mm=at.at_mm)
    return replace(_built(form, folder), open_sides=form.open_sides, place=place)


def _built(form: SpaceSection, folder: str) -> Space:
    """The same, whatever of it is open."""
    found = [*_about_shape(form), *_about_bodies(form)]
    if found:
        raise SpaceError(found)
    notes: list[str] = []
    files = _files_read(form, folder)
    room = _tried(lambda: _room(form, files, notes), ("file",), found)
    bodies: list[Solid] = []
    for number, entry in enumerate(form.keep_out):
        body = _tried(
            lambda entry=entry, number=number: _body(  # type: ignore[misc]
                entry, files.get(number), notes
            ),
            ("keep_out", number),
            found,
        )
        bodies += [] if body is None else [body]
    if found:
        raise SpaceError(found)
    assert room is not None
    if form.is_ == "surroundings":
        assert isinstance(room, Solid)
        return Space(
            room=None, keep_out=(room, *bodies), source=form.file or "", notes=tuple(notes)
        )
    space = Space(room=room, keep_out=tuple(bodies), source=form.file or "")
    notes += [
        f"keep_out {body.name} lies outside the room and changes nothing: are its coordinates "
        "the room's?"
        for body in bodies
        if _apart(space, body)
    ]
    return Space(room=room, keep_out=space.keep_out, source=space.source, notes=tuple(notes))


def _tried(make: Callable[[], Value], path: Path, found: list[SpaceFinding]) -> Value | None:
    """What ``make`` gives, or None and a finding."""
    try:
        return make()
    except UnreadableError as error:
        key = error.key if path == ("file",) else (*path, *error.key)
        found.append(SpaceFinding(path=key, why=error.why, value=error.value, remedy=error.remedy))
    except PlanError as error:
        words = error.field.split(".")[1:]  # without the section's name
        own = tuple(int(word) - 1 if word.isdecimal() else word for word in words)
        found.append(SpaceFinding(path=own, why=error.why, value=error.value, remedy=error.remedy))
    return None


def _files_read(form: SpaceSection, folder: str) -> dict[int, Read | UnreadableError]:
    """All files that a space names, by the number of their keep-out; the room's is ``ROOM``."""
    files: dict[int, SpaceFile] = {}
    if form.file is not None:
        files[ROOM] = SpaceFile(
            path=os.path.join(folder, form.file),
            name=form.file,
            units=form.units,
            as_name=form.is_,
            mend=form.mend,
            use=form.is_,
            height_mm=form.height_mm,
        )
    for number, entry in enumerate(form.keep_out):
        if entry.file is not None:
            files[number] = SpaceFile(
                path=os.path.join(folder, entry.file),
                name=entry.file,
                units=entry.units,
                as_name=entry.name,
                mend=entry.mend,
                use="keep_out",
            )
    return dict(zip(files, read_space_files(list(files.values())), strict=True))


def _taken(read: Read | UnreadableError | None, notes: list[str]) -> Prism | Solid:
    """What a file has given. Raises UnreadableError."""
    assert read is not None
    if isinstance(read, UnreadableError):
        raise read
    shape, said = read
    notes += said
    return shape


def _room(
    form: SpaceSection, files: dict[int, Read | UnreadableError], notes: list[str]
) -> Prism | Solid:
    if form.box_mm is not None:
        room = box_space(form.box_mm).room
        assert room is not None
        return room
    if form.outline_mm is not None:
        from layouts.spaces.outline import sound_prism  # shapely: not needed for a box

        assert form.height_mm is not None
        return sound_prism(form.outline_mm, form.holes_mm, form.height_mm)
    return _taken(files.get(ROOM), notes)


def _body(entry: KeepOutEntry, read: Read | UnreadableError | None, notes: list[str]) -> Solid:
    from layouts.spaces.bodies import box_solid, cylinder_solid  # arrays: not needed for a box

    field = f"space.{entry.name}"
    try:
        if entry.box_mm is not None:
            return box_solid(entry.name, *entry.box_mm, field=field)
        if entry.cylinder is not None:
            round_one = entry.cylinder
            return cylinder_solid(
                entry.name, round_one.from_mm, round_one.to_mm, round_one.radius_mm, field=field
            )
    except PlanError as error:
        key = ("box_mm",) if entry.box_mm is not None else ("cylinder",)
        raise UnreadableError(error.why, error.remedy, error.value, key=key) from error
    solid = _taken(read, notes)
    assert isinstance(solid, Solid)
    return solid


def _apart(space: Space, body: Solid) -> bool:
    """Whether a body and the room's box have no volume in common."""
    low, size = space.low_mm, space.box_mm
    ends = [(a, a + b) for a, b in zip(low, size, strict=True)]
    own = zip(body.vertices_mm.min(axis=0), body.vertices_mm.max(axis=0), strict=True)
    if any(a >= high or b <= below for (a, b), (below, high) in zip(own, ends, strict=True)):
        return True
    if not isinstance(space.room, Prism) or len(space.room.outline_mm) == 4:
        return False
    import shapely

    from layouts.spaces.triangles import shadow

    plan = shapely.Polygon(space.room.outline_mm, space.room.holes_mm)
    return not shadow(body, 0.0, space.room.height_mm).intersection(plan).area > 0.0


def _about_shape(form: SpaceSection) -> Iterator[SpaceFinding]:
    """The shape is given once, and every other key belongs to it."""
    given = [key for key in SHAPES if getattr(form, key) is not None]
    yield from _exactly_one(given, SHAPES, ())
    if len(given) != 1:
        return
    shape = given[0]
    drawing = shape == "file" and (form.file or "").lower().endswith(DRAWINGS)
    mesh = shape == "file" and not drawing
    over = "a drawing" if drawing else shape
    if shape == "outline_mm" or drawing:
        if form.height_mm is None:
            yield SpaceFinding(
                path=("height_mm",),
                why=f"is missing: {over} is flat",
                remedy="add height_mm: the room's height over the outline",
            )
    elif form.height_mm is not None:
        yield _stray("height_mm", "outline_mm or a drawing", form)
    if form.holes_mm and shape != "outline_mm":
        yield _stray("holes_mm", "outline_mm", form)
    if form.units is not None and shape != "file":
        yield _stray("units", "file", form)
    if form.mend and not mesh:
        yield _stray("mend", "a mesh", form)
    if form.is_ == "surroundings" and not mesh:
        yield _stray("is", "a mesh or solid", form)


def _about_bodies(form: SpaceSection) -> Iterator[SpaceFinding]:
    """The same for each keep-out; no two of one name."""
    names = Counter(entry.name for entry in form.keep_out)
    told: set[str] = set()
    for number, entry in enumerate(form.keep_out):
        path: Path = ("keep_out", number)
        given = [key for key in BODIES if getattr(entry, key) is not None]
        yield from _exactly_one(given, BODIES, path)
        if names[entry.name] > 1 and entry.name in told:
            yield SpaceFinding(
                path=(*path, "name"),
                why="is the name of another keep_out too",
                remedy="name each so that messages can tell them apart",
            )
        told.add(entry.name)
        if given and given != ["file"] and "file" not in given:
            for key in ("units", "mend"):
                if getattr(entry, key):
                    yield SpaceFinding(
                        path=(*path, key), why="goes with file, which is not given",
                        remedy="delete it",
                    )  # fmt: skip


def _exactly_one(given: list[str], choices: tuple[str, ...], path: Path) -> Iterator[SpaceFinding]:
    listed = f"{', '.join(choices[:-1])} or {choices[-1]}"
    if not given:
        yield SpaceFinding(
            path=path, why="says nothing of its shape", remedy=f"add {listed}", value=""
        )
    elif len(given) > 1:
        yield SpaceFinding(
            path=(*path, given[1]),
            why=f"is given beside {given[0]}, and a shape is given once",
            remedy=f"keep one of {listed}",
            value=given[1],
        )


def _stray(key: str, owner: str, form: SpaceSection) -> SpaceFinding:
    shape = next(one for one in SHAPES if getattr(form, one) is not None)
    return SpaceFinding(
        path=(key,), why=f"goes with {owner}, not with this {shape}", remedy="delete it"
    )
