"""The loop file as data: what was built, one class a section.

A key in the file carries no unit (``altitude = "1000 m"``); the attribute that holds the
converted number does (``site.altitude_m``). The unit word of an attribute is its last word.
Every number in here is in the unit that its name ends with; shares are 0 to 1.
"""

from __future__ import annotations

import math
from datetime import date
from typing import Any, Literal

from pydantic import Field

from coilward.loop.sums.room import envelope_w_k
from coilward.loop.units import (
    AmpereHours,
    Amperes,
    Celsius,
    Count,
    CubicMetres,
    FlowCoefficient,
    HeatCapacity,
    HeatCapacityPerMetre,
    Kelvin,
    Kilopascals,
    Kilowatts,
    Litres,
    LitresPerMinute,
    Metres,
    Millimetres,
    Minutes,
    PulsesPerLitre,
    Ratio,
    Seconds,
    Section,
    Share,
    SquareMetres,
    SquareMillimetres,
    Volts,
    WattsPerKelvin,
    WattsPerMetreKelvin,
    WattsPerSquareMetreKelvin,
)

Element = Literal[
    "tank", "pump", "meter", "strainer", "valve", "shut-off", "check-valve", "coil", "vent",
    "relief", "radiator", "anti-drain",
]
Alloy = Literal["brazed", "sn50pb50", "sn60pb40", "sn95sb5", "sn97cu3", "sn96ag4", "compression"]
Zone = Literal["fire", "near", "away"]


def _absent(value: object) -> bool:
    return value is None


class Site(Section):
    """Where the loop stands."""

    altitude_m: Metres = Field(alias="altitude", ge=-430, le=4500)
    outdoor_c: Celsius = Field(alias="outdoor", ge=-50, le=40)
    """Air outside on the night that the loop is designed for."""


class Surface(Section):
    """One part of what stands between the room and the weather."""

    name: str = ""
    area_m2: SquareMetres = Field(alias="area", gt=0, le=10000)
    u_w_m2k: WattsPerSquareMetreKelvin = Field(alias="u", gt=0, le=10)


class Envelope(Section):
    """Walls, glass, roof, floor, and the air that leaks: what the room's loss comes from."""

    surfaces: list[Surface] = Field(min_length=1)
    volume_m3: CubicMetres = Field(alias="volume", gt=0, le=1e5)
    air_changes: Ratio = Field(ge=0, le=20)
    """How often an hour the wind changes all the air."""

    @property
    def loss_w_k(self) -> float:
        """What these surfaces and this air lose, W/K."""
        walls = [(each.area_m2, each.u_w_m2k) for each in self.surfaces]
        return envelope_w_k(walls, self.volume_m3, self.air_changes)


def _loss_w_k(so_far: dict[str, Any]) -> float:
    """The loss of a room that types none; NaN, which a rule refuses, where nothing tells it."""
    envelope: Envelope | None = so_far.get("envelope")
    return envelope.loss_w_k if envelope else math.nan


class Room(Section):
    """What is heated, and what it loses."""

    kind: Literal["room", "tub"] = "room"
    """What is heated: a room through a radiator, or a tub that is itself the tank."""
    air_c: Celsius = Field(alias="air", ge=-40, le=45)
    envelope: Envelope | None = None
    heat_loss_w_k: WattsPerKelvin = Field(
        default_factory=_loss_w_k, alias="heat_loss", gt=0, le=5000
    )
    """As typed, or else reckoned from the envelope."""
    heat_capacity_kj_k: HeatCapacity = Field(alias="heat_capacity", gt=0, le=1e6)
    not_over_c: Celsius | None = Field(default=None, alias="not_over", ge=5, le=45)
    """Fans rest above this air temperature while the loop does not need them."""
    people_limit_c: Celsius | None = Field(default=None, alias="people_limit", ge=30, le=41)


