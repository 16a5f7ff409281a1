"""The assembly's STEP file, built from the part files' own text: no solid is written twice.

Each part's data section is taken over once, its entities renumbered, and placed copies refer
to it. What is written is what the kernel itself writes for such an assembly (ISO 10303-21
text, AP214 structure): product, next-assembly usage, and a transformation for each copy.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np

from generators.exports.step import STAMP, StepPlace
from layouts.parts.part import check_rigid

__all__ = ["write_assembly"]

_REFERENCE = re.compile(r"#(\d+)")
_BOUND_TO = re.compile(r"#(\d+) = SHAPE_DEFINITION_REPRESENTATION\(#\d+,#(\d+)\)")
_DEFINITION = re.compile(r"#(\d+) = PRODUCT_DEFINITION\(")
_ORIGIN = re.compile(r"#(\d+) = AXIS2_PLACEMENT_3D\(")
_ENTITY = re.compile(r"#(\d+) = ")
# A part file's first two entities are the protocol and its context: the assembly has its own.
_SHARED = 2
_IN_A_LINE = 6  # references: the kernel breaks its lines too, 10,000 cells would make one of 70 kB

_HEAD = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('Open CASCADE Model'),'2;1');
FILE_NAME({title},'{stamp}',('Author'),('Open CASCADE'),
  'Open CASCADE STEP processor 7.9','Open CASCADE 7.9','Unknown');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));
ENDSEC;
DATA;
#1 = APPLICATION_PROTOCOL_DEFINITION('international standard',
  'automotive_design',2000,#2);
#2 = APPLICATION_CONTEXT(
  'core data for automotive mechanical design processes');
#3 = SHAPE_DEFINITION_REPRESENTATION(#4,#10);
#4 = PRODUCT_DEFINITION_SHAPE('','',#5);
#5 = PRODUCT_DEFINITION('design','',#6,#9);
#6 = PRODUCT_DEFINITION_FORMATION('','',#7);
#7 = PRODUCT({title},{title},'',(#8));
#8 = PRODUCT_CONTEXT('',#2,'mechanical');
#9 = PRODUCT_DEFINITION_CONTEXT('part definition',#2,'design');
"""
_UNITS = """#{0} = ( GEOMETRIC_REPRESENTATION_CONTEXT(3)
GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#{4})) GLOBAL_UNIT_ASSIGNED_CONTEXT(
(#{1},#{2},#{3})) REPRESENTATION_CONTEXT('Context #1',
  '3D Context with UNIT and UNCERTAINTY') );
#{1} = ( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) );
#{2} = ( NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.) );
#{3} = ( NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT() );
#{4} = UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),#{1},
  'distance_accuracy_value','confusion accuracy');
#{5} = PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(#7));
"""


def write_assembly(
    path: Path, part_files: Mapping[str, Path], places: Sequence[StepPlace], title: str
) -> None:
    """Write placed copies of parts; ``part_files``: STEP file of each kind, from this package.

    Part by part, so memory holds one part's text at a time. Raises ValueError for an empty
    assembly, a repeated name, an unknown kind, a placement that mirrors or stretches or a file
    that is no whole part file, and OSError when a file can't be read or written.
    """
    names = [place.name for place in places]
    if not names or len(set(names)) < len(names):
        raise ValueError(f"{path.name}: an assembly needs places, each with its own name")
    unknown = {place.kind for place in places} - set(part_files)
    if unknown:
        raise ValueError(f"{path.name}: no part file for {', '.join(sorted(unknown))}")
    for place in places:
        check_rigid(place.matrix, what=place.name)
    with path.open("w", encoding="latin-1", newline="\n") as out:
        out.write(_HEAD.format(title=_quoted(title), stamp=STAMP))
        first = 10 + 1  # entity 10 is the root's own representation
        frames = [first + 4 * k for k in range(len(places) + 1)]
        context = frames[-1] + 4
        rows = (frames[k : k + _IN_A_LINE] for k in range(0, len(frames), _IN_A_LINE))
        items = ",\n  ".join(",".join(f"#{frame}" for frame in row) for row in rows)
        out.write(f"#10 = SHAPE_REPRESENTATION('',({items}),#{context});\n")
        out.write(_frame(frames[0], np.eye(4)))
        for frame, place in zip(frames[1:], places, strict=True):
            out.write(_frame(frame, place.matrix))
        out.write(_UNITS.format(*range(context, context + 6)))
        free, number = context + 6, 0
        for kind, file in part_files.items():
            mine = [k for k, place in enumerate(places) if place.kind == kind]
            if not mine:
                continue
            part = _StepPart(file, free)
            out.write(part.text)
            free = part.free
            for k in mine:
                number += 1
                out.write("".join(_placed(part, free, frames[k + 1], number, places[k].name)))
                free += 5
        out.write("ENDSEC;\nEND-ISO-10303-21;\n")


