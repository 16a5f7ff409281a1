"""From a pack file to a ``Pack``: read, check, fill in defaults, with all faults at once."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, replace

from generators.packfile.cautions import cautions_of
from generators.packfile.checking import Checked
from generators.packfile.dropped import without_dropped
from generators.packfile.faults import Caution, Fault, PackFileError, Path
from generators.packfile.loader import LARGEST_BYTES, Document, load
from generators.packfile.printer_file import with_printer_file
from generators.packfile.renamed import with_new_names
from generators.packfile.space_file import with_space_file
from layouts.errors import PlanError
from layouts.pack import Pack

__all__ = ["ReadPack", "parse_pack", "read_pack"]


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadPack:
    """A sound pack file: the pack, what to be careful about, and the file's text.

    ``file`` is how messages call it; ``document`` knows the line of every key. ``renamed``: those
    of the cautions that tell of former names and of keys that are no more.
    """

    file: str
    pack: Pack
    cautions: tuple[Caution, ...]
    source_text: str
    document: Document
    renamed: tuple[Caution, ...] = ()

    def refused(self, *errors: PlanError) -> PackFileError:
        """A plan's refusals as faults of this file, each at the line of the field it names."""
        return PackFileError(self.file, [self._fault(error) for error in errors])

    def changed(self, changes: Mapping[str, object]) -> Pack:
        """The pack of this file with some keys at other values, by their whole names.

        What a bracket's script gave stays. Raises PackFileError where the file is then at fault.
        """
        document, _ = with_new_names(load(self.source_text.encode()), self.file)
        values = deepcopy(document.values)
        for key, value in changes.items():
            *sections, last = key.split(".")
            inner = values
            for section in sections:
                below = inner.setdefault(section, {})
                assert isinstance(below, dict)  # a section, since the file is sound
                inner = below
            inner[last] = value  # type: ignore[assignment]
        pack = parse_pack(json.dumps(values).encode(), self.file).pack
        return replace(pack, mount=replace(pack.mount, given=self.pack.mount.given))

    def _fault(self, error: PlanError) -> Fault:
        path: Path = tuple(error.field.split("."))
        value = error.value or self.document.written.get(path)
        return self.document.fault(path, why=error.why, value=value, remedy=error.remedy)


def read_pack(file: str | os.PathLike[str]) -> ReadPack:
    """Read a pack file.

    Raises PackFileError with all its faults, also where the file can't be opened.
    """
    name = os.fsdecode(file)
    try:
        with open(file, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        fault = Fault(
            line=1,
            field="file",
            why="can't be read",
            value=why,
            remedy="give the path of a pack file; cellstead example prints one",
        )
        raise PackFileError(name, [fault]) from error
    return parse_pack(data, name)


def parse_pack(data: bytes, file: str) -> ReadPack:
    """The same from a file's bytes; ``file`` is how messages call it, and paths in it count
    from its folder."""
    folder = os.path.dirname(file)
    whole = with_printer_file(with_space_file(load(data), folder), folder)
    document, renamed = with_new_names(whole, file)
    document, dropped = without_dropped(document, file)
    renamed = (*renamed, *dropped)
    faults = list(document.faults)
    if not document.whole:
        raise PackFileError(file, faults)
    checked = Checked(document, folder)
    faults += checked.faults
    if faults:
        raise PackFileError(file, faults)
    pack = checked.pack
    return ReadPack(
        file=file,
        pack=pack,
        cautions=(*renamed, *cautions_of(pack, checked.form)),
        renamed=renamed,
        source_text=data.decode("utf-8-sig"),
        document=document,
    )
