"""Where things stand in the plant's two flat lists: its state ``y`` and its parameters ``p``.

Both are plain lists of floats when interpreted and arrays when compiled. A slot that ends
with an underscore is the first of several. Temperatures are in degrees Celsius.
"""

from __future__ import annotations

COIL_CELLS = 8
LINE_CELLS = 8
RADIATOR_CELLS = 3
CHANNELS = (
    "coil_outlet_a", "coil_outlet_b", "tank", "radiator_inlet", "radiator_outlet", "coil_metal",
    "flue", "room", "line",
)
"""Thermometers in the order of their slots; named as in the loop file's sensors."""
CHANNEL_COUNT = len(CHANNELS)
(OUTLET_A, OUTLET_B, TANK, RADIATOR_INLET, RADIATOR_OUTLET, METAL, FLUE, ROOM, LINE) = range(9)

MANY = 200
"""More than either list names by hand; the rest is dropped."""

# ---- state: water and metal ------------------------------------------------------------
WALL_ = 0
WATER_ = WALL_ + COIL_CELLS
STUB = WATER_ + COIL_CELLS
"""The pipe just outside the fire, where the outlet thermometers sit."""
COLD_ = STUB + 1
HOT_ = COLD_ + LINE_CELLS
BACK_ = HOT_ + LINE_CELLS
CORE_ = BACK_ + LINE_CELLS
"""The radiator's cells."""
(
    TANK_TOP, TANK_BOTTOM, ROOM_AIR, COLD_LEAST, HOT_LEAST, BACK_LEAST, LINE_LEAST,
    # fire
    MOISTURE_KG, FRESH_KG, FLAMING_KG, CHAR_KG, LIVELY, LIT, GAS, FLUE_GAS, AIR, HOLD_W,
    # outputs as told, and what stands there
    TOLD_PUMP, TOLD_VALVE, TOLD_FANS, TOLD_DAMPER, TOLD_DUMP, HORN,
    CONTACT, SPEED, MOTOR, STROKE, VALVE_SQUARE, FAN_SPEED, DAMPER, DUMP_OPENING,
    FLOW_LPM, PASSING, SUPPLY_V, DRAWN_AH, PUMP_CUT_OUT,
    # the meter, and the board's memory of its last start
    PULSE_PART, PULSE_AGE_S, PULSE_LPM, PULSES, OUTAGE_S,
    # pace of the integrator
    RATE_K_S, DRIFT_K_S, MOVING, MOMENT_TICKS, UNSETTLED_S, PENDING_TICKS,
    # heat flows of the last step, W
    FIRE_W, WATER_W, ROOM_W, DUMP_W, LOSS_W,
    # energy since the start, J
    FIRE_J, ROOM_J, DUMP_J, LINES_J, TANK_J, STEAM_J,
    # boiling, margins and peaks
    HOTTEST_WATER, HOTTEST_WALL, BOILED_S, BOILING_STILL_S, DRY,
    LEAST_BOIL_K, LEAST_BOIL_S, PEAK_OUTLET, PEAK_WALL, PEAK_TANK, PUMP_OFF_FIRE_S,
    # how long a part was asked to do something: the witnesses that a fault took effect, s
    PUMP_RUN_S, FANS_RUN_S, FLOW_S, HEAT_S, VALVE_ASKED_S, DAMPER_ASKED_S, DUMP_ASKED_S,
    HORN_ASKED_S, WELDED_S, LEAKED_L,
    # water in the tank as a share of full, the air outside
    LEVEL_NOW, OUTDOOR_AIR,
    # the radiator's conductance and stream, and what follows for one of its cells
    RADIATOR_W_K, STREAM_W_K, CELL_W_K,
    # what hinders the pump's water, and what of it runs out before the coil
    HINDERED, HEAD_LEFT, SPILT_LPM,
    # passive hardware: the thermostat's contact, heat taken from the coil
    FANS_FORCED, HELD_W, HELD_J, LEAK_J,
    *_,
) = range(CORE_ + RADIATOR_CELLS, MANY)  # fmt: skip
LAGGED_ = LEAK_J + 1
TRUE_ = LAGGED_ + CHANNEL_COUNT
"""What each thermometer's own lag follows: its place at the end of the last step, or what
reaches it through a lag that has grown."""
SEEN_ = TRUE_ + CHANNEL_COUNT
PLACE_ = SEEN_ + CHANNEL_COUNT
"""What each thermometer's place had at the end of the last step."""
Y_COUNT = PLACE_ + CHANNEL_COUNT

