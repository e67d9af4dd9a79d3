/* The hardware layer filled in for a board with an RP2040: Cortex-M0+, 125 MHz. The chip's own
   development kit starts clocks and memory and calls main(); nothing else of it is needed. Outside
   the chip: two 8-channel converters (MCP3208) for thermometers and currents, a memory that needs no
   power (an SPI FRAM with 16-bit addresses), three 74HC165 for switches and buttons, and a clock
   with a 32.768 kHz output. Pins stand beside the functions.

   It compiles. It has not been run on the chip: prove each pin with the bench, and each interlock
   by hand, before anything burns. */
#include "rp2040.h"

#include "board.h"
#include "inputs.h"
#include "numbers.h"
#include "serial.h"
#include "yours.h"

/* Pins. */
enum { UART_TX = 0, UART_RX = 1, SERVO = 2, PULSES = 3, FANS = 4 };
enum { PUMP = 5, DAMPER = 6, DUMP = 7, HORN = 8, LAMP = 9 };
enum { SHIFT_LOAD = 10, SHIFT_CLOCK = 11, SHIFT_DATA = 12, CLOCK_32K = 13, JUMPER = 14, PUMP_BREAK = 15 };
enum { SPI_IN = 16, SELECT_A = 17, SPI_CLOCK = 18, SPI_OUT = 19, SELECT_B = 20, SELECT_RAM = 21 };
enum { SELECT_METAL = 22, SELECT_FLUE = 26 };
enum { WIRE = 2, SERIAL_BUS = 1, PULSE_WIDTH = 4, PLAIN = 5 };

enum { PATIENCE = 2000, LINES = 24 };
/* On the second converter: room's neighbours, and half of the reference through two equal
   resistors. Outside these steps the converter lies. */
enum { LINE_INPUT = 8, PUMP_INPUT = 9, FAN_INPUT = 10, SUPPLY_INPUT = 11, CO_INPUT = 12 };
enum { REFERENCE_INPUT = 13, REFERENCE_LOW = 1950, REFERENCE_HIGH = 2145 };
enum { RAM_WRITE_ENABLE = 6, RAM_WRITE = 2, RAM_READ = 3, RAM_HEAD = 8, RAM_SLOT = 4096 };

static uint32_t horn_told;

static void drive(uint32_t pin, bool high)
{
    if (high) {
        SIO_OUT_SET = UINT32_C(1) << pin;
    } else {
        SIO_OUT_CLEAR = UINT32_C(1) << pin;
    }
}

static bool high(uint32_t pin) { return (SIO_IN >> pin & 1U) != 0U; }

/* ---- interrupts: named as the development kit looks for them ------------------------------- */

void send_on(void)
{
    while (!ring_empty(&to_send) && (UART0_FR & (UINT32_C(1) << 5)) == 0U) {
        UART0_DR = ring_get(&to_send);
    }
}

void isr_uart0(void);
void isr_uart0(void)
{
    UART0_ICR = 0x70;
    while ((UART0_FR & (UINT32_C(1) << 4)) == 0U) {
        ring_put(&received, (uint8_t)UART0_DR);
    }
    send_on();
}

void isr_io_bank0(void);
void isr_io_bank0(void)
{
    uint32_t stamp_us = TIMER_RAW_LOW;
    IO_INTR0 = UINT32_C(4) << (4 * PULSES);
    pulse_seen(stamp_us);
}

/* ---- start ------------------------------------------------------------------------------- */

static void pin_mode(uint32_t pin, uint32_t function, bool out)
{
    PAD(pin) = out ? UINT32_C(0x50) : UINT32_C(0x4A);
    GPIO_CTRL(pin) = function;
    if (out && function == PLAIN) {
        SIO_DRIVE_SET = UINT32_C(1) << pin;
    }
}

static void start_pins(void)
{
    static const uint8_t OUTPUTS[] = {
        PUMP, PUMP_BREAK, DAMPER, DUMP, HORN, LAMP, SHIFT_LOAD, SHIFT_CLOCK, SELECT_A, SELECT_B,
        SELECT_RAM, SELECT_METAL, SELECT_FLUE,
    };
    static const uint8_t INPUTS[] = {PULSES, SHIFT_DATA, JUMPER};
    for (size_t place = 0; place < sizeof OUTPUTS; place++) {
        pin_mode(OUTPUTS[place], PLAIN, true);
    }
    for (size_t place = 0; place < sizeof INPUTS; place++) {
        pin_mode(INPUTS[place], PLAIN, false);
    }
    drive(SELECT_A, true);
    drive(SELECT_B, true);
    drive(SELECT_RAM, true);
    drive(SELECT_METAL, true);
    drive(SELECT_FLUE, true);
    drive(SHIFT_LOAD, true);
    pin_mode(UART_TX, WIRE, true);
    pin_mode(UART_RX, WIRE, false);
    pin_mode(SPI_IN, SERIAL_BUS, false);
    pin_mode(SPI_CLOCK, SERIAL_BUS, true);
    pin_mode(SPI_OUT, SERIAL_BUS, true);
    pin_mode(SERVO, PULSE_WIDTH, true);
    pin_mode(FANS, PULSE_WIDTH, true);
    pin_mode(CLOCK_32K, PULSE_WIDTH, false);
}

