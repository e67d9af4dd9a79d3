/* The hardware layer of a board that is a process: a pseudo terminal, the clock of this machine, and
   no pins. It prints the address to open, and ends as standard input does. */
#define _XOPEN_SOURCE 700
#include "board.h"

#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static int wire = -1;

static void open_wire(void)
{
    struct termios raw;
    wire = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (wire < 0 || grantpt(wire) != 0 || unlockpt(wire) != 0) {
        exit(1);
    }
    int kept = open(ptsname(wire), O_RDWR | O_NOCTTY);
    if (kept < 0 || tcgetattr(kept, &raw) != 0) {
        exit(1);
    }
    raw.c_iflag = 0;
    raw.c_oflag = 0;
    raw.c_lflag = 0;
    (void)tcsetattr(kept, TCSANOW, &raw);
    (void)printf("%s\n", ptsname(wire));
    (void)fflush(stdout);
}

size_t board_uart_get(uint8_t *bytes, size_t most)
{
    if (wire < 0) {
        open_wire();
    }
    ssize_t count = read(wire, bytes, most);
    return count > 0 ? (size_t)count : 0;
}

void board_uart_put(const uint8_t *bytes, size_t count)
{
    if (write(wire, bytes, count) < 0) {
        return;
    }
}

uint32_t board_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint32_t)(1000 * (uint64_t)now.tv_sec + (uint64_t)now.tv_nsec / 1000000);
}

void board_idle(void)
{
    struct pollfd waits[2] = {{.fd = wire, .events = POLLIN}, {.fd = 0, .events = POLLIN}};
    char byte;
    (void)poll(waits, 2, 1);
    if (waits[1].revents != 0 && read(0, &byte, 1) <= 0) {
        exit(0);
    }
}

static double nothing(void)
{
    return 0.0 / 0.0;
}

double board_thermometer_c(int channel) { (void)channel; return nothing(); }
double board_thermometer_ohm(int channel) { (void)channel; return nothing(); }
double board_pulse_period_s(void) { return nothing(); }
double board_pulse_age_s(void) { return nothing(); }
double board_flow_switch(void) { return nothing(); }
double board_level_low(void) { return nothing(); }
double board_level_low_low(void) { return nothing(); }
double board_vent_wet(void) { return nothing(); }
double board_pump_contact(void) { return nothing(); }
double board_damper_shut(void) { return nothing(); }
double board_smoke(void) { return nothing(); }
double board_pump_a(void) { return nothing(); }
double board_fan_a(void) { return nothing(); }
double board_supply_v(void) { return nothing(); }
double board_co_ppm(void) { return nothing(); }
double board_button(int button) { (void)button; return nothing(); }
double board_outage_s(void) { return nothing(); }
bool board_image_sound(void) { return true; }
void board_start(void) {}
bool board_on_bench(void) { return true; }
void board_pump(bool runs) { (void)runs; }
void board_valve(double stroke) { (void)stroke; }
void board_fans(double share) { (void)share; }
void board_damper(bool open) { (void)open; }
void board_dump(bool open) { (void)open; }
void board_horn(int64_t sound) { (void)sound; }
void board_lamp(bool may_light) { (void)may_light; }
void board_watchdog_kick(void) {}
void board_sample(void) {}
void board_interrupts(bool may) { (void)may; }
uint32_t board_other_ms(void) { return board_ms(); }
static volatile uint32_t words[8];
volatile uint32_t *board_ram_from(void) { return words; }
volatile uint32_t *board_ram_to(void) { return words + 4; }
volatile uint32_t *board_stack_end(void) { return words + 4; }
void board_store(const void *bytes, size_t size) { (void)bytes; (void)size; }
bool board_load(void *bytes, size_t size) { (void)bytes; (void)size; return false; }