class _StepPart:
    """One part file's entities, renumbered from ``first`` on, and the ones that copies refer to."""

    def __init__(self, file: Path, first: int) -> None:
        text = file.read_bytes().decode("latin-1").replace("\r\n", "\n")
        head, start, own = text.partition("\n#3 = ")
        own, end, _ = (start[1:] + own).rpartition("ENDSEC;")
        found = _BOUND_TO.search(own), _DEFINITION.search(own), _ORIGIN.search(own)
        if None in found or not end or "\nDATA;\n#1 = APPLICATION_PROTOCOL_DEFINITION" not in head:
            raise ValueError(f"{file.name}: not a whole part file of this package")
        bound, definition, origin = (match for match in found if match is not None)
        last = int(_ENTITY.findall(own[own.rindex("\n#") :])[-1])
        shift = first - _SHARED - 1
        # the context of the application stays number 2; all others move up
        table = ["", "#1", "#2", *(f"#{k + shift}" for k in range(3, last + 1))]
        pieces = _REFERENCE.split(own)
        pieces[1::2] = [table[int(number)] for number in pieces[1::2]]
        self.text = "".join(pieces)
        self.free = last + shift + 1
        self.shape = int(bound[2]) + shift
        self.definition = int(definition[1]) + shift
        self.origin = int(origin[1]) + shift


def _placed(part: _StepPart, free: int, frame: int, number: int, name: str) -> Iterator[str]:
    """The five entities of one copy."""
    yield f"#{free} = CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(#{free + 1},#{free + 3});\n"
    yield (
        f"#{free + 1} = ( REPRESENTATION_RELATIONSHIP('','',#{part.shape},#10)\n"
        f"REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(#{free + 2})\n"
        "SHAPE_REPRESENTATION_RELATIONSHIP() );\n"
    )
    yield f"#{free + 2} = ITEM_DEFINED_TRANSFORMATION('','',#{part.origin},#{frame});\n"
    yield f"#{free + 3} = PRODUCT_DEFINITION_SHAPE('Placement','Placement of an item',"
    yield f"#{free + 4});\n"
    yield (
        f"#{free + 4} = NEXT_ASSEMBLY_USAGE_OCCURRENCE('{number}',{_quoted(name)},'',#5,"
        f"#{part.definition},$);\n"
    )


def _frame(number: int, matrix: np.ndarray) -> str:
    """Axis placement of a (4, 4) turn and shift: four entities."""
    # 12 decimals: cos 90 degrees becomes 0, whichever way the matrix was multiplied
    rows = np.round(np.asarray(matrix, dtype=np.float64), 12) + 0.0
    at, z, x = (",".join(_real(v) for v in rows[:3, k].tolist()) for k in (3, 2, 0))
    return (
        f"#{number} = AXIS2_PLACEMENT_3D('',#{number + 1},#{number + 2},#{number + 3});\n"
        f"#{number + 1} = CARTESIAN_POINT('',({at}));\n"
        f"#{number + 2} = DIRECTION('',({z}));\n"
        f"#{number + 3} = DIRECTION('',({x}));\n"
    )


def _real(value: float) -> str:
    """A number as ISO 10303-21 wants it: always with a point."""
    text = repr(value).upper()
    mantissa, exponent, power = text.partition("E")
    if "." not in mantissa:
        mantissa += "."
    return mantissa.removesuffix("0") + exponent + power if mantissa.endswith(".0") else text


def _quoted(text: str) -> str:
    """A string of ISO 10303-21; names here are letters, digits, - and _ (and spaces)."""
    return "'" + text.replace("\\", "\\\\").replace("'", "''") + "'"