void board_start(void)
{
    uint32_t parts = RESET_IO | RESET_PADS | RESET_PWM | RESET_SPI0 | RESET_TIMER | RESET_UART0;
    RESETS_RESET &= ~parts;
    for (uint32_t spin = 0; spin < PATIENCE && (RESETS_DONE & parts) != parts; spin++) {
    }
    start_pins();
    UART0_IBRD = 67;
    UART0_FBRD = 52;
    UART0_LCR_H = 0x70;
    UART0_IFLS = 0;
    UART0_IMSC = 0x70;
    UART0_CR = 0x301;
    SPI0_CPSR = 126;
    SPI0_CR0 = 7;
    SPI0_CR1 = 2;
    PWM_DIV(1) = 125 << 4;
    PWM_TOP(1) = 19999;
    PWM_CC(1) = (uint32_t)SERVO_OPEN_US;
    PWM_CSR(1) = 1;
    PWM_DIV(2) = 1 << 4;
    PWM_TOP(2) = 4999;
    PWM_CSR(2) = 1;
    PWM_DIV(6) = 1 << 4;
    PWM_TOP(6) = 0xFFFF;
    PWM_CSR(6) = 0x21; /* counts the rising edges of its input B */
    IO_PROC0_INTE0 = UINT32_C(4) << (4 * PULSES);
    NVIC_ISER = (UINT32_C(1) << 13) | (UINT32_C(1) << 20);
    PSM_WDSEL = UINT32_C(0x0001FFFC);
    board_watchdog_kick();
    WATCHDOG_CTRL = UINT32_C(1) << 30;
}

/* ---- what hangs on the serial bus --------------------------------------------------------- */

static uint8_t bus(uint8_t byte)
{
    SPI0_DR = byte;
    for (uint32_t spin = 0; spin < PATIENCE; spin++) {
        if ((SPI0_SR & 4U) != 0U) {
            return (uint8_t)SPI0_DR;
        }
    }
    return 0xFF;
}

static int32_t converted(uint32_t input)
{
    uint32_t select = input < 8U ? SELECT_A : SELECT_B;
    uint32_t channel = input % 8U;
    drive(select, false);
    (void)bus((uint8_t)(6U | channel >> 2));
    uint32_t upper = bus((uint8_t)(channel << 6));
    uint32_t lower = bus(0);
    drive(select, true);
    return (int32_t)((upper & 15U) << 8 | lower);
}

/* Steps of an input, negative where the converter can't be believed. */
static int32_t steps_of(uint32_t input)
{
    int32_t reference = converted(REFERENCE_INPUT);
    return reference >= REFERENCE_LOW && reference <= REFERENCE_HIGH ? converted(input) : -1;
}

/* What a thermocouple's amplifier has to say. */
static uint32_t amplified(uint32_t select)
{
    uint32_t word = 0;
    drive(select, false);
    for (int32_t place = 0; place < 4; place++) {
        word = word << 8 | bus(0);
    }
    drive(select, true);
    return word;
}

/* ---- all inputs at one moment -------------------------------------------------------------- */

/* Switches and buttons; a closed contact pulls its line to ground. */
static uint32_t closed_lines(void)
{
    uint32_t found = 0;
    drive(SHIFT_LOAD, false);
    drive(SHIFT_LOAD, true);
    for (uint32_t line = 0; line < LINES; line++) {
        found |= (high(SHIFT_DATA) ? 0U : 1U) << line;
        drive(SHIFT_CLOCK, true);
        drive(SHIFT_CLOCK, false);
    }
    return found;
}

/* Thermistors are on the first converter, and the last of them on the second. */
void board_sample(void)
{
    for (uint32_t channel = 0; channel < THERMOMETER_COUNT; channel++) {
        inputs.ohm[channel] = thermistor_ohm(steps_of(channel), SERIES_OHM);
    }
    inputs.metal_c = amplified_c(amplified(SELECT_METAL));
    inputs.flue_c = amplified_c(amplified(SELECT_FLUE));
    inputs.pump_a = scaled(steps_of(PUMP_INPUT), PUMP_A_PER_STEP);
    inputs.fan_a = scaled(steps_of(FAN_INPUT), FAN_A_PER_STEP);
    inputs.supply_v = scaled(steps_of(SUPPLY_INPUT), SUPPLY_V_PER_STEP);
    inputs.co_ppm = scaled(steps_of(CO_INPUT), CO_PPM_PER_STEP);
    uint32_t lines = closed_lines();
    inputs.closed = lines;
    inputs.buttons = lines >> SWITCHES;
    board_interrupts(false);
    pulses_at(TIMER_RAW_LOW);
    board_interrupts(true);
}

