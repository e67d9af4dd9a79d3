#ifndef BOARD_H
#define BOARD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What this program needs of a board: one function a pin or device. Whoever brings it to another
   board writes these and nothing else. None of them may wait. A reading that is not there, broken
   or out of its range is NaN: the logic knows what to do with that, and a made-up value kills.

   So an input has to show its own faults: a thermistor's or a 4-20 mA input reads NaN where the wire
   is open or shorted; a converter that does not find its reference channel where it belongs (a
   fixed voltage, or a resistor of known size, measured every tick) gives NaN on all its channels;
   a switch that closes for "all is well" reads NaN where neither of its two wires says so. A value
   that stands still is for the logic to doubt. */

/* Takes all inputs at one moment: until the next call each of them reads the same, however often
   it is asked. A board whose inputs do not answer lets them go NaN. */
void board_sample(void);

/* ---- start ------------------------------------------------------------------------------- */

/* Called once, before anything else: pins, clocks, converters, and the watchdog, 1.8 s. Outputs that
   nobody has told anything yet stay where they were found: the pump's contactor as it is. */
void board_start(void);

/* ---- thermometers, by their place in THERMOMETERS of messages.h -------------------------- */

/* Temperature in degC of a thermometer that gives degrees. */
double board_thermometer_c(int channel);
/* Resistance in ohm of a thermistor. */
double board_thermometer_ohm(int channel);

/* ---- the flow meter ---------------------------------------------------------------------- */

/* Seconds between the last two pulses, by a timer that runs in hardware; infinite before the second
   one. Pulses are too near to each other to be counted by a loop that also does other things. */
double board_pulse_period_s(void);
/* Seconds since the last pulse. */
double board_pulse_age_s(void);

/* ---- switches and sensors ---------------------------------------------------------------- */

double board_flow_switch(void);   /* 1 while water moves */
double board_level_low(void);     /* 1 while the tank is low */
double board_level_low_low(void); /* 1 while the tank is nearly empty */
double board_vent_wet(void);      /* 1 while vent or relief discharge */
double board_pump_contact(void);  /* 1 while the pump's contactor is closed */
double board_damper_shut(void);   /* 1 while the damper is shut */
double board_smoke(void);         /* 1 while heat or smoke is seen outside the firebox */
double board_pump_a(void);        /* pump current, A */
double board_fan_a(void);         /* current of all fans, A */
double board_supply_v(void);      /* supply at the board, V */
double board_co_ppm(void);        /* carbon monoxide, ppm */
/* 1 while a person holds this button; by its place in REQUEST_MEMBERS of messages.h. */
double board_button(int button);
/* Whether program and constants are those that were written into the board: a checksum over the
   flash, made when it was written. */
bool board_image_sound(void);
/* Whether the bench's jumper is in: then nothing that moves water, air or fire is wired. Read once,
   at the start. */
bool board_on_bench(void);

/* ---- outputs ----------------------------------------------------------------------------- */

void board_pump(bool runs);
void board_valve(double stroke); /* 0 shut to 1 open */
void board_fans(double share);   /* 0 off to 1 full */
void board_damper(bool open);
void board_dump(bool open);
void board_horn(int64_t sound); /* 0 silent, 1 beep, 2 intermittent, 3 continuous */
void board_lamp(bool may_light);

/* ---- wire, clock, memory ----------------------------------------------------------------- */

/* Up to `most` bytes that have come; gives how many. */
size_t board_uart_get(uint8_t *bytes, size_t most);
/* Bytes to send; what finds no room is lost. */
void board_uart_put(const uint8_t *bytes, size_t count);
/* Milliseconds of a clock that never goes back; it may pass over its end. */
uint32_t board_ms(void);
/* Milliseconds of a second clock, from an oscillator of its own: two clocks from one crystal go wrong
   together, and then neither finds the other. */
uint32_t board_other_ms(void);
/* Seconds for which the board was off before this start; NaN where no clock ran on. */
double board_outage_s(void);
/* The watchdog has to restart the board when this was not called for 1.8 s, by an oscillator
   of its own. So does the board when the processor faults, or runs into memory that holds no
   program: handlers and filled flash stop without kicking. While it restarts the outputs are not
   driven, and what hangs on them goes to its safe side by itself. */
void board_watchdog_kick(void);
/* Whether interrupts may come. */
void board_interrupts(bool may);
/* The memory that is tried, all of it, and the first words of the stack, which nothing reaches while
   the stack has room. The start-up code has marched through that memory before main. */
volatile uint32_t *board_ram_from(void);
volatile uint32_t *board_ram_to(void);
volatile uint32_t *board_stack_end(void);
/* Keeps these bytes where they outlive a loss of power, in the place of the last ones; a loss of
   power meanwhile has to leave either the old or the new ones. */
void board_store(const void *bytes, size_t size);
/* The bytes that were kept last; false where there are none of this size. */
bool board_load(void *bytes, size_t size);
/* Nothing is to be done until a byte comes or a millisecond has passed. */
void board_idle(void);

#endif