# ---- parameters ------------------------------------------------------------------------
FILM_POINTS = 64
STEPS = 80
"""Longest quiet step, in ticks."""
(
    TICK_S, TICKS_PER_S, SUB_STEPS, QUIET_TICKS, CALM_TICKS,
    W_PER_LPM_K, BOIL_C, PEAK, COIL_J_K, COIL_OPEN_LPM,
    WALL_J_K, WATER_J_K, FILM_STEP_LPM,
    STUB_J_K, STUB_W_K, COLD_J_K, COLD_W_K, COLD_ICE_K, HOT_J_K, HOT_W_K, HOT_ICE_K,
    BACK_J_K, BACK_W_K, BACK_ICE_K, COLD_OUT, HOT_OUT, BACK_OUT,
    HAS_RADIATOR, CORE_J_K, FANS_ON_W_K, FANS_OFF_W_K, DUMP_W_K,
    LAYER_J_K, TANK_L, TANK_W_K, LAYERS_W_K, IS_TUB, ROOM_J_K, ROOM_W_K, OUTDOOR_C,
    HEAD0_KPA, HEAD1, HEAD2, LOOP1, LOOP2, KVS, LOG_RANGE, CRACK_OPEN, BYPASS_KV,
    VALVE_STOP, BACKLASH, TRAVEL_S, PUMP_A, PUMP_HIGH_A, CUT_OUT_C, RATED_V, FAN_A, BOARD_A,
    DUMP_FAILS_OPEN,
    NOMINAL_W, RELEASE_W, CEILING_W, GAS_W_K, STACK_W_K, GAS_J_K, GAS_LEAK, DECAY_S,
    DRYING_1_S, FLAMING_1_S, CHAR_1_S,
    PULSES_PER_L, METER_LOWEST_LPM, METER_NOISE, SENSES_CURRENT, SENSES_FANS, SENSES_LEVEL,
    SENSES_SWITCH, SENSES_DAMPER, SENSES_CO, SENSES_DRIP, SENSES_SMOKE, LEVEL_LOW, LEVEL_LOW_LOW,
    # what faults set
    PUMP_SHARE, PUMP_STALLED, FAN_SHARE, JAMMED, METER_FACTOR, CURRENT_WIRE, SUPPLY_OPEN_V,
    CHARGER, BATTERY_AH,
    CAUGHT_FACTOR, AIR_FACTOR, DAMPER_STUCK, DUMP_STUCK, LEVEL, SWITCH_WIRE, LINE_BLOCKED,
    METER_ADDS_LPM, CURRENT_ADDS_A, FLOAT_STUCK, CO_PPM, VENT_WET, SMOKE, CONSTANTS_BAD,
    CLOCK_ADDS_S, LATE_TICKS,
    PUMP_AIR, CONTACT_WELDED, PUMP_WIRE_OHM, VALVE_REVERSED, HORN_DEAD,
    AIR_LOCK, KINK_1_K, CLOG, LEAK_LPM, HOSE_OFF, CAVITATES_C, FILM_SHARE,
    GUST, FLUE_ADDS_K,
    # passive hardware
    HELD_CAP_W, HELD_FROM_C, PUMP_BATTERY, SEALS_IN, DAMPER_FALLS, RESTING_V, THERMOSTAT,
    *_,
) = range(MANY)  # fmt: skip
MODE_ = THERMOSTAT + 1
"""Of each thermometer: 0 works, 1 open or not fitted, 2 frozen, 3 sends 85.0, 4 short."""
SOURCE_ = MODE_ + CHANNEL_COUNT
DIGITAL_ = SOURCE_ + CHANNEL_COUNT
NOISE_K_ = DIGITAL_ + CHANNEL_COUNT
QUANTUM_K_ = NOISE_K_ + CHANNEL_COUNT
OFFSET_K_ = QUANTUM_K_ + CHANNEL_COUNT
SCALE_ = OFFSET_K_ + CHANNEL_COUNT
"""Of each thermometer's reading, about 25 degC."""
EXTRA_LAG_S_ = SCALE_ + CHANNEL_COUNT
VIEW_ = EXTRA_LAG_S_ + CHANNEL_COUNT
FILM_ = VIEW_ + COIL_CELLS
"""Film of one coil cell against flow, W/K."""
FADE_ = FILM_ + FILM_POINTS
"""What is left after half a step, of FADES movements: fans, opening damper, shutting damper,
dump valve, pump. One row for a step of n ticks, and two for parts of a tick."""
FADES = 5
SUB_ROW, FINE_ROW = 0, STEPS + 1
LAG_ = FADE_ + FADES * (STEPS + 2)
"""For a step of n ticks and each thermometer: weights of old reading, old and new truth."""
P_COUNT = LAG_ + 3 * CHANNEL_COUNT * (STEPS + 1)
