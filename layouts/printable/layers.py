"""One part's layers, each its own where walls lean, with what one has more than another."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.parts.part import Part
from layouts.printable.bed_item import BedItem
from layouts.printer_spec import Printer
from layouts.printing.sections import LayerStack, layer_stack, section_at

__all__ = ["PartLayers", "Step", "pieces_of"]

NOISE_MM2 = 1e-4  # of a difference of two sections

Seen = TypeVar("Seen")


class Step(NamedTuple):
    """Layer ``layer``, whose section ``above`` is another than that of the layer below it."""

    layer: int
    below: int
    above: int


class PartLayers:
    """Layers of one copy of a part, with the loose bodies that are printed beside it.

    Differences of sections are computed once for all checks that look at them. ``items``: what
    goes through its first layer, or beside it."""

    def __init__(self, part: Part, printer: Printer, items: Sequence[BedItem] = ()) -> None:
        self.part, self.printer, self.items = part, printer, tuple(items)
        self.stack: LayerStack = layer_stack(part, printer.layer_mm, leaning_layers=1)
        self._more: dict[tuple[int, int], NDArray[np.object_]] = {}
        self._known: dict[str, Any] = {}

    @property
    def layer_mm(self) -> float:
        """Height of a layer."""
        return self.stack.layer_mm

    def once(self, name: str, look: Callable[[PartLayers], Seen]) -> Seen:
        """What a look gives, looked only once for all checks that need it."""
        if name not in self._known:
            self._known[name] = look(self)
        return cast(Seen, self._known[name])

    def pins(self) -> list[tuple[BaseGeometry, float]]:
        """Plan and top [mm] of each loose body that is printed beside the part."""
        tops = [one.box_mm()[1][2] for one in self.part.supports]
        return [
            (section_at(one, top - self.layer_mm / 2.0), top)
            for one, top in zip(self.part.supports, tops, strict=True)
        ]

    def section(self, number: int) -> BaseGeometry:
        """The section of that number."""
        return self.stack.sections[number]

    def floor_mm(self, layer: int) -> float:
        """Height of a layer's underside; ``layer`` counts from 0."""
        return round(layer * self.layer_mm, 6)

    def steps(self) -> list[Step]:
        """Where sections change, each pair of sections once, from below."""
        found: dict[tuple[int, int], Step] = {}
        for layer, (below, above) in enumerate(
            zip(self.stack.of, self.stack.of[1:], strict=False), start=1
        ):
            if below != above:
                found.setdefault((below, above), Step(layer, below, above))
        return list(found.values())

    def more(self, one: int, other: int) -> NDArray[np.object_]:
        """Pieces of section ``one`` that section ``other`` does not have."""
        if one == other:
            return np.array([], dtype=object)
        if (one, other) not in self._more:
            left = shapely.difference(self.section(one), self.section(other))
            self._more[one, other] = pieces_of(left)
        return self._more[one, other]


def pieces_of(shape: BaseGeometry) -> NDArray[np.object_]:
    """The polygons of a shape that are more than noise."""
    parts: NDArray[np.object_] = shapely.get_parts(shape)
    parts = parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON]
    kept: NDArray[np.object_] = parts[shapely.area(parts) > NOISE_MM2]
    return kept
