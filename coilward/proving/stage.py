"""One loop on which cases are played, one after the other, without building anything anew."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from functools import cached_property
from typing import Final, get_args

import numpy as np

from coilward.controller.interlocks import INDEX
from coilward.controller.phases import PHASES
from coilward.loop.model import Loop
from coilward.proving import scenes
from coilward.proving.bounds import bounds_of
from coilward.proving.case import Case, Story, draw, story
from coilward.proving.keeping import gives_air, let_go
from coilward.proving.outcome import Outcome
from coilward.proving.requirements import REQUIREMENTS, Signals, robustness
from coilward.proving.telling import late
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench, Start
from coilward.simulator.closed import SIGNAL_COUNT
from coilward.simulator.engine import Engine
from coilward.simulator.faults import FAULTS
from coilward.simulator.faults.classes import Class, class_of
from coilward.simulator.logic import Logic
from coilward.simulator.night import Night
from coilward.simulator.parameters import NEVER_S
from coilward.simulator.rehearsal import Rehearsal, rehearsed
from coilward.simulator.run import Run

CLASSES: Final[tuple[Class, ...]] = get_args(Class)
"""From the best to the worst."""
PROMISING: Final = CLASSES[:2]
"""Classes in which the coil never boils and every requirement holds."""
HELPED: Final = ("logic", "hardware helps")
"""Faults in which the board has its part, whatever the hardware makes of the rest."""
EVERY: Final = frozenset(each.name for each in REQUIREMENTS)
BEYOND: Final = frozenset(
    {"water-under-boiling", "joints-under-limit", "pump-kept-on", "burn-out-waited"}
)
"""What no board can keep alone once the water stands, or has run out."""
ANSWERED_FOR: Final = frozenset({"burn-out-waited"})
"""What a person answers for who calls a fire out."""
NOISES: Final = 16
"""Tables of noise that cases take turns with."""


class Stage:
    """Prepared once a process; plays any number of cases."""

    def __init__(
        self, loop: Loop, *, engine: Engine = "auto", today: date, logic: Logic | None = None
    ) -> None:
        """Raises RuntimeError when the compiled engine is demanded and numba is missing."""
        self.loop = loop
        self.bench = Bench(loop, today, engine, logic)
        self.bounds = bounds_of(loop, self.bench.derived, self.bench.constants)
        self._classes: dict[str, Class] = {}

    @cached_property
    def _settled(self) -> Start:
        """The loop of the file as it settles at its nominal heat, before its own deviations."""
        still = Night.model_construct(
            coilward=1, name="settled", duration_s=0.0, start="running", moment=[],
            outdoor_c=self.loop.site.outdoor_c,
        )
        made = Rehearsal(self.bench, still, self.bench.start(still), 0, signalled=True)
        return Start(made.y, made.p, made.state, scenes.SETTLES_S)

    def cls(self, faults: Sequence[str]) -> Class:
        """Class of a fault on this loop, or the worst of several."""
        for name in faults:
            if name not in self._classes:
                passive = self.bench.derived.passive
                self._classes[name] = class_of(FAULTS[name], self.loop, passive)
        return max((self._classes[name] for name in faults), key=CLASSES.index)

    def counted(self, faults: Sequence[str]) -> frozenset[str]:
        """Requirements that count: where the coil may boil, what the board can still do for it."""
        if any(FAULTS[name].base not in HELPED for name in faults):
            return frozenset()
        acts = [act for name in faults for act in FAULTS[name].acts]
        every = EVERY - ANSWERED_FOR if any(a.request == "declare_out" for a in acts) else EVERY
        if self.cls(faults) in PROMISING:
            return every
        shown = all(
            FAULTS[name].deadline_s is not None or self.cls((name,)) in PROMISING
            for name in faults
        )
        asked = (frozenset(FAULTS[name].counts) for name in faults)
        return every - BEYOND if shown else frozenset().union(*asked) & every

    def story(self, case: Case, u: Sequence[float] | None = None) -> Story:
        """The story of a case, as drawn from its key or told by DIMENSIONS numbers."""
        return story(self.loop, case, draw(case) if u is None else u)

    def play(self, case: Case, u: Sequence[float] | None = None) -> Outcome:
        """One case, without a trace. Raises as `coilward.proving.case.story` does."""
        return self.play_story(self.story(case, u))

    def rehearse(self, case: Case, u: Sequence[float] | None = None) -> Run:
        """The same night with its trace."""
        return self.rehearse_story(self.story(case, u))

    def rehearse_story(self, told: Story) -> Run:
        """The night of a story with its trace."""
        night, start = scenes.night(self.loop, told), self._start(told)
        return rehearsed(self.bench, night, start, seed=told.case.index % NOISES)

    def play_story(self, told: Story) -> Outcome:
        """One story, without a trace."""
        night, start = scenes.night(self.loop, told), self._start(told)
        made = Rehearsal(self.bench, night, start, told.case.index % NOISES, signalled=True)
        made.play(None)
        return self._outcome(told, night, made)

    def _start(self, told: Story) -> Start:
        return scenes.start(self.bench, self._settled, told)

    def _outcome(self, told: Story, night: Night, made: Rehearsal) -> Outcome:
        y, faults = made.y, told.case.faults
        boiled_s = float(y[at.BOILED_S])
        first_boil_s = None if boiled_s < 0.0 else boiled_s
        caught, caught_s = self._caught(told, made)
        deadline_s = self._deadline_s(told, made)
        signals = self._signals(made, first_boil_s)
        found = robustness(signals, self.bounds)
        phase = self._phase_at_onset(told, night, made)
        fired = all(made.faults.fired.get(name, False) for name in faults)
        boil_s = float(y[at.LEAST_BOIL_S])
        least_k = float(y[at.LEAST_BOIL_K])
        too_late = deadline_s is not None and (caught_s is None or caught_s > deadline_s)
        missed = ["deadline"] if too_late else []
        counted = self.counted(faults)
        missed += [name for name, margin in found.items() if margin < 0.0 and name in counted]
        if self.cls(faults) in PROMISING and first_boil_s is not None:
            missed.append("first-boil")
        if made.died is not None:
            missed.append("logic-died")
        tells = self.bench.logic.tells_phases
        if tells and let_go(made.start_phase, made.start_latched, made.log):
            missed.append("latch-kept")
        if tells and gives_air(signals, self.loop.tick_s):
            missed.append("air-kept-off")
        if tells:
            missed += [f"told-{name}" for name in late(signals, self.bounds)]
        return Outcome(
            key=told.case.key,
            phase=phase,
            fired=fired and (phase == told.phase or not tells),
            caught=caught,
            caught_s=caught_s,
            deadline_s=deadline_s,
            first_boil_s=first_boil_s,
            margin_k=math.inf if least_k >= NEVER_S else least_k,
            margin_s=math.inf if boil_s >= NEVER_S else boil_s,
            peak_joint_c=float(y[at.PEAK_OUTLET]),
            robustness=found,
            missed=tuple(missed),
            ended_phase=PHASES[made.state.mode.phase] if tells else "",
            size=told.sizes[0],
            onset_s=told.onset_s,
        )

    def _signals(self, made: Rehearsal, first_boil_s: float | None) -> Signals:
        """What the requirements judge: nothing after the first boil."""
        rows = made.last_tick + 1
        if first_boil_s is not None:
            rows = min(rows, max(1, math.ceil(first_boil_s / self.loop.tick_s) + 1))
        flat = np.asarray(made.signals)
        return Signals(*flat.reshape(SIGNAL_COUNT, -1)[:, :rows])

    def _phase_at_onset(self, told: Story, night: Night, made: Rehearsal) -> str:
        """Phase in which the board stood when the first of the case's faults began."""
        if not self.bench.logic.tells_phases:
            return ""
        begun = [each for each in night.moment if each.do == "fault"]
        before = sum(1 for each in begun if each.at_s < told.onset_s)
        return PHASES[made.begun_in[before]]

    def _caught(self, told: Story, made: Rehearsal) -> tuple[str, float | None]:
        """First row that should tell, and seconds from the onset; 0 for one that told already."""
        rows = {row for name in told.case.faults for row in FAULTS[name].caught_by}
        known = [row for row in INDEX if row in rows]
        before = made.start_raised
        for entry in made.log:
            if entry.time_s >= told.onset_s:
                break
            before = entry.raised
        for row in known:
            if before >> INDEX[row] & 1:
                return row, 0.0
        for entry in made.log:
            for row in known:
                if entry.time_s >= told.onset_s and entry.raised >> INDEX[row] & 1:
                    return row, entry.time_s - told.onset_s
        return "", None

    def _deadline_s(self, told: Story, made: Rehearsal) -> float | None:
        """Within which a row has to tell. Of two faults, one that tells is enough for both.

        A broken part that was not asked to work for so long has shown nothing.
        """
        if not self.bench.logic.tells_phases:
            return None
        loop, derived, asked_s = self.loop, self.bench.derived, made.faults.asked_s
        due = []
        for name in told.case.faults:
            due_s = FAULTS[name].due_s(loop, derived, told.phase)
            unasked = due_s is not None and asked_s.get(name, math.inf) < due_s
            due.append(None if unasked else due_s)
        latest = [each for each in due if each is not None]
        if len(latest) < len(due):
            return None
        return max(latest) + (told.second_after_s if len(due) > 1 else 0.0)
