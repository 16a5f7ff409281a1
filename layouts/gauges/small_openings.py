"""What small holes, slots, notches and walls of a fit gauge add to its main readings."""

from __future__ import annotations

from layouts.gauges.values import GaugeDrawn, GaugeReadings, MeasuredValue

__all__ = ["told_of_small_openings"]

SCREW_OUTSIDE_MM, SCREW_OUTSIDE_OFF_MM = 2.93, 0.05  # M3 6g, 2.874 to 2.980; from memory


def told_of_small_openings(
    drawn: GaugeDrawn, readings: GaugeReadings, hole: MeasuredValue, outside: MeasuredValue
) -> list[str]:
    """A line for each that was read; where it disagrees with the pockets, that is said."""
    notes = []
    if readings.took_screw:
        least = min(drawn.screws[one] for one in readings.took_screw)
        narrower = [one for one in drawn.screws_mm if one < least]
        text = f"an M3 screw goes into holes drawn {least:g} mm and wider"
        if narrower:
            small = (least + max(narrower)) / 2 - SCREW_OUTSIDE_MM
            off = (least - max(narrower)) / 2 + SCREW_OUTSIDE_OFF_MM
            text += f": they come out {small:.2f} mm less (+-{off:.2f})"
            if abs(small - hole.value) > off + hole.plus_minus:
                text += (
                    f", pockets {hole.value:.2f}, and hole_mm is the pockets': drill small holes "
                    "to size"
                )
        notes.append(text)
    if readings.insert_best is not None:
        best = drawn.inserts[readings.insert_best]
        notes.append(
            f"an insert stands best in the hole drawn {best:g} mm; "
            f"{drawn.inserts_mm[0] + hole.value:.2f} is drawn with hole_mm"
        )
    if readings.took_strip:
        least = min(drawn.notches[one] for one in readings.took_strip)
        notes.append(f"the strip goes into notches drawn {least:g} mm and wider")
    if readings.slots_open:
        least = min(drawn.slots[one] for one in readings.slots_open)
        notes.append(
            f"slots of {least:g} mm and wider are open; sides that grow by {outside.value:.2f} "
            f"close those below {max(0.0, 2 * outside.value):.2f}"
        )
    if readings.walls_whole:
        notes.append(f"walls of {', '.join(readings.walls_whole)} lines are whole")
    return notes
