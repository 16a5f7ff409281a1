"""The harness: every wire to cut, what is done at its ends, how it is held."""

from __future__ import annotations

from collections.abc import Iterator

from generators.drawings.linework import sheet_svg
from generators.drawings.wiring_plan import wiring_plan
from generators.report.values import Figure, Table
from layouts.planning.pack_plan import PackPlan
from layouts.ratings.bms import Port
from layouts.wiring.ways import WireWay

__all__ = ["harness_table", "wiring_figure"]

WITHIN_MM = (260.0, 170.0)
OUTSIDE = "outside: a tie at the plug"


def wiring_figure(plan: PackPlan) -> Figure | None:
    """The wiring plan; None where the ways are not decided."""
    if plan.enclosure_set is None or not plan.enclosure.ways:
        return None
    return Figure(
        svg=sheet_svg(wiring_plan(plan), within_mm=WITHIN_MM),
        caption="Every wire in its place; thick: main leads, thick and dashed: charge leads, thin: "
        "balance leads of the lower face, thin and dashed: of the upper face. Numbers as in the "
        "harness table; put a numbered sleeve on both ends of each wire.",
    )


def harness_table(plan: PackPlan) -> Table | None:
    """Every wire, balance leads in the order of the plug's pins; None where there are no ways."""
    if plan.enclosure_set is None or not plan.enclosure.ways:
        return None
    ways = plan.enclosure.ways
    return Table(
        title="Harness: wires to cut",
        headings=("wire", "from", "to", "section", "length", "held by"),
        rows=(*(_row(way) for way in ways if not way.loom), *_outside(plan),
                    *(_row(way) for way in ways if way.loom)),
        note="Lengths are the ways drawn, with what ends and glands take, rounded up to 5 mm. "
        "Where a lead goes on outside, leads.length_mm is in it. Pin 0 of the balance plug is pack "
        "minus; on some boards pins count the other way: measure each against pack minus before "
        "the plug goes in.",
    )  # fmt: skip


def _row(way: WireWay) -> tuple[str, ...]:
    first, last = (f"{end.told} ({end.joint})" for end in way.ends)
    if way.loom:
        held = "the other balance leads: a tie every 50 mm"
    elif way.number == "M1":
        held = "the balance leads: a tie at its middle"
    else:
        held = "its gland" if way.number == "C2" else "its gland, a tie round its post"
    area = f"{way.area_mm2:.2g} mm2" if way.loom else f"{way.area_mm2:g} mm2"
    return way.number, first, last, f"{area}, {way.gauge}", f"{way.cut_mm:.0f} mm", held


def _outside(plan: PackPlan) -> Iterator[tuple[str, ...]]:
    """Wires that begin behind the glands."""
    pack = plan.pack
    yield (
        "M4", "main fuse (crimped)", "connector + (crimped)", f"{pack.leads.wire_mm2:g} mm2",
        f"{pack.leads.length_mm:.0f} mm", OUTSIDE,
    )  # fmt: skip
    if pack.charger is None or pack.charger.wire_mm2 is None:
        return
    section = f"{pack.charger.wire_mm2:g} mm2"
    yield (
        "C1", "M4 behind the main fuse (crimped), its own fuse first", "charge port + (crimped)",
        section, "to the port", OUTSIDE,
    )  # fmt: skip
    if pack.bms.port is not Port.SEPARATE:
        yield (
            "C2", "M2 before the connector (crimped)", "charge port - (crimped)", section,
            "to the port", OUTSIDE,
        )  # fmt: skip
