"""A board in anybody's hands: hypothesis plays readings, buttons, reboots and clocks against it.

After every tick the invariants of `invariants.py` are held: I1, I2, I3, I5, I6, I7, I8, I11, I14
and I19 over whole stories, on the shipped loops and on loops bent in the numbers that matter.
"""

from __future__ import annotations

import random
from functools import cache

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from coilward.controller.constants import constants_for
from coilward.controller.decide import Decision
from coilward.controller.interlocks import ROWS
from coilward.controller.phases import BOOT, COLD_START, DRY, DUMP, FREEZE, RUN, STANDBY, WARM_UP
from coilward.controller.state import NO, YES, after_reboot
from coilward.controller.types import Readings, Requests
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from tests.controller.rig import NAN, TODAY, Rig
from tests.controller.scenes import COLD_LOOP, obey
from tests.properties.invariants import Moment, Violation, hold, reboot
from tests.properties.loops import bent

CHANNELS = [name for name in Readings._fields if name not in ("time_s", "outage_s")]
BUTTONS = list(Requests._fields)
TICKS = st.integers(1, 60)
PHASES_AT_FIRST = [STANDBY, COLD_START, WARM_UP, RUN, DUMP]
ANY = st.floats(allow_nan=True, allow_infinity=True)


@cache
def board_loop(number: int):
    """A shipped loop (0 to 2), or one bent by a seed."""
    loop = read_loop(("greenhouse", "boathouse", "hot-tub")[number % 3])
    if number >= 3:
        rng = random.Random(number)
        loop = bent(loop, "fire", nominal_kw=rng.uniform(0.6, 1.3), largest_kw=1.3)
        loop = bent(loop, "coil", length_m=rng.uniform(0.7, 1.4))
        loop = bent(loop, "tank", water_l=rng.uniform(0.6, 2.0))
    return loop


@cache
def board_constants(number: int):
    """The constants of a board's loop."""
    loop = board_loop(number)
    return constants_for(loop, derive(loop, TODAY))


class Board(RuleBasedStateMachine):
    """One board over a story of up to fifty acts."""

    @initialize(number=st.integers(0, 8), phase=st.sampled_from(PHASES_AT_FIRST))
    def begin(self, number, phase):
        self.number = number
        fire = NO if phase in (STANDBY, COLD_START) else YES
        self.rig = Rig(board_constants(number), phase, fire)
        self.asked = Requests()
        self.obeys = True
        if fire == NO:
            self.rig.set(**COLD_LOOP).set(flow_lpm=0.0)

    def tick(self):
        rig = self.rig
        before = rig.state
        rig.tick(self.asked)
        done = Decision(rig.state, rig.commands)
        hold(Moment(rig.given, self.asked, before, done, rig.constants))
        if self.obeys:
            obey(rig)

    @rule(ticks=TICKS)
    def time_passes(self, ticks):
        for _ in range(ticks):
            self.tick()

    @rule(
        buttons=st.sets(st.sampled_from(BUTTONS), min_size=1, max_size=3),
        ticks=st.integers(1, 12),
    )
    def somebody_presses(self, buttons, ticks):
        self.asked = Requests(**dict.fromkeys(buttons, True))
        self.time_passes(ticks)
        self.asked = Requests()

    @rule(channel=st.sampled_from(CHANNELS), value=ANY, ticks=st.integers(1, 20))
    def a_reading_is_wild(self, channel, value, ticks):
        usual = getattr(self.rig.readings, channel)
        self.rig.set(**{channel: value})
        self.time_passes(ticks)
        self.rig.set(**{channel: usual})

    @rule(channel=st.sampled_from(CHANNELS))
    def a_reading_is_lost(self, channel):
        self.rig.set(**{channel: NAN})
        self.tick()

    @rule(
        to_c=st.floats(10.0, 99.0), k_s=st.floats(0.05, 2.0),
        metal_over_k=st.sampled_from([5.0, 10.0, 15.0, 100.0]),
    )
    def the_outlet_drifts(self, to_c, k_s, metal_over_k):
        now_c = self.rig.readings.coil_outlet_a_c
        now_c = now_c if now_c == now_c else 60.0
        for _ in range(60):
            step_k = max(-k_s, min(k_s, to_c - now_c)) * self.rig.constants.tick_s
            now_c += step_k
            self.rig.set(
                coil_outlet_a_c=now_c, coil_outlet_b_c=now_c + 0.2,
                coil_metal_c=now_c + metal_over_k,
            )
            self.tick()

    @rule(how=st.sampled_from(["stall", "open", "as before"]), ticks=TICKS)
    def the_water_stops(self, how, ticks):
        self.obeys = False
        self.rig.stop_water(how)
        self.time_passes(ticks)

    @rule()
    def the_water_moves_again(self):
        self.rig.start_water()
        self.obeys = True
        self.time_passes(30)

    @rule()
    def everything_is_mended(self):
        self.rig.readings = self.rig.readings._replace(
            **Rig(self.rig.constants).readings._asdict()
        )
        self.obeys = True
        self.time_passes(20)

    @rule(outage_s=st.sampled_from([0.5, 1.0, 2.0, 8.0, 500.0, NAN]), held=st.booleans())
    def the_board_restarts(self, outage_s, held):
        before = self.rig.state
        self.rig.state = after_reboot(before)
        reboot(before, self.rig.state)
        self.rig.set(outage_s=outage_s, pump_contact=1.0 if held else 0.0)
        if outage_s == outage_s:
            self.rig.time_s += outage_s
        self.time_passes(14)
        if self.rig.state.mode.phase == BOOT:
            raise Violation("a boot that does not end")

    @rule(jump_s=st.sampled_from([-1e7, -5.0, -0.25, 0.5, 3.0, 1e7]))
    def the_clock_jumps(self, jump_s):
        self.rig.time_s += jump_s
        self.time_passes(8)

    @rule()
    def the_night_ends_and_a_person_comes(self):
        """No dead end: cold, mended, declared out and reset, any board is back in standby."""
        rig = self.rig
        rig.readings = rig.readings._replace(**Rig(rig.constants).readings._asdict())
        rig.set(**COLD_LOOP).set(flow_lpm=0.0, outage_s=0.0)
        self.obeys = True
        self.time_passes(60)
        rig.state = rig.state._replace(ages=rig.state.ages._replace(heat_s=1e9))
        self.asked = Requests(finish=True, declare_out=True)
        self.time_passes(60)
        for _ in range(len(ROWS)):
            if self.at_home():
                return
            self.asked = Requests(reset=True, key=rig.state.mode.phase == DRY)
            self.time_passes(10)
            self.asked = Requests()
            self.time_passes(2)
        raise Violation(f"no way home: {rig.state.mode}")

    def at_home(self):
        mode = self.rig.state.mode
        rests = mode.phase in (STANDBY, FREEZE) and mode.fire == NO
        return rests and not mode.latched and not mode.dry

    @rule()
    def a_new_evening(self):
        self.begin(self.number, RUN)


TestBoard = Board.TestCase
TestBoard.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)
