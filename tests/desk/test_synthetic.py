"""The made-up run of these tests has the shape of a real one."""

from __future__ import annotations

from dataclasses import fields

import pytest

from coilward.simulator.closed import TRACE
from coilward.simulator.run import INTERNAL, Cause, Final, Margins, Peaks, Run
from tests.desk.synthetic import dead_pump_run, quiet_run


@pytest.mark.parametrize("make", [dead_pump_run, quiet_run])
def test_it_has_the_fields_of_a_real_run(make):
    run = make()
    assert set(vars(run)) == {field.name for field in fields(Run)} - {"constants"}
    assert set(run.trace) == (set(TRACE) - set(INTERNAL)) | {"flow_min_lpm"}
    for part, real in (("peaks", Peaks), ("margins", Margins), ("final", Final)):
        assert set(vars(getattr(run, part))) == set(real._fields)
    assert all(set(vars(cause)) == set(Cause._fields) for cause in run.causes)
