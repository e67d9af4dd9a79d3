#include "pins.h"

#include "board.h"

void pins_read(double numbers[AT_COUNT], const Wiring *wiring, double time_s, double outage_s)
{
#define THERMOMETER(row, member, in_c, in_ohm) \
    numbers[in_c] = NOT_KNOWN; \
    numbers[in_ohm] = NOT_KNOWN; \
    if (wiring->thermometers[row].kind == THERMISTOR) { \
        numbers[in_ohm] = board_thermometer_ohm(row); \
    } else { \
        numbers[in_c] = board_thermometer_c(row); \
    }
    THERMOMETERS(THERMOMETER)
#undef THERMOMETER
    numbers[AT_PULSES] = NOT_KNOWN;
    numbers[AT_PULSE_PERIOD_S] = board_pulse_period_s();
    numbers[AT_PULSE_AGE_S] = board_pulse_age_s();
    numbers[AT_FLOW_SWITCH] = board_flow_switch();
    numbers[AT_LEVEL_LOW] = board_level_low();
    numbers[AT_LEVEL_LOW_LOW] = board_level_low_low();
    numbers[AT_VENT_WET] = board_vent_wet();
    numbers[AT_PUMP_A] = board_pump_a();
    numbers[AT_FAN_A] = board_fan_a();
    numbers[AT_SUPPLY_V] = board_supply_v();
    numbers[AT_CO_PPM] = board_co_ppm();
    numbers[AT_PUMP_CONTACT] = board_pump_contact();
    numbers[AT_DAMPER_SHUT] = board_damper_shut();
    numbers[AT_SMOKE] = board_smoke();
    numbers[AT_TIME_S] = time_s;
    numbers[AT_OUTAGE_S] = outage_s;
    numbers[AT_CONSTANTS_OK] = board_image_sound() ? 1.0 : 0.0;
    int button = 0;
#define REQUEST(member, place) numbers[place] = board_button(button++);
    REQUEST_MEMBERS(REQUEST)
#undef REQUEST
}

void pins_write(const Commands *commands)
{
    board_pump(commands->pump);
    board_valve(commands->valve);
    board_fans(commands->fans);
    board_damper(commands->damper_open);
    board_dump(commands->dump_open);
    board_horn(commands->horn);
    board_lamp(commands->may_light);
}
