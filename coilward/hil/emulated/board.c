/* The hardware layer of a board that is emulated. Its devices are words of memory that the
   emulator watches (coilward/hil/emulated/machine.py); the clocks are the emulator's. */
#include "board.h"

#include <stddef.h>

#include "logic_side.h"
#include "messages.h"
#include "ram.h"

/* The stack has the upper quarter of the memory. */
#define RAM 0x20000000
#define STACK_END 0x2000C000
#define STACK_TOP 0x20010000
/* Room of the stack on which the rest of the memory is tried. */
#define FIRST_STACK (RAM + 256)
#define REGISTER(offset) (*(volatile uint32_t *)(0x40000000 + (offset)))

/* Registers. What is to be done with a block of memory is written to ORDER as the address of an
   order, and is done when that is written. */
enum { ORDER = 0x00, MS = 0x04, JUMPER = 0x08, KICK = 0x0C, OTHER_MS = 0x10 };
enum { GET = 1, PUT = 2, STORE = 3, LOAD = 4, SEE = 5, SET = 6 };
/* Pins besides the numbers of a tick. */
enum { OUTPUT_PUMP = AT_COUNT, OUTPUT_VALVE, OUTPUT_FANS, OUTPUT_DAMPER, OUTPUT_DUMP, OUTPUT_HORN };
enum { OUTPUT_LAMP = OUTPUT_HORN + 1, OUTAGE };

typedef struct {
    uint32_t what;
    uint32_t address;
    uint32_t size; /* in bytes; of SEE and SET the pin */
    uint32_t done; /* bytes */
} Order;

/* Where a state stands in the logic's side: for whoever looks into the memory. */
__attribute__((used, retain)) const uint32_t STATE_PLACE = offsetof(LogicSide, state);

int main(void);

static volatile uint32_t *word_at(uint32_t address)
{
    return (volatile uint32_t *)(uintptr_t)address;
}

/* Whatever ends here waits for the watchdog: a fault of the processor, or of the memory. */
__attribute__((used, retain, noreturn)) static void stopped(void)
{
    for (;;) {
        board_idle();
    }
}

/* On a stack in memory that has been tried already. */
__attribute__((used, retain, noreturn)) static void tried(void)
{
    if (ram_march(word_at(RAM), word_at(FIRST_STACK))) {
        (void)main();
    }
    stopped();
}

/* The march leaves the memory all 0, as a program expects it. */
__attribute__((used, retain, noreturn)) void _start(void)
{
    if (!ram_march(word_at(FIRST_STACK), word_at(STACK_TOP))) {
        stopped();
    }
    __asm__ volatile("mov sp, %0\n bx %1" : : "r"(STACK_TOP), "r"(tried));
    __builtin_unreachable();
}

/* Stack, start, and the fourteen handlers of the processor's own exceptions. */
#define STOP (uintptr_t)stopped
__attribute__((used, retain, section(".vectors"))) static const uintptr_t VECTORS[16] = {
    FIRST_STACK, (uintptr_t)_start, STOP, STOP, STOP, STOP, STOP, STOP, STOP, STOP, STOP, STOP, STOP,
    STOP, STOP, STOP
};

static size_t give(uint32_t what, const void *bytes, size_t size)
{
    volatile Order order = {what, (uint32_t)(uintptr_t)bytes, (uint32_t)size, 0};
    __asm__ volatile("" ::: "memory");
    REGISTER(ORDER) = (uint32_t)(uintptr_t)&order;
    __asm__ volatile("" ::: "memory");
    return order.done;
}

static double pin(uint32_t place)
{
    double found = 0.0;
    (void)give(SEE, &found, place);
    return found;
}

static void set_pin(uint32_t place, double value)
{
    (void)give(SET, &value, place);
}

void board_start(void) {}

double board_thermometer_c(int channel)
{
#define THERMOMETER(row, member, in_c, in_ohm) in_c,
    static const uint8_t PLACES[] = {THERMOMETERS(THERMOMETER)};
#undef THERMOMETER
    return pin(PLACES[channel]);
}

double board_thermometer_ohm(int channel)
{
#define THERMOMETER(row, member, in_c, in_ohm) in_ohm,
    static const uint8_t PLACES[] = {THERMOMETERS(THERMOMETER)};
#undef THERMOMETER
    return pin(PLACES[channel]);
}

double board_pulse_period_s(void) { return pin(AT_PULSE_PERIOD_S); }
double board_pulse_age_s(void) { return pin(AT_PULSE_AGE_S); }
double board_flow_switch(void) { return pin(AT_FLOW_SWITCH); }
double board_level_low(void) { return pin(AT_LEVEL_LOW); }
double board_level_low_low(void) { return pin(AT_LEVEL_LOW_LOW); }
double board_vent_wet(void) { return pin(AT_VENT_WET); }
double board_pump_contact(void) { return pin(AT_PUMP_CONTACT); }
double board_damper_shut(void) { return pin(AT_DAMPER_SHUT); }
double board_smoke(void) { return pin(AT_SMOKE); }
double board_pump_a(void) { return pin(AT_PUMP_A); }
double board_fan_a(void) { return pin(AT_FAN_A); }
double board_supply_v(void) { return pin(AT_SUPPLY_V); }
double board_co_ppm(void) { return pin(AT_CO_PPM); }
double board_button(int button) { return pin(AT_PREPARE + (uint32_t)button); }
bool board_image_sound(void) { return pin(AT_CONSTANTS_OK) == 1.0; }
bool board_on_bench(void) { return REGISTER(JUMPER) != 0; }

void board_pump(bool runs) { set_pin(OUTPUT_PUMP, runs ? 1.0 : 0.0); }
void board_valve(double stroke) { set_pin(OUTPUT_VALVE, stroke); }
void board_fans(double share) { set_pin(OUTPUT_FANS, share); }
void board_damper(bool open) { set_pin(OUTPUT_DAMPER, open ? 1.0 : 0.0); }
void board_dump(bool open) { set_pin(OUTPUT_DUMP, open ? 1.0 : 0.0); }
void board_horn(int64_t sound) { set_pin(OUTPUT_HORN, (double)sound); }
void board_lamp(bool may_light) { set_pin(OUTPUT_LAMP, may_light ? 1.0 : 0.0); }

size_t board_uart_get(uint8_t *bytes, size_t most) { return give(GET, bytes, most); }
void board_uart_put(const uint8_t *bytes, size_t count) { (void)give(PUT, bytes, count); }
void board_store(const void *bytes, size_t size) { (void)give(STORE, bytes, size); }
bool board_load(void *bytes, size_t size) { return give(LOAD, bytes, size) == size; }
uint32_t board_ms(void) { return REGISTER(MS); }
uint32_t board_other_ms(void) { return REGISTER(OTHER_MS); }
double board_outage_s(void) { return pin(OUTAGE); }
void board_watchdog_kick(void) { REGISTER(KICK) = 1; }

/* The emulator moves its pins between two passes of the program alone, and never interrupts. */
void board_sample(void) {}
void board_interrupts(bool may) { (void)may; }

volatile uint32_t *board_ram_from(void) { return word_at(RAM); }
volatile uint32_t *board_ram_to(void) { return word_at(STACK_TOP); }
volatile uint32_t *board_stack_end(void) { return word_at(STACK_END); }

/* The emulator watches for this address alone, and stops here. */
__attribute__((noinline, used)) void board_idle(void) { __asm__ volatile("" ::: "memory"); }