bool board_on_bench(void) { return !high(JUMPER); }

/* ---- outputs ----------------------------------------------------------------------------- */

/* The pump's contactor seals itself in. One pin closes it, the other breaks its own contact's
   current; with both low, as without a board, it stays as it is. */
void board_pump(bool runs)
{
    drive(PUMP_BREAK, !runs);
    drive(PUMP, runs);
}
void board_valve(double stroke)
{
    double us = SERVO_SHUT_US + share_of(stroke) * (SERVO_OPEN_US - SERVO_SHUT_US);
    PWM_CC(1) = (uint32_t)us;
}
/* 25 kHz to fans with an input for it. */
void board_fans(double share) { PWM_CC(2) = (uint32_t)(share_of(share) * 5000.0); }
/* The magnet that holds the damper open. */
void board_damper(bool open) { drive(DAMPER, open); }
/* The coil that holds the dump shut: without power it opens. */
void board_dump(bool open) { drive(DUMP, !open); }
void board_horn(int64_t told) { horn_told = (uint32_t)told; }
void board_lamp(bool may_light) { drive(LAMP, may_light); }

/* ---- wire, clocks, memory ------------------------------------------------------------------ */

/* The chip's count of microseconds, of 64 bits: its upper half may move on between two looks. */
uint32_t board_ms(void)
{
    uint32_t upper = TIMER_RAW_HIGH;
    uint32_t lower = TIMER_RAW_LOW;
    if (TIMER_RAW_HIGH != upper) {
        upper = TIMER_RAW_HIGH;
        lower = TIMER_RAW_LOW;
    }
    return (uint32_t)(((uint64_t)upper << 32 | lower) / 1000U);
}

/* Of the clock beside the chip: independent of the crystal that the program runs by. */
uint32_t board_other_ms(void)
{
    static uint64_t total;
    static uint32_t last;
    uint32_t edges = PWM_CTR(6);
    total += (edges - last) & 0xFFFFU;
    last = edges;
    return (uint32_t)(total * 1000U / 32768U);
}

/* Nothing on this board runs on without power: how long it was off is not known. */
double board_outage_s(void) { return NOT_KNOWN; }

/* The development kit owns the start: memory is tried while the program runs, not before. */
volatile uint32_t *board_ram_from(void) { return (volatile uint32_t *)UINT32_C(0x20000000); }
volatile uint32_t *board_ram_to(void) { return (volatile uint32_t *)UINT32_C(0x20042000); }
/* The stack has the last 4 kB: PICO_STACK_SIZE in CMakeLists.txt. */
volatile uint32_t *board_stack_end(void) { return (volatile uint32_t *)UINT32_C(0x20041000); }

/* 1.8 s: two steps a microsecond, an erratum of the chip. */
void board_watchdog_kick(void) { WATCHDOG_LOAD = 3600000; }

static void ram_begin(uint8_t order, uint32_t address)
{
    drive(SELECT_RAM, false);
    (void)bus(order);
    (void)bus((uint8_t)(address >> 8));
    (void)bus((uint8_t)address);
}

static void ram_write(uint32_t address, const uint8_t *bytes, size_t size)
{
    drive(SELECT_RAM, false);
    (void)bus(RAM_WRITE_ENABLE);
    drive(SELECT_RAM, true);
    ram_begin(RAM_WRITE, address);
    for (size_t place = 0; place < size; place++) {
        (void)bus(bytes[place]);
    }
    drive(SELECT_RAM, true);
}

static void ram_read(uint32_t address, uint8_t *bytes, size_t size)
{
    ram_begin(RAM_READ, address);
    for (size_t place = 0; place < size; place++) {
        bytes[place] = bus(0);
    }
    drive(SELECT_RAM, true);
}

/* The first byte of the memory says which of two slots is the newest: it is written last. */
void board_store(const void *bytes, size_t size)
{
    uint8_t newest = 0;
    ram_read(0, &newest, 1);
    newest = newest == 1U ? 2U : 1U;
    if (size > RAM_SLOT - RAM_HEAD) {
        return;
    }
    ram_write(RAM_HEAD + (newest - 1U) * UINT32_C(4096), bytes, size);
    ram_write(0, &newest, 1);
}

bool board_load(void *bytes, size_t size)
{
    uint8_t newest = 0;
    ram_read(0, &newest, 1);
    if (newest < 1U || newest > 2U) {
        return false;
    }
    ram_read(RAM_HEAD + (newest - 1U) * UINT32_C(4096), bytes, size);
    return true;
}

/* The horn's relay is held by current: a board without power sounds it. */
void board_idle(void)
{
    drive(HORN, !horn_sounds(horn_told, board_ms()));
}
