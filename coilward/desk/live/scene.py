"""One tick as the page looks at it: what the logic's own eyes make of it, and how it moves."""

from __future__ import annotations

from typing import NamedTuple

from coilward.controller.estimating import Estimate, estimate
from coilward.controller.phases import DRY, NO_FLOW
from coilward.controller.sensing import Seen, sense
from coilward.controller.state import NO
from coilward.desk.live.slopes import Slopes
from coilward.desk.live.source import Place
from coilward.hil.tick import Tick
from coilward.loop.sums import boil


class Scene(NamedTuple):
    """Everything that the rules of the page read."""

    place: Place
    tick: Tick
    seen: Seen
    now: Estimate
    slopes: Slopes

    @property
    def phase(self) -> int:
        """The phase after the decision."""
        return self.tick.state.mode.phase

    @property
    def fire_possible(self) -> bool:
        """Whether a fire may be in."""
        return self.tick.state.mode.fire != NO

    @property
    def water_stands(self) -> bool:
        """Whether a coil over a fire has no water moving: then the outlet tells nothing of it."""
        if not self.fire_possible:
            return False
        return self.phase in (NO_FLOW, DRY) or (self.seen.flow_absent and not self.now.proven_now)

    @property
    def active(self) -> int:
        """Rows that count: raised now, or latched."""
        return self.tick.state.raised | self.tick.state.mode.latched

    @property
    def heat_w(self) -> float:
        """Flow times rise: nothing in water that stands, NaN where a reading is lost."""
        if self.seen.flow_absent:
            return 0.0
        return self.place.constants.water.w_per_lpm_k * self.seen.flow_lpm * self.now.rise_k

    @property
    def still_boil_s(self) -> float:
        """Loss of flow to first boil from here, hottest turn, with the heat reckoned with."""
        derived = self.place.derived
        return boil.time_to_boil_s(
            derived.coil_heat_j_k, derived.coil_boil_c, self.seen.outlet_c, self.now.heat_w,
            self.place.loop.coil.peak_to_mean,
        )


def scene_of(tick: Tick, place: Place, slopes: Slopes) -> Scene:
    """The scene of one tick, seen with the functions that the logic decides by.

    The state is the one after the decision, so that timers read one tick more than they did.
    """
    state, constants = tick.state, place.constants
    seen = sense(
        tick.readings, state.doubt.suspects, state.mode, state.ages, state.watch, state.control,
        constants,
    )
    now = estimate(
        tick.readings, tick.requests, seen, state.mode, state.ages, state.watch, constants
    )
    return Scene(place, tick, seen, now, slopes)
