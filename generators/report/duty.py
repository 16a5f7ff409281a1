"""The report's tables of a duty cycle: its means, run time, heat, and its pulses on the fuse."""

from __future__ import annotations

from generators.report.values import Table
from layouts.electrical.cycled import Cycled
from layouts.electrical.values import Electrical
from layouts.pack import Pack
from layouts.ratings.cycle import DutyCycle
from layouts.ratings.fuse_pulses import PULSE_SHARE, carries_s

__all__ = ["cycle_tables"]

DAY_S = 86_400.0


def cycle_tables(pack: Pack, of: Electrical) -> tuple[Table, ...]:
    """Nothing where the file has no ``load.cycle``."""
    cycle = None if pack.load is None else pack.load.cycle
    if cycle is None or of.cycle is None:
        return ()
    return (_cycle(cycle, of.cycle), *_pulses(of.cycle, of))


def _cycle(cycle: DutyCycle, of: Cycled) -> Table:
    run, heat = of.run, of.heat
    ended = {"empty": "until empty", "cut-off": "until cut-off"}.get(run.ended_by, run.ended_by)
    low = "" if run.lowest_v is None else f", lowest voltage {run.lowest_v:.1f} V"
    return Table(
        title="Duty cycle",
        headings=("what", "figure", ""),
        rows=(
            ("one pass", f"{of.period_s:g} s", f"{len(cycle.amps)} rows"),
            ("mean", f"{of.mean_a:.1f} A", "empties the pack"),
            ("root mean square", f"{of.rms_a:.1f} A", "heats cells, wire and fuse"),
            ("run time", f"{run.seconds / 60:.0f} min",
             f"{ended}, {run.passes} passes begun; {run.given_wh:.0f} Wh delivered, "
             f"{run.lost_wh:.0f} Wh lost{low}"),
            ("hottest cell", f"{heat.hottest_c:.0f} \N{DEGREE SIGN}C",
             f"after {heat.at_s / 60:.0f} min, cell {heat.cell + 1}"),
        ),
        note="",
    )  # fmt: skip


def _pulses(of: Cycled, electrical: Electrical) -> tuple[Table, ...]:
    if not of.pulses:
        return ()
    rating_a = electrical.fuse_protection.fuse.rating_a
    return (
        Table(
            title=f"Pulses on the main fuse of {rating_a:g} A",
            headings=("at least, A", "at a stretch, s", "times the rating", "carried for, s"),
            rows=tuple(
                (
                    f"{one.amps:g}",
                    f"{one.seconds:g}",
                    f"{one.amps / rating_a:.2f}",
                    _seconds(carries_s(one.amps / rating_a)),
                )
                for one in of.pulses
            ),
            note=f"{PULSE_SHARE:.0%} of the least opening time, so that pulses that come back do "
            "not wear it out; from memory: compare with the curve in the fuse's data sheet.",
        ),
    )


def _seconds(value_s: float) -> str:
    return "continuously" if value_s > DAY_S else f"{value_s:.3g}"
