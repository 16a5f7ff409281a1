"""Readings of the fit gauge give back the printer that made it. All printers are invented."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest

from layouts.gauges.reading import CALLIPER_MM, mean_of, read_gauge
from layouts.gauges.sizes import gauge_sizes
from layouts.gauges.values import (
    AllOrNoneFitError,
    GaugeReadings,
    PrinterMeasured,
    ReadingError,
    drawn_of,
)
from tests.samples import sample_pack

DRAWN = drawn_of(gauge_sizes(sample_pack()))
# scale 0.996 in x, 0.998 in y, sides 0.06 more, first layer 0.15 more, z true:
# 100 x 0.996 + 0.12 = 99.72, 20 x 0.996 + 0.12 = 20.04; 99.92, 20.08; 99.72 + 0.30 = 100.02
WORKED = GaugeReadings(
    can_mm=21.16,
    took_can=("20", "30", "40"),
    long_mm=(99.72, 99.92, 24.0),
    short_mm=(20.04, 20.08, 3.6),
    foot_mm=(100.02, 100.22),
)


# one sigma of a calliper that reads within its limit 19 times of 20, its display's step of 0.01
# (uniform) taken off
NOISE_MM = math.sqrt((CALLIPER_MM / 1.96) ** 2 - 0.01**2 / 12)


@dataclass(frozen=True, kw_only=True, slots=True)
class InventedPrinter:
    """What it makes of a drawing: L s + 2 o outside, D s - u inside, the foot more."""

    scales: tuple[float, float, float]
    outside_mm: float
    hole_mm: float
    foot_mm: float

    def readings(self, can_mm: float, random: np.random.Generator) -> GaugeReadings:
        """As a calliper shows them that reads within its limit 19 times of 20."""

        def calliper(length_mm: float) -> float:
            return round(length_mm + random.normal(0.0, NOISE_MM), 2)

        def outside(length_mm: float, axis: int, foot_mm: float = 0.0) -> float:
            grown = 0.0 if axis == 2 else 2 * (self.outside_mm + foot_mm)
            return calliper(length_mm * self.scales[axis] + grown)

        took = tuple(
            word
            for word, diameter in DRAWN.pockets.items()
            if diameter * min(self.scales[:2]) - self.hole_mm > can_mm
        )
        long, short = DRAWN.long_mm, DRAWN.short_mm
        return GaugeReadings(
            can_mm=calliper(can_mm),
            took_can=took,
            long_mm=(outside(long[0], 0), outside(long[1], 1), outside(long[2], 2)),
            short_mm=(outside(short[0], 0), outside(short[1], 1), outside(short[2], 2)),
            foot_mm=(outside(long[0], 0, self.foot_mm), outside(long[1], 1, self.foot_mm)),
        )


def drawn_at_random(random: np.random.Generator) -> tuple[InventedPrinter, float]:
    """A printer and a can of which some pockets take and some refuse it."""
    while True:
        printer = InventedPrinter(
            scales=(
                1 - random.uniform(-0.002, 0.008),
                1 - random.uniform(-0.002, 0.008),
                1 - random.uniform(-0.002, 0.004),
            ),
            outside_mm=random.uniform(-0.05, 0.15),
            hole_mm=random.uniform(-0.05, 0.40),
            foot_mm=random.uniform(0.0, 0.30),
        )
        can_mm = DRAWN.can_mm + random.uniform(-0.25, 0.05)
        edges = [d * min(printer.scales[:2]) - printer.hole_mm for d in DRAWN.pockets_mm]
        if edges[0] < can_mm < edges[-1]:
            return printer, can_mm


def hits(printer: InventedPrinter, found: PrinterMeasured) -> dict[str, bool]:
    """Which values lie within their own uncertainty of the truth."""
    x, y, z = found.shrink_percent
    assert z is not None
    true = {
        "hole": (found.hole_mm, printer.hole_mm),
        "outside": (found.outside_mm, printer.outside_mm),
        "foot": (found.foot_mm, printer.foot_mm),
        "x": (x, 100 * (1 - printer.scales[0])),
        "y": (y, 100 * (1 - printer.scales[1])),
        "z": (z, 100 * (1 - printer.scales[2])),
    }
    return {key: abs(one.value - value) <= one.plus_minus for key, (one, value) in true.items()}


@pytest.mark.parametrize(("printers", "least"), [(20, 18), (300, 276)])
def test_printers_are_read_within_the_stated_uncertainty(printers: int, least: int) -> None:
    """Each value by itself, 19 times of 20, less what chance takes of so few; and what is stated is
    no wider than steps and calliper make it."""
    random = np.random.default_rng(1)
    counts: dict[str, int] = {}
    for _ in range(printers):
        printer, can_mm = drawn_at_random(random)
        found = read_gauge(DRAWN, printer.readings(can_mm, random))
        for key, hit in hits(printer, found).items():
            counts[key] = counts.get(key, 0) + hit
        assert found.hole_mm.plus_minus < 0.075
        assert found.outside_mm.plus_minus < 0.010 and found.foot_mm.plus_minus <= 0.0101
        assert found.shrink_percent[0].plus_minus == pytest.approx(0.0354, abs=1e-4)
    assert set(counts) == {"hole", "outside", "foot", "x", "y", "z"}
    assert min(counts.values()) >= least, counts


def test_a_reading_worked_by_hand() -> None:
    """Without noise: the scale by (L1m - L2m) / (L1 - L2), what is left by halves."""
    found = read_gauge(DRAWN, WORKED)
    x, y, z = found.shrink_percent
    assert z is not None
    # (99.72 - 20.04) / 80 = 0.996; (99.92 - 20.08) / 80 = 0.998
    assert (x.value, y.value, z.value) == pytest.approx((0.4, 0.2, 0.0), abs=1e-9)
    # root 2 x 0.02 / 80 and / 20.4
    assert (x.plus_minus, z.plus_minus) == pytest.approx((0.03536, 0.13865), abs=1e-5)
    assert found.outside_mm.value == pytest.approx(0.06)
    # 0.02 x root(100^2 + 20^2) / 160 for one axis, over root 2 for both
    assert found.outside_mm.plus_minus == pytest.approx(0.009014, abs=1e-6)
    assert found.foot_mm.value == pytest.approx(0.15)
    assert found.foot_mm.plus_minus == pytest.approx(0.01)
    # 21.4 refused, 21.5 took: the middle 21.45 x 0.996 = 21.3642, less 21.16
    assert found.hole_mm.value == pytest.approx(0.2042)
    # half a step 0.0498, and root(0.02^2 + (21.45 x 0.00035355)^2) = 0.021390
    assert found.hole_mm.plus_minus == pytest.approx(0.071190, abs=1e-6)
    assert found.notes == ()


def test_a_foot_wider_than_the_pockets_relief_is_told() -> None:
    """It may have held the can where the pocket did not."""
    note = read_gauge(DRAWN, replace(WORKED, foot_mm=(100.16, 100.36))).notes
    assert note[0].startswith("the first layer bulges by more than the 0.2 mm that pockets")


def test_heights_may_stay_blank() -> None:
    """Then nothing is said of z."""
    long, short = WORKED.long_mm, WORKED.short_mm
    blank = replace(WORKED, long_mm=(*long[:2], None), short_mm=(*short[:2], None))
    assert read_gauge(DRAWN, blank).shrink_percent[2] is None


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"took_can": ("10", "30", "40")},
            "took_can: can't be: pocket 10 took the can, the wider pocket 20 refused it, ",
        ),
        ({"can_mm": 20.6}, "can_mm: is more than 0.6 mm off the can of 21.3 "),
        (
            {"long_mm": (94.9, 99.92, 24.0)},
            "long_x_mm: is off the 100 mm drawn by more than 5, measure it again in mm",
        ),
        ({"short_mm": (20.04, 21.1, 3.6)}, "short_y_mm: is off the 20 mm drawn by more than 1, "),
        ({"foot_mm": (100.02, 106.0)}, "foot_y_mm: is off the 100 mm drawn by more than 5, "),
        ({"long_mm": (101.5, 99.92, 24.0)}, "long_x_mm: and short_x_mm give a scale of 1.018, "),
        (
            {"short_mm": (20.4, 20.08, 3.6)},
            "long_x_mm: and the other lengths in x and y can't all be true: a side grows by "
            "0.29 mm along x, by 0.06 along y, ",
        ),
        ({"foot_mm": (99.6, 99.92)}, "foot_x_mm: is less than long_x_mm, "),
        ({"foot_mm": (101.0, 101.2)}, "foot_x_mm: gives 0.64 mm, and a profile takes at most 0.5"),
    ],
)
def test_readings_that_can_not_all_be_true_are_refused(
    changes: dict[str, object], message: str
) -> None:
    """With the field and what to do."""
    with pytest.raises(ReadingError) as caught:
        read_gauge(DRAWN, replace(WORKED, **changes))  # type: ignore[arg-type]
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize(
    ("took", "steps"),
    [
        (("0", "10", "20", "30", "40"), "-0.4 -0.3 -0.2 -0.1 0"),
        ((), "0.4 0.5 0.6 0.7 0.8"),
    ],
)
def test_all_or_none_tells_how_to_move_the_steps(took: tuple[str, ...], steps: str) -> None:
    """And the steps that are told make a gauge on which the same can has a threshold."""
    with pytest.raises(AllOrNoneFitError) as caught:
        read_gauge(DRAWN, replace(WORKED, took_can=took))
    assert caught.value.remedy == (f"move the steps: print again with --can 21.3 --steps {steps}")
    moved = drawn_of(
        gauge_sizes(sample_pack(), can_mm=21.3, steps_mm=[float(one) for one in steps.split()])
    )
    if took:
        readings = replace(WORKED, can_mm=20.98, took_can=tuple(moved.pockets)[1:])
    else:
        readings = replace(WORKED, can_mm=21.3, took_can=tuple(moved.pockets)[1:])
    # (20.9 + 21.0) / 2 x 0.996 - 20.98; (21.7 + 21.8) / 2 x 0.996 - 21.3
    hole = read_gauge(moved, readings).hole_mm
    assert hole.value == pytest.approx(-0.1138 if took else 0.363)


def test_small_openings_add_a_line_each() -> None:
    """A screw's hole that disagrees with the pockets is told; one that agrees is not."""
    more = replace(
        WORKED,
        took_screw=("2", "3", "4"),
        insert_best="2",
        slots_open=("2", "3", "4", "5", "6"),
        walls_whole=("2", "3", "4"),
        took_strip=("2", "3"),
    )
    told = read_gauge(DRAWN, more).notes
    # (3.1 + 3.2) / 2 - 2.93, within half a step and 0.05
    assert told[0] == (
        "an M3 screw goes into holes drawn 3.2 mm and wider: they come out 0.22 mm less (+-0.10)"
    )
    assert told[1] == "an insert stands best in the hole drawn 4.1 mm; 4.20 is drawn with hole_mm"
    assert told[2] == "the strip goes into notches drawn 6.2 mm and wider"
    assert "slots of 0.2 mm and wider are open" in told[3] and "below 0.12" in told[3]
    assert told[4] == "walls of 2, 3, 4 lines are whole"
    wide = read_gauge(DRAWN, replace(more, took_screw=("4",))).notes[0]
    assert "they come out 0.42 mm less (+-0.10), pockets 0.20" in wide


def test_two_prints_give_their_mean_and_how_far_they_lie_apart() -> None:
    """The uncertainty covers both, and is never less than one print's."""
    other = replace(WORKED, long_mm=(99.56, 99.92, 24.0), foot_mm=(99.86, 100.22))
    one, two = read_gauge(DRAWN, WORKED), read_gauge(DRAWN, other)
    both = mean_of((one, two))
    assert mean_of((one,)) is one
    # (99.56 - 20.04) / 80 = 0.994
    assert both.shrink_percent[0].value == pytest.approx(0.5)
    assert both.shrink_percent[0].plus_minus == pytest.approx(0.1)
    assert both.shrink_percent[1] == one.shrink_percent[1]
    assert both.hole_mm.plus_minus == pytest.approx(one.hole_mm.plus_minus, rel=0.01)
    assert both.notes[0].startswith("the scale of 2 prints differs by 0.20 % along x or y, of")