class Fire(Section):
    """The fire: its heat into the water, and how fast it changes."""

    nominal_kw: Kilowatts = Field(alias="nominal", gt=0.2, le=40)
    largest_kw: Kilowatts = Field(alias="largest", gt=0.2, le=60)
    """Heat into the water: as usually fired, and the most that was ever measured (or 1.5 times)."""
    caught: Share = Field(gt=0.02, le=0.9)
    """Share of the wood's net heat that reaches the water."""
    decay_min: Minutes = Field(alias="decay", ge=3, le=90)
    """Time constant of the heat after the damper shuts."""
    gas_c: Celsius = Field(default=650.0, alias="gas", ge=300, le=1000)
    lag_s: Seconds = Field(default=45.0, alias="lag", ge=5, le=600)
    charge_interval_min: Minutes = Field(default=45.0, alias="charge_interval", ge=10, le=180)
    """One charge of wood keeps the nominal heat for this long."""
    damper_leak: Share = Field(default=0.03, ge=0, le=0.5)
    moisture: Share = Field(default=0.2, ge=0, le=0.6)
    """Of the wood, as a share of its mass as weighed: only for the sum of wood to bring in."""


class Joint(Section):
    """One joint of the coil: where it sits and what holds it."""

    zone: Zone
    alloy: Alloy
    name: str = ""


class Coil(Section):
    """The coil over the fire."""

    length_m: Metres = Field(alias="length", gt=0.5, le=100)
    outside_diameter_mm: Millimetres = Field(alias="outside_diameter", ge=6, le=54)
    wall_mm: Millimetres = Field(alias="wall", ge=0.3, le=3)
    turn_diameter_m: Metres = Field(default=0.4, alias="turn_diameter", ge=0.05, le=3)
    peak_to_mean: Ratio = Field(default=1.5, ge=1, le=4)
    joints: list[Joint] = Field(default_factory=list)


class Tank(Section):
    """The tank, or the tub itself."""

    water_l: Litres = Field(alias="water", ge=10, le=10000)
    rated_c: Celsius = Field(default=95.0, alias="rated", ge=40, le=120)
    loss_w_k: WattsPerKelvin = Field(default=3.0, alias="loss", ge=0, le=500)
    low: Share = Field(default=0.7, gt=0, lt=1)
    low_low: Share = Field(default=0.4, gt=0, lt=1)
    start_c: Celsius = Field(alias="start", ge=1, le=60)


class CurvePoint(Section):
    """One point of the pump curve."""

    flow_lpm: LitresPerMinute = Field(alias="flow", ge=0, le=200)
    head_kpa: Kilopascals = Field(alias="head", ge=0, le=1000)


class Pump(Section):
    """The pump: curve, currents, temperature limits."""

    curve: list[CurvePoint] = Field(min_length=3)
    """At the rated voltage, from shut to free flow: flow rising, head falling."""
    voltage_v: Volts = Field(default=12.0, alias="voltage", ge=5, le=48)
    current_a: Amperes = Field(alias="current", gt=0.1, le=60)
    current_low_a: Amperes = Field(alias="current_low", gt=0, le=60)
    current_high_a: Amperes = Field(alias="current_high", gt=0, le=100)
    rated_c: Celsius = Field(alias="rated", ge=40, le=120)
    cut_out_c: Celsius | None = Field(default=None, alias="cut_out", ge=50, le=150)


class Valve(Section):
    """The servo-driven throttle valve."""

    kvs_m3h: FlowCoefficient = Field(alias="kvs", gt=0.05, le=60)
    """Flow coefficient Kv fully open, m3/h at 1 bar (IEC 60534)."""
    rangeability: Ratio = Field(default=30.0, ge=5, le=200)
    stop: Share = Field(default=0.0, ge=0, le=0.9)
    """Stroke that the mechanical stop leaves open; 0 means that the valve can shut."""
    crack_open: Share = Field(default=0.05, ge=0, le=0.5)
    backlash: Share = Field(default=0.03, ge=0, le=0.3)
    travel_s: Seconds = Field(default=3.0, alias="travel", ge=0.2, le=120)
    bypass_lpm: LitresPerMinute = Field(default=0.0, alias="bypass", ge=0, le=60)
    """Flow of an un-valved bypass with the valve shut and the pump on."""


class Meter(Section):
    """The pulse meter in the cold leg."""

    pulses_per_litre: PulsesPerLitre = Field(alias="pulses", ge=100, le=1000)
    lowest_lpm: LitresPerMinute = Field(default=1.0, alias="lowest", ge=0.2, le=10)
    noise: Share = Field(default=0.01, ge=0, le=0.1)


