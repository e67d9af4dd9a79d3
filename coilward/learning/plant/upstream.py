"""From the tank to the coil's outlet: cold leg, coil and the pipe behind it.

The parts are those of the simulator, driven by the logged tank and flow, and by a heat into the
coil that is given.
"""

from __future__ import annotations

from coilward.learning.plant.downstream import look
from coilward.simulator.coil import STAGE, coil, film_w_k
from coilward.simulator.pipes import line, short_pipe
from coilward.simulator.slots import (
    COIL_CELLS,
    COLD_,
    COLD_ICE_K,
    COLD_J_K,
    COLD_LEAST,
    COLD_OUT,
    COLD_W_K,
    FILM_SHARE,
    HOT_OUT,
    IS_TUB,
    OUTLET_A,
    STUB,
    STUB_J_K,
    STUB_W_K,
    W_PER_LPM_K,
)

Floats = list[float]


def upstream(
    y: Floats, p: Floats, lag: Floats, h_s: float, rows: int, tank: Floats, flow: Floats,
    heat: Floats, room: Floats, outdoor: Floats, inlet: Floats, outlet: Floats, seen: Floats,
) -> None:
    """Fill the coil's inlet and outlet, and what the outlet's thermometer shows, at every row.

    Inputs have one value a row, rows are ``h_s`` seconds apart: degC, L/min, W into the coil's
    metal. ``y`` is the plant's state at the first row, and is moved to the last.
    """
    inlet[0], outlet[0], seen[0] = tank[0], y[STUB], y[STUB]
    for row in range(1, rows):
        flow_lpm = 0.5 * (flow[row - 1] + flow[row])
        stream_w_k = flow_lpm * p[W_PER_LPM_K]
        outdoor_c = 0.5 * (outdoor[row - 1] + outdoor[row])
        around_c = outdoor_c
        if p[IS_TUB] <= 0.0:
            around_c = 0.5 * (room[row - 1] + room[row])
        heat_w = 0.5 * (heat[row - 1] + heat[row]) / COIL_CELLS
        in1_c = tank[row - 1] + STAGE * (tank[row] - tank[row - 1])
        in2_c = tank[row]
        in1_c, in2_c, _ = line(
            y, COLD_, COLD_LEAST, p[COLD_J_K], p[COLD_W_K], p[COLD_ICE_K],
            outdoor_c if p[COLD_OUT] > 0.0 else around_c, stream_w_k, h_s, in1_c, in2_c,
        )
        inlet[row] = in2_c
        film = p[FILM_SHARE] * film_w_k(p, flow_lpm)
        in1_c, in2_c, _ = coil(y, p, h_s, heat_w, 0.0, stream_w_k, film, in1_c, in2_c)
        short_pipe(
            y, STUB, p[STUB_J_K], p[STUB_W_K], outdoor_c if p[HOT_OUT] > 0.0 else around_c,
            stream_w_k, h_s, in1_c, in2_c,
        )
        outlet[row] = y[STUB]
        seen[row] = look(y, p, lag, OUTLET_A, 0)
