"""The report's section on what the machine asks of its battery: forces, watts, speeds, range."""

from __future__ import annotations

from generators.report.duty import cycle_tables
from generators.report.values import Table
from layouts.electrical.driven import Driven
from layouts.electrical.values import Electrical
from layouts.pack import Pack
from layouts.ratings.driving import AIR_KG_M3, DrivePoint
from layouts.ratings.gearing import DriveSpeed
from layouts.ratings.run_time import RunTime

__all__ = ["asked_tables", "machine_tables"]


def asked_tables(pack: Pack, of: Electrical) -> tuple[Table, ...]:
    """The machine's and the duty cycle's, as far as the file has them."""
    return (*machine_tables(pack, of), *cycle_tables(pack, of))


def machine_tables(pack: Pack, of: Electrical) -> tuple[Table, ...]:
    """Nothing where the file has no ``load.machine``."""
    asks = of.machine.driven
    if asks is None:
        return ()
    return (_forces(asks), _draws(pack, asks), *_speeds(asks))


def _forces(of: Driven) -> Table:
    demand = of.demand
    points = [("held on level ground", demand.level)]
    if demand.steady.slope_percent > 0:
        points.append((f"held on a slope of {demand.steady.slope_percent:g} %", demand.steady))
    points.append((f"end of the start on {demand.start.slope_percent:g} %", demand.start))
    kept = of.of
    return Table(
        title="Forces and watts",
        headings=(
            "", "km/h", "rolling, N", "slope, N", "air, N", "speeding up, N", "sum, N",
            "battery, W",
        ),
        rows=tuple(_point_row(name, one) for name, one in points),
        note=f"{kept.mass_kg:g} kg, rolling resistance {kept.rolling_ratio:g} of the weight, drag "
        f"area {kept.drag_area_m2:g} m\N{SUPERSCRIPT TWO}, efficiency {kept.efficiency:g}, air "
        f"{AIR_KG_M3:g} kg/m\N{SUPERSCRIPT THREE}, no wind. F = m g (c cos a + sin a) + "
        "\N{GREEK SMALL LETTER RHO} c A v\N{SUPERSCRIPT TWO}/2 + m a; P = F v/efficiency. An "
        "estimate: measure the current on the machine.",
    )  # fmt: skip


def _point_row(name: str, of: DrivePoint) -> tuple[str, ...]:
    newtons = (of.rolling_n, of.slope_n, of.drag_n, of.inertia_n, of.force_n)
    return (name, f"{of.speed_km_h:g}", *(f"{n:.0f}" for n in newtons), f"{of.battery_w:.0f}")


def _draws(pack: Pack, of: Driven) -> Table:
    demand, derived = of.demand, (pack.load.derived if pack.load is not None else None) or ()
    taken = {
        name: "taken as the load" if name in derived else "the file's own value is kept"
        for name in ("continuous", "peak")
    }
    rows = [
        ("continuous", f"{demand.continuous_w:.0f} W",
         f"{_amps(of.nominal.continuous_a)} nominal, {_amps(of.asked.continuous_a)} empty; "
         f"{taken['continuous']}"),
        ("peak", f"{demand.peak_w:.0f} W",
         f"{_amps(of.nominal.peak_a)} nominal, {_amps(of.asked.peak_a)} empty, for "
         f"{demand.peak_s:g} s; {taken['peak']}"),
        ("range on level ground", _range(of.level_run), _run(of.level_run, demand.level_wh_km)),
    ]  # fmt: skip
    if of.of.slope_percent > 0:
        rows.append(("range on the slope", _range(of.slope_run),
                     _run(of.slope_run, demand.steady_wh_km)))  # fmt: skip
    if of.start_motor_a is not None:
        rows.append(
            (
                "motor current at the start",
                f"{of.start_motor_a:.0f} A",
                "in the motor, not in the battery: the controller must allow it",
            )
        )
    return Table(
        title="Watts, amps and range", headings=("what", "figure", ""), rows=tuple(rows), note=""
    )


def _amps(current_a: float | None) -> str:
    return "out of reach" if current_a is None else f"{current_a:.1f} A"


def _range(run: RunTime) -> str:
    return f"{run.distance_km or 0.0:.1f} km"


def _run(run: RunTime, wh_km: float) -> str:
    ended = {"empty": "until empty", "cut-off": "until cut-off"}.get(run.ended_by, run.ended_by)
    return f"{run.seconds / 60:.0f} min at that speed, {ended}; {wh_km:.1f} Wh/km"


def _speeds(of: Driven) -> tuple[Table, ...]:
    if of.speeds is None:
        return ()
    names = ("full", "nominal", "empty")
    assert of.of.gearing is not None  # the speeds come from it
    counted = (
        "the motor's resistance counted"
        if of.of.gearing.motor_mohm
        else "the motor's resistance (load.machine.gearing.motor_mohm) not counted"
    )
    return (
        Table(
            title=f"Speed by motor and gearing, {of.of.speed_km_h:g} km/h wanted",
            headings=("pack", "V", "wheel in the air, km/h", "level, km/h", "slope, km/h"),
            rows=tuple(_speed_row(name, one) for name, one in zip(names, of.speeds, strict=True)),
            note=f"At full throttle; volts lost in pack and leads counted, {counted}.",
        ),
    )


def _speed_row(name: str, of: DriveSpeed) -> tuple[str, ...]:
    known = (of.unloaded_km_h, of.level_km_h, of.slope_km_h)
    return (name, f"{of.volts:.1f}", *("stands" if v is None else f"{v:.1f}" for v in known))
