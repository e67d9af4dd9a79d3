"""Random loops, fires and nights: the shipped loops bent in every number that matters."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import strategies as st

from coilward.loop.document import read_loop
from coilward.loop.model import Loop
from coilward.simulator.night import Heat, Moment, Night, Wood


def bent(loop: Loop, section: str, **factors: float) -> Loop:
    """The loop with some numbers of one section multiplied."""
    part = getattr(loop, section)
    changed = {name: getattr(part, name) * factor for name, factor in factors.items()}
    return loop.model_copy(update={section: part.model_copy(update=changed)})


def some_loop(name: str, between: Callable[[float, float], float]) -> Loop:
    """A loop that somebody else could have built; not always a sound one."""
    loop = read_loop(name)
    fire = between(0.6, 1.3)
    loop = bent(
        loop, "fire", nominal_kw=fire, largest_kw=fire * between(0.9, 1.3),
        decay_min=between(0.5, 1.5), lag_s=between(0.5, 2.0),
    )
    loop = bent(loop, "coil", length_m=between(0.7, 1.4))
    loop = bent(loop, "tank", water_l=between(0.6, 2.0))
    site = loop.site.model_copy(update={"altitude_m": between(0.0, 2200.0)})
    loop = loop.model_copy(update={"site": site})
    if loop.radiator is not None:
        loop = bent(
            loop, "radiator", fans_on_w_k=between(0.7, 1.4),
            fans_off_w_k=between(0.5, 1.5),
        )
    if loop.dump is not None:
        loop = bent(loop, "dump", conductance_w_k=between(0.5, 2.0))
    return loop


@st.composite
def loops(draw: st.DrawFn) -> Loop:
    """Any of them."""
    name = draw(st.sampled_from(["greenhouse", "boathouse", "hot-tub"]))
    return some_loop(name, lambda low, high: draw(st.floats(low, high)))


def fault(at_s: float, name: str, for_s: float | None = None, size: float | None = None) -> Moment:
    """One scripted fault."""
    return Moment(at_s=at_s, do="fault", fault=name, for_s=for_s, size=size)


def night(*moments: Moment, hours: float = 2.0, start: str = "running") -> Night:
    """A night of a few moments."""
    return Night(
        coilward=1, name="made up", about="made up", duration_s=3600.0 * hours, start=start,
        moment=sorted(moments, key=lambda m: m.at_s),
    )


def held(at_s: float, name: str) -> Moment:
    """The fire held at the nominal or the largest heat."""
    return Moment(at_s=at_s, do="hold", heat=Heat(name, 0.0))


@st.composite
def hot_nights(draw: st.DrawFn) -> Night:
    """Nights that end in too much heat for what is left to cool it."""
    at_s = draw(st.floats(300.0, 1200.0))
    what = draw(st.sampled_from(["largest", "larger", "fans", "reload", "all"]))
    moments = []
    if what in ("largest", "fans", "all"):
        moments.append(held(at_s, "largest"))
    if what in ("larger", "all"):
        moments.append(fault(at_s + 60.0, "fire-larger", size=draw(st.floats(1.1, 2.0))))
    if what in ("fans", "all"):
        moments.append(fault(at_s + 30.0, "fans-fail"))
    if what == "reload":
        moments.append(Moment(at_s=60.0, do="let-go"))
        moments.append(
            Moment(
                at_s=at_s, do="reload", mass=Wood(draw(st.floats(0.5, 4.0)), "charge"),
                moisture=draw(st.floats(0.1, 0.3)), lively=draw(st.floats(0.5, 3.0)),
            )
        )
    return night(*moments)


MISHAPS = [
    "pump-dies", "pump-stalls", "pump-weak", "fan-fails", "valve-jams", "outlet-a-open",
    "outlet-a-frozen", "outlet-b-open", "outlet-b-bad-frame", "tank-open", "meter-dead",
    "current-lost", "supply-lost", "damper-stuck", "dump-stuck", "level-low", "level-low-low",
    "board-reboots", "radiator-outlet-open", "metal-open", "flow-switch-open",
]


@st.composite
def any_nights(draw: st.DrawFn) -> Night:
    """Up to three mishaps and a person's acts, at any time."""
    moments = [
        fault(
            draw(st.floats(10.0, 3000.0)), name,
            draw(st.one_of(st.none(), st.floats(0.25, 1200.0))),
        )
        for name in draw(st.lists(st.sampled_from(MISHAPS), max_size=3))
    ]
    for act in draw(
        st.lists(st.sampled_from(["finish", "silence", "reset", "emergency", "remote"]), max_size=2)
    ):
        moments.append(Moment(at_s=draw(st.floats(10.0, 3000.0)), do=act))
    return night(*moments, hours=1.0)
