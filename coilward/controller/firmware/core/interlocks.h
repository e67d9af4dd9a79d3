/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/interlocks.py; don't
 * edit.
 */
#ifndef INTERLOCKS_H
#define INTERLOCKS_H

/*
 * The cause-and-effect table: one row an interlock, and the masks that follow from it.
 *
 * A row says what raises it, what it does to each actuator, how long its cause must last,
 * whether it stays until a person resets it, where it leads, how loud it is, and what a person
 * is told. Nothing about a row stands anywhere else: the logic reads the masks below, the
 * tests, the alarms and the printed tables read the rows.
 *
 * Codes. Pump: ``on``, ``off`` or ``=`` (no opinion); "on" always means "unless the coil may
 * be dry". Valve: ``open``, ``hold`` or ``=``. Fans: ``full``, ``half``, ``off`` or ``=``.
 * Damper: ``shut`` or ``=``. Dump: ``open``, ``hold`` or ``=``. Horn: 0 silent, 1 beep,
 * 2 intermittent, 3 continuous. A ``hold`` beats every other row.
 *
 * Opposing effects are resolved by tier, highest first: dry, water, emergency, heat, fire,
 * instruments, comfort, freeze. Only the dry tier may stop the pump while a fire may be in.
 */
#include "numbers.h"

#define LOW_FLOW UINT64_C(0x1)
#define PUMP_CURRENT UINT64_C(0x2)
#define OUTLET_DUMP UINT64_C(0x4)
#define OUTLET_HH UINT64_C(0x8)
#define TANK_TRIP UINT64_C(0x10)
#define TANK_HH UINT64_C(0x20)
#define FLOW_SHORT UINT64_C(0x40)
#define OUTLET_RATE UINT64_C(0x80)
#define METAL_HIGH UINT64_C(0x100)
#define METAL_DRY UINT64_C(0x200)
#define STOOD_TOO_LONG UINT64_C(0x400)
#define POWER_AWAY UINT64_C(0x800)
#define OUTLET_DOUBT UINT64_C(0x1000)
#define OUTLETS_LOST UINT64_C(0x2000)
#define TANK_LOST UINT64_C(0x4000)
#define PULSES_AT_REST UINT64_C(0x8000)
#define METER_DEAD UINT64_C(0x10000)
#define HEAT_RESIDUAL UINT64_C(0x20000)
#define VALVE_DEAF UINT64_C(0x40000)
#define FLOW_NOT_RESTORED UINT64_C(0x80000)
#define FAN_LOST UINT64_C(0x100000)
#define FANS_LOST UINT64_C(0x200000)
#define LEVEL_LOW UINT64_C(0x400000)
#define LEVEL_LOW_LOW UINT64_C(0x800000)
#define VENT_WET UINT64_C(0x1000000)
#define LINE_FREEZING UINT64_C(0x2000000)
#define CARBON_MONOXIDE UINT64_C(0x4000000)
#define SMOKE UINT64_C(0x8000000)
#define SUPPLY_LOW UINT64_C(0x10000000)
#define EMERGENCY UINT64_C(0x20000000)
#define REFUSED UINT64_C(0x40000000)
#define UNPERMITTED_HEAT UINT64_C(0x80000000)
#define DAMPER_OPEN UINT64_C(0x100000000)
#define CONSTANTS_BAD UINT64_C(0x200000000)
#define DUMP_FAILS UINT64_C(0x400000000)
#define TOO_HOT_FOR_PEOPLE UINT64_C(0x800000000)
#define RADIATOR_FREEZING UINT64_C(0x1000000000)
#define REBOOTS UINT64_C(0x2000000000)
#define WITNESS_LOST UINT64_C(0x4000000000)
#define SECOND_STOP UINT64_C(0x8000000000)
#define CONTRADICTED UINT64_C(0x10000000000)
#define CLOCK_JUMPED UINT64_C(0x20000000000)
#define FOUL_AIR UINT64_C(0x40000000000)
#define INTERLOCKS_FLOW_ODD UINT64_C(0x80000000000)
#define LATCHING UINT64_C(0xa72dadaf28)
#define LATCH_DRY UINT64_C(0xe00)
#define ANY_TIME UINT64_C(0x6406e008000)
#define RETURNING UINT64_C(0xb4000025000)
#define TO_DRY UINT64_C(0xe00)
#define TO_NO_FLOW UINT64_C(0x3)
#define TO_SHUTDOWN UINT64_C(0xa5bde02128)
#define TO_DEGRADED UINT64_C(0x10200054000)
#define TO_DUMP UINT64_C(0x8000800d4)
#define ON_OUTLET UINT64_C(0x1000000008c)
#define ON_TANK UINT64_C(0x30)
#define ON_METAL UINT64_C(0x100)
#define ON_LEVEL UINT64_C(0xc00000)
#define ON_SUPPLY UINT64_C(0x10000000)
#define ON_LINE UINT64_C(0x2000000)
#define ON_CURRENT UINT64_C(0x2)
#define ON_CO UINT64_C(0x40004000000)
#define ON_SMOKE UINT64_C(0x8000000)
#define ON_VENT UINT64_C(0x1000000)
#define ON_DAMPER UINT64_C(0x100000000)
#define ON_PEOPLE UINT64_C(0x800000000)
#define ON_RADIATOR UINT64_C(0x1000000000)
#define PUMP_ON UINT64_C(0x9bfb3ff71ff)
#define PUMP_OFF UINT64_C(0xe00)
#define VALVE_OPEN UINT64_C(0x1bfb3ede1ff)
#define VALVE_HOLD UINT64_C(0xe00)
#define FANS_FULL UINT64_C(0x1a721b96fff)
#define FANS_HALF UINT64_C(0x1000)
#define FANS_OFF UINT64_C(0x1802000000)
#define DAMPER_SHUT UINT64_C(0x1afbde96fff)
#define DUMP_OPEN UINT64_C(0xafb9a921ff)
#define DUMP_HOLD UINT64_C(0xe00)
#define HORN_BEEP UINT64_C(0xe5040169000)
#define HORN_INTERMITTENT UINT64_C(0x12b926160d4)
#define HORN_CONTINUOUS UINT64_C(0x842d880f2b)
#define EVERY_ROW UINT64_C(0xfffffffffff)
#define LAST_ROW INT64_C(43)

#endif
