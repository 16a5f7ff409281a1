"""The network of a pack against a general circuit simulator, where one is on this machine.

ngspice, a SPICE of the usual kind, comes with most systems' packages (Debian: ngspice); without
it these tests are left out, and the network is held by its closed forms alone.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from layouts.currents.network import Network, solve
from layouts.currents.strips import strip_network
from tests.layouts.electrical.packs import laid

SIMULATOR = shutil.which("ngspice")
LOAD_A = 25.0


def netlist(network: Network) -> str:
    """The network as text: V and R of each cell, R of each link, a current source as load."""
    lines = ["pack"]
    cells = zip(
        network.cell_nodes.tolist(), network.cell_v.tolist(), network.cell_ohm.tolist(), strict=True
    )
    for k, ((low, high), volts, ohm) in enumerate(cells):
        lines.append(f"V{k} m{k} {_name(network, low)} DC {volts!r}")
        lines.append(f"RC{k} m{k} {_name(network, high)} {ohm!r}")
    links = zip(network.link_nodes.tolist(), network.link_ohm.tolist(), strict=True)
    for k, ((a, b), ohm) in enumerate(links):
        lines.append(f"RL{k} {_name(network, a)} {_name(network, b)} {ohm!r}")
    lines.append(f"IL {_name(network, network.plus)} 0 DC {LOAD_A}")
    told = " ".join(f"i(V{k})" for k in range(len(network.cell_v)))
    plus = _name(network, network.plus)
    return "\n".join(
        [*lines, ".options reltol=1e-9 abstol=1e-12", ".control", "set numdgt=12", "op",
         f"print v({plus})", *(f"print {one}" for one in told.split()), "quit", ".endc", ".end", ""]
    )  # fmt: skip


def _name(network: Network, node: int) -> str:
    return "0" if node == network.minus else f"n{node}"


@pytest.mark.skipif(SIMULATOR is None, reason="no ngspice on this machine")
@pytest.mark.parametrize(("series", "parallel"), [(4, 3), (7, 5)])
def test_currents_of_every_cell_are_the_simulators(
    series: int, parallel: int, tmp_path: Path
) -> None:
    """Volts at plus to 1e-8 and every cell's current to 1e-6, by the simulator's own solver."""
    assert SIMULATOR is not None
    one = laid(series, parallel)
    network = strip_network(one.pack, one.cell_layout, one.interconnect).network
    file = tmp_path / "pack.cir"
    file.write_text(netlist(network), encoding="ascii")
    done = subprocess.run(
        [SIMULATOR, "-b", str(file)], capture_output=True, text=True, timeout=60, check=False
    )
    said = {
        name: float(value)
        for name, value in re.findall(r"^(v\(n\d+\)|i\(v\d+\)) = (\S+)", done.stdout, re.MULTILINE)
    }
    flow = solve(network, LOAD_A)
    assert said[f"v(n{network.plus})"] == pytest.approx(flow.volts, rel=1e-8)
    # a source's current runs from its plus through it to its minus: a cell that gives is negative
    given = np.array([-said[f"i(v{k})"] for k in range(len(flow.cell_a))])
    assert given == pytest.approx(flow.cell_a, rel=1e-6)