class Line(Section):
    """One leg of pipe or hose."""

    length_m: Metres = Field(alias="length", gt=0.2, le=200)
    inside_diameter_mm: Millimetres = Field(alias="inside_diameter", ge=6, le=60)
    outside_diameter_mm: Millimetres = Field(alias="outside_diameter", ge=7, le=80)
    wall_w_mk: WattsPerMetreKelvin = Field(default=0.4, alias="wall_conductivity", gt=0, le=420)
    wall_kj_mk: HeatCapacityPerMetre = Field(default=0.2, alias="wall_heat", ge=0, le=20)
    """Heat capacity of the bare wall, kJ per metre and kelvin."""
    insulation_mm: Millimetres = Field(default=0.0, alias="insulation", ge=0, le=100)
    insulation_w_mk: WattsPerMetreKelvin = Field(
        default=0.04, alias="insulation_conductivity", gt=0, le=1
    )
    wind_w_m2k: WattsPerSquareMetreKelvin = Field(default=20.0, alias="wind", ge=4, le=60)
    outdoors: bool = True
    loss_kpa: Kilopascals = Field(default=1.0, alias="fittings_loss", ge=0, le=200)
    """Pressure lost in fittings at the loop's rated flow."""


class Lines(Section):
    """The three legs."""

    cold: Line
    """Tank to coil, with pump, meter and valve."""
    hot: Line
    """Coil to radiator (or to the tub)."""
    back: Line
    """Radiator to tank."""


class Radiator(Section):
    """Radiator with its fans."""

    fans_on_w_k: WattsPerKelvin = Field(alias="fans_on", gt=1, le=5000)
    fans_off_w_k: WattsPerKelvin = Field(alias="fans_off", ge=0, le=2000)
    water_l: Litres = Field(alias="water", gt=0.05, le=200)
    metal_kj_k: HeatCapacity = Field(alias="metal", ge=0, le=500)
    fans: Count = Field(default=2, ge=1, le=12)
    fan_current_a: Amperes = Field(alias="fan_current", gt=0, le=60)
    """All fans together at full speed."""
    loss_kpa: Kilopascals = Field(default=2.0, alias="loss", ge=0, le=200)


class Dump(Section):
    """Where heat goes when the radiator is not enough."""

    conductance_w_k: WattsPerKelvin = Field(alias="conductance", gt=0, le=5000)
    water_l: Litres = Field(default=2.0, alias="water", gt=0.05, le=200)
    opens_without_power: bool = True


class Heights(Section):
    """Above the floor on which the tank stands."""

    tank_water_m: Metres = Field(alias="tank_water", ge=-5, le=20)
    coil_top_m: Metres = Field(alias="coil_top", ge=-5, le=20)
    vent_top_m: Metres = Field(alias="vent_top", ge=-5, le=30)
    pump_m: Metres = Field(alias="pump", ge=-5, le=20)


class Layout(Section):
    """How the parts are joined, and the open vent."""

    path: list[Element] = Field(min_length=4)
    """What the water passes, in the direction of flow, from tank to tank."""
    vent_always_rising: bool
    vent_bore_mm: Millimetres = Field(alias="vent_bore", ge=0, le=100)
    vent_freeze_safe: bool
    heights: Heights


class Power(Section):
    """The 12 V supply."""

    battery_ah: AmpereHours = Field(default=0.0, alias="battery", ge=0, le=2000)
    resting_v: Volts = Field(default=12.8, alias="resting", ge=9, le=60)
    board_a: Amperes = Field(default=0.3, alias="board", ge=0, le=20)
    wire_length_m: Metres | None = Field(default=None, alias="wire_length", gt=0, le=100)
    """Battery to pump, one way."""
    wire_area_mm2: SquareMillimetres | None = Field(default=None, alias="wire_area", gt=0.1, le=100)
    """Cross-section of each of the two wires to the pump."""


class Ntc(Section):
    """A thermistor by Steinhart and Hart: 1/T = a + b ln R + c (ln R)^3, in K and ohm."""

    a: Ratio
    b: Ratio = Field(gt=0)
    c: Ratio = 0.0


class Correction(Section):
    """What a board makes of a thermometer's reading: gain x reading + zero."""

    gain: Ratio = Field(gt=0.5, lt=2)
    zero_k: Kelvin = Field(alias="zero", ge=-20, le=20)


