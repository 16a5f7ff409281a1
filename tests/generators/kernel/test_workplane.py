"""Parts handed to a CadQuery script."""

from __future__ import annotations

import numpy as np
import pytest

from generators.kernel.workplane import assembly, workplane
from layouts.parts.part import Part
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of
from tests.samples import sample_pack


@pytest.fixture(scope="module")
def parts() -> dict[str, Part]:
    """All parts of a small pack by role."""
    return {part.role: part for part in parts_of(plan_pack(sample_pack(2, 2)))}


def test_a_script_can_go_on_from_a_finished_part(parts: dict[str, Part]) -> None:
    """A hole drilled through a lid's plate takes away a cylinder of the lid's thickness."""
    lid = workplane(parts["lid"])
    low = lid.val().BoundingBox()
    at = ((low.xmin + low.xmax) / 2 + 12.0, (low.ymin + low.ymax) / 2)
    hole = lid.copyWorkplane(type(lid)("XY")).center(*at).circle(1.0).extrude(3.0, combine=False)
    rest = lid.cut(hole)
    assert lid.val().Volume() == pytest.approx(parts["lid"].drawing.volume_mm3(), rel=1e-6)
    assert lid.val().Volume() - rest.val().Volume() == pytest.approx(3.0 * np.pi, rel=1e-6)


def test_assembly_puts_every_copy_where_it_belongs(parts: dict[str, Part]) -> None:
    """The brackets' copies and the upper holder stand as their matrices say."""
    whole = assembly(list(parts.values()), "small")
    assert len(whole.children) == sum(len(part.placed) for part in parts.values())
    upper = next(child for child in whole.children if child.name.startswith("holder-upper"))
    box = upper.obj.val().located(upper.loc).BoundingBox()
    top = parts["holder_upper"].placed[0][2, 3]
    assert box.zmax == pytest.approx(top, abs=1e-6)
