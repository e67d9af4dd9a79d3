"""A beginner's first controller: open the valve, keep the water moving, shout when it stands."""

from math import isnan

from coilward.controller.types import Commands

LATE_S = 3.0  # a meter may miss a pulse; water that stands for longer is no accident


def decide(readings, requests, memory, constants):
    """One tick: what is known, what a person asked for, what I gave last time, the loop."""
    still_s, latched = memory or (0.0, False)  # None at the start and after a restart
    moving = readings.flow_lpm >= 1.0 and readings.pulse_age_s < constants.water.pulse_timeout_s
    still_s = 0.0 if moving else still_s + constants.tick_s

    seen_c = [c for c in (readings.coil_outlet_a_c, readings.coil_outlet_b_c) if not isnan(c)]
    outlet_c = max(seen_c, default=constants.limits.boil_c)  # what I can't see, I take as hot
    too_hot = outlet_c >= constants.limits.outlet_dump_c
    tank_hot = not readings.tank_c < constants.limits.tank_trip_c  # NaN trips, too
    latched = (latched or still_s >= LATE_S or requests.emergency) and not requests.reset
    bad = latched or too_hot or tank_hot

    pump, valve, fans = True, 1.0, 1.0  # nothing here may ever stop the water
    return (still_s, latched), Commands(pump, valve, fans, not bad, bad, 3 if bad else 0, False)