class Thermometer(Section):
    """One thermometer: kind, lag, faults that a healthy one has."""

    kind: Literal["ntc", "digital", "thermocouple"]
    lag_s: Seconds = Field(alias="lag", ge=0, le=300)
    noise_k: Kelvin = Field(default=0.05, alias="noise", ge=0, le=5)
    quantum_k: Kelvin = Field(default=0.06, alias="quantum", ge=0, le=5)
    offset_k: Kelvin = Field(default=0.0, alias="offset", ge=-20, le=20)
    error_k: Kelvin = Field(default=1.5, alias="error", gt=0, le=10)
    in_air_stream: bool = False
    ntc: Ntc | None = Field(default=None, exclude_if=_absent)
    correction: Correction | None = Field(default=None, exclude_if=_absent)
    """As calibrated, for the board; what is left after it stands in offset and error. A loop
    without them keeps the identity that it had before there were such keys."""


class Sensors(Section):
    """Which channels are fitted. A channel left out is not fitted."""

    coil_outlet_a: Thermometer
    coil_outlet_b: Thermometer | None = None
    tank: Thermometer
    radiator_inlet: Thermometer | None = None
    radiator_outlet: Thermometer | None = None
    coil_metal: Thermometer | None = None
    flue: Thermometer | None = None
    room: Thermometer | None = None
    line: Thermometer | None = None
    flow_switch: bool = False
    pump_current: bool = True
    level: bool = True
    fan_current: bool = True
    damper_switch: bool = False
    co: bool = False
    vent_drip: bool = False
    """A switch that tells when the open end of the vent or relief discharges."""
    smoke: bool = False
    """A detector of heat or smoke outside the firebox, wired to the board."""


class Device(Section):
    """A passive device with the day on which it was last proven by test."""

    proven: date
    carries_kw: Kilowatts | None = Field(default=None, alias="carries", gt=0, le=100)
    opens_kpa: Kilopascals | None = Field(default=None, alias="opens", gt=0, le=1000)
    proof_interval_days: Count = Field(default=365, ge=1, le=1500)


class Passive(Section):
    """What works with the supply dead. A device that is left out or past its proof is absent."""

    open_vent: Device | None = None
    valve_stop: Device | None = None
    gravity_damper: Device | None = None
    no_volt_release: Device | None = None
    pump_battery: Device | None = None
    horn_battery: Device | None = None
    relief_valve: Device | None = None
    quench_coil: Device | None = None
    gravity_dump: Device | None = None
    fusible_link: Device | None = None
    fan_thermostat: Device | None = None


class Limits(Section):
    """Limits typed by a person: each may only move the derived one to the safer side."""

    allowed_c: Celsius | None = Field(default=None, alias="allowed")
    set_point_c: Celsius | None = Field(default=None, alias="set_point")
    outlet_warn_c: Celsius | None = Field(default=None, alias="outlet_warn")
    outlet_dump_c: Celsius | None = Field(default=None, alias="outlet_dump")
    outlet_high_high_c: Celsius | None = Field(default=None, alias="outlet_high_high")
    tank_warn_c: Celsius | None = Field(default=None, alias="tank_warn")
    tank_trip_c: Celsius | None = Field(default=None, alias="tank_trip")
    tank_high_high_c: Celsius | None = Field(default=None, alias="tank_high_high")
    least_flow_lpm: LitresPerMinute | None = Field(default=None, alias="least_flow")
    refill_window_s: Seconds | None = Field(default=None, alias="refill_window")
    pump_rest_min: Minutes | None = Field(default=None, alias="pump_rest")
    hose_rated_c: Celsius | None = Field(default=None, alias="hose_rated")


class Loop(Section):
    """The whole loop file."""

    coilward: Literal[1]
    """Version of the file's format."""
    name: str = Field(min_length=1, max_length=60)
    units: Literal["si", "us"] = "si"
    tick_s: Seconds = Field(default=0.25, alias="tick", ge=0.05, le=1)
    site: Site
    room: Room
    fire: Fire
    coil: Coil
    tank: Tank
    pump: Pump
    valve: Valve
    meter: Meter
    lines: Lines
    radiator: Radiator | None = None
    dump: Dump | None = None
    layout: Layout
    power: Power
    sensors: Sensors
    passive: Passive
    limits: Limits = Limits()
