#ifndef YOURS_H
#define YOURS_H

/* Numbers of what you built around the board: measure each, and change it here. */

/* Servo of the valve: pulse at stroke 0 and at stroke 1, in microseconds. */
#define SERVO_SHUT_US 1000.0
#define SERVO_OPEN_US 2000.0
/* The resistor between a thermistor's input and the converter's reference. */
#define SERIES_OHM 10000.0
/* What one step of the converter is, behind the divider or amplifier. */
#define PUMP_A_PER_STEP (20.0 / 4095.0)
#define FAN_A_PER_STEP (20.0 / 4095.0)
#define SUPPLY_V_PER_STEP (16.5 / 4095.0)
#define CO_PPM_PER_STEP (1000.0 / 4095.0)

#endif
