"""What a printed fit gauge tells: how much less holes come out, how much more outsides, the
shrinkage along each axis and the bulge of the first layer, each with its uncertainty.

The printer is taken to make, of what is drawn, outside lengths L s + 2 o and holes D s - u, with a
scale s along each axis, the growth o of a side and the undersize u in diameter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from layouts.gauges.sizes import RELIEF_MM
from layouts.gauges.small_openings import told_of_small_openings
from layouts.gauges.values import (
    AllOrNoneFitError,
    GaugeDrawn,
    GaugeReadings,
    MeasuredValue,
    PrinterMeasured,
    ReadingError,
)

__all__ = ["CALLIPER_MM", "mean_of", "read_gauge"]

# A calliper reads within so much, 19 times of 20; judged: two steps of its display
CALLIPER_MM = 0.02
OFF_SHARE = 0.05  # no printer is off by more; judged, the greatest shrinkage that profiles take
MOST_SCALE = 1.01  # the other limit of the pack file's key
CAN_OFF_MM = 0.6  # a sleeve more or less, and the spread of makers; judged
MOST_MM = 0.5  # of hole, outside and foot: the limit of the pack file's keys
# Corners, walls and layers are laid alike along x and y: where sides grow so differently, a length
# is misread; judged
SIDES_DIFFER_MM = 0.15
AXES = "xyz"


def read_gauge(drawn: GaugeDrawn, readings: GaugeReadings) -> PrinterMeasured:
    """The printer by one gauge. Raises ReadingError for readings that can't all be true,
    AllOrNoneFitError where no threshold lies between the pockets."""
    _refuse_far_off(drawn, readings)
    low, high = _threshold_mm(drawn, readings)
    scales = [_scale(drawn, readings, axis) for axis in range(3)]
    x, y = scales[0], scales[1]
    assert x is not None and y is not None  # their lengths are no blanks
    outside = _outside(drawn, readings, (x.value, y.value))
    hole = _hole(readings.can_mm, (low, high), min((x, y), key=lambda one: one.value))
    foot = _foot(readings)
    for field, one in (("took_can", hole), ("long_x_mm", outside), ("foot_x_mm", foot)):
        _refuse_over(field, one)
    shrink = [_shrink(one) for one in scales]
    assert shrink[0] is not None and shrink[1] is not None
    return PrinterMeasured(
        hole_mm=hole,
        outside_mm=outside,
        shrink_percent=(shrink[0], shrink[1], shrink[2]),
        foot_mm=foot,
        notes=(
            *_told_of_foot(foot),
            *told_of_small_openings(drawn, readings, hole, outside),
        ),
    )


def mean_of(several: Sequence[PrinterMeasured]) -> PrinterMeasured:
    """The mean of several prints. Its uncertainty is not less than that of one print: what differs
    from print to print is added, not averaged away. A note tells how far scales lay apart."""
    if len(several) == 1:
        return several[0]
    plane = [[one.shrink_percent[0] for one in several], [one.shrink_percent[1] for one in several]]
    apart = max(_apart(axis) for axis in plane)
    by_calliper = math.sqrt(2.0) * max(one.plus_minus for axis in plane for one in axis)
    heights = [one.shrink_percent[2] for one in several]
    known = [one for one in heights if one is not None]
    return PrinterMeasured(
        hole_mm=_mean([one.hole_mm for one in several]),
        outside_mm=_mean([one.outside_mm for one in several]),
        shrink_percent=(_mean(plane[0]), _mean(plane[1]), _mean(known) if known else None),
        foot_mm=_mean([one.foot_mm for one in several]),
        notes=(
            f"the scale of {len(several)} prints differs by {apart:.2f} % along x or y, "
            f"of which the calliper alone may make {by_calliper:.2f}",
            *dict.fromkeys(note for one in several for note in one.notes),
        ),
    )


def _apart(values: Sequence[MeasuredValue]) -> float:
    numbers = [one.value for one in values]
    return max(numbers) - min(numbers)


def _mean(values: Sequence[MeasuredValue]) -> MeasuredValue:
    mean = math.fsum(one.value for one in values) / len(values)
    spread = max(abs(one.value - mean) for one in values)
    return MeasuredValue(value=mean, plus_minus=max(spread, max(one.plus_minus for one in values)))


def _refuse_far_off(drawn: GaugeDrawn, readings: GaugeReadings) -> None:
    """Lengths that no printer makes, of which most are slips of the pen."""
    if abs(readings.can_mm - drawn.can_mm) > CAN_OFF_MM:
        raise ReadingError(
            field="can_mm",
            why=f"is more than {CAN_OFF_MM:g} mm off the can of {drawn.can_mm:g} that the gauge "
            "was drawn for",
            remedy="measure it again, sleeve on, or make the gauge anew with --can",
        )
    rows = [(f"{AXES[k]}", "long", drawn.long_mm[k], readings.long_mm[k]) for k in range(3)]
    rows += [(f"{AXES[k]}", "short", drawn.short_mm[k], readings.short_mm[k]) for k in range(3)]
    rows += [(AXES[k], "foot", drawn.long_mm[k], readings.foot_mm[k]) for k in range(2)]
    for axis, which, length, measured in rows:
        if measured is None:
            continue
        # a first layer that is pressed flat is most of 5 % of a thin plate
        most = max(OFF_SHARE * length, MOST_MM)
        if abs(measured - length) > most:
            raise ReadingError(
                field=f"{which}_{axis}_mm",
                why=f"is off the {length:g} mm drawn by more than {most:.3g}",
                remedy="measure it again in mm, and check that the slicer did not scale the part",
            )


def _threshold_mm(drawn: GaugeDrawn, readings: GaugeReadings) -> tuple[float, float]:
    """Diameters drawn of the widest pocket that refused the can and the narrowest that took it."""
    words, diameters = list(drawn.pockets), list(drawn.pockets.values())
    took = [word in readings.took_can for word in words]
    if all(took) or not any(took):
        raise _moved_steps(drawn, readings, all_took=all(took))
    first = took.index(True)
    if not all(took[first:]):
        refused = words[first + took[first:].index(False)]
        raise ReadingError(
            field="took_can",
            why=f"can't be: pocket {words[first]} took the can, the wider pocket "
            f"{refused} refused it",
            remedy="clean both of strings and try the same can again, straight, from above",
        )
    return diameters[first - 1], diameters[first]


def _moved_steps(
    drawn: GaugeDrawn, readings: GaugeReadings, *, all_took: bool
) -> AllOrNoneFitError:
    """How to print again: five steps on, the last of these the first of those."""
    steps = [one - drawn.can_mm for one in drawn.pockets_mm]
    by = steps[0] - steps[-1] if all_took else steps[-1] - steps[0]
    moved = " ".join(f"{round(step + by, 2) + 0.0:g}" for step in steps)
    end = "into all pockets" if all_took else "into no pocket"
    return AllOrNoneFitError(
        field="took_can",
        value=", ".join(readings.took_can) or "none",
        why=f"tells no threshold: the can went {end}",
        remedy=f"move the steps: print again with --can {drawn.can_mm:g} --steps {moved}",
    )


def _scale(drawn: GaugeDrawn, readings: GaugeReadings, axis: int) -> MeasuredValue | None:
    """(L1m - L2m) / (L1 - L2): what grows at the ends is in both lengths."""
    long, short = readings.long_mm[axis], readings.short_mm[axis]
    if long is None or short is None:
        return None
    between = drawn.long_mm[axis] - drawn.short_mm[axis]
    scale = (long - short) / between
    if not 1.0 - OFF_SHARE <= scale <= MOST_SCALE:
        raise ReadingError(
            field=f"long_{AXES[axis]}_mm",
            why=f"and short_{AXES[axis]}_mm give a scale of {scale:.3f}",
            remedy="measure both again: plastic shrinks by less than 5 % and grows by less than 1",
        )
    return MeasuredValue(value=scale, plus_minus=math.sqrt(2.0) * CALLIPER_MM / between)


def _outside(
    drawn: GaugeDrawn, readings: GaugeReadings, scales: tuple[float, float]
) -> MeasuredValue:
    """(L1m - s L1) / 2, the mean of x and y. As (L1 L2m - L2 L1m) / (2 (L1 - L2)) it is off by the
    calliper times root(L1^2 + L2^2) / (2 (L1 - L2))."""
    sides, squares = [], []
    for axis, scale in enumerate(scales):
        measured = readings.long_mm[axis]
        assert measured is not None
        long, short = drawn.long_mm[axis], drawn.short_mm[axis]
        sides.append((measured - scale * long) / 2)
        squares.append((CALLIPER_MM * math.hypot(long, short) / (2 * (long - short))) ** 2)
    if abs(sides[0] - sides[1]) > SIDES_DIFFER_MM:
        raise ReadingError(
            field="long_x_mm",
            value=None,
            why=f"and the other lengths in x and y can't all be true: a side grows by "
            f"{sides[0]:.2f} mm along x, by {sides[1]:.2f} along y",
            remedy="measure long_x_mm, short_x_mm, long_y_mm and short_y_mm again",
        )
    return MeasuredValue(value=sum(sides) / 2, plus_minus=math.sqrt(sum(squares)) / 2)


def _hole(can_mm: float, between_mm: tuple[float, float], scale: MeasuredValue) -> MeasuredValue:
    """s (can + t) - can: t is the middle between the drawn diameters that refused and took the
    can, over the can; s the lesser scale, since a can goes in by the narrower way."""
    low, high = between_mm
    middle = (low + high) / 2
    calliper = math.hypot(CALLIPER_MM, middle * scale.plus_minus)
    return MeasuredValue(
        value=scale.value * middle - can_mm,
        plus_minus=scale.value * (high - low) / 2 + calliper,
    )


def _foot(readings: GaugeReadings) -> MeasuredValue:
    """Half of what a length has more at the bed than above, the mean of x and y."""
    bulges = []
    for axis in range(2):
        above = readings.long_mm[axis]
        assert above is not None
        bulges.append((readings.foot_mm[axis] - above) / 2)
        if bulges[-1] < -2 * CALLIPER_MM:
            name = AXES[axis]
            raise ReadingError(
                field=f"foot_{name}_mm",
                why=f"is less than long_{name}_mm, the same length away from the bed",
                remedy="measure both again; exchange them if they stand in each other's place",
            )
    plus_minus = math.sqrt(2.0) * CALLIPER_MM / 2 / math.sqrt(2.0)
    return MeasuredValue(value=max(0.0, sum(bulges) / 2), plus_minus=plus_minus)


def _told_of_foot(foot: MeasuredValue) -> tuple[str, ...]:
    if foot.value <= RELIEF_MM:
        return ()
    return (
        f"the first layer bulges by more than the {RELIEF_MM:g} mm that pockets are wider there: "
        "cut it off their lower rims, try the can again, and read anew",
    )


def _refuse_over(field: str, one: MeasuredValue) -> None:
    if abs(one.value) > MOST_MM:
        raise ReadingError(
            field=field,
            why=f"gives {one.value:.2f} mm, and a profile takes at most {MOST_MM:g}",
            remedy="check the slicer's flow and line width, print and measure again",
        )


def _shrink(scale: MeasuredValue | None) -> MeasuredValue | None:
    if scale is None:
        return None
    return MeasuredValue(value=100.0 * (1.0 - scale.value), plus_minus=100.0 * scale.plus_minus)
