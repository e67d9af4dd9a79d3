/* The hardware layer filled in for an STM32F407VG (or F405VG): Cortex-M4, 16 MHz from its own
   oscillator, 3.3 V reference. Pins stand beside the functions. A coin cell on VBAT and a 32.768 kHz
   crystal keep memory and time through a loss of power.

   It compiles, and its wire and clock were run in an emulator. It has not been run on the chip:
   prove each pin with the bench, and each interlock by hand, before anything burns. */
#include "stm32f407.h"

#include "board.h"
#include "inputs.h"
#include "numbers.h"
#include "serial.h"
#include "yours.h"

enum { UART_BAUD = 115200, CORE_HZ = 16000000 };
/* Steps of the chip's own reference of 1.21 V at 3.3 V: outside these the converter lies. */
enum { REFERENCE_CHANNEL = 17, REFERENCE_LOW = 1430, REFERENCE_HIGH = 1575 };
enum { PUMP_CHANNEL = 10, FAN_CHANNEL = 11, SUPPLY_CHANNEL = 12, CO_CHANNEL = 13 };
/* Spins for which a part of the chip may let us wait before it is taken for dead. */
enum { PATIENCE = 20000 };
static const uint32_t DAY_MS = 86400000U;

static volatile uint32_t now_ms;
static volatile uint32_t horn_told;
static double outage_s;

/* ---- interrupts -------------------------------------------------------------------------- */

/* The horn's relay is held by current: a board without power sounds it. */
void systick_handler(void)
{
    now_ms = now_ms + 1U;
    GPIOB_BSRR = UINT32_C(1) << (horn_sounds(horn_told, now_ms) ? 15 + 16 : 15);
}

void tim2_handler(void)
{
    uint32_t stamp_us = TIM2_CCR1;
    TIM2_SR = 0;
    pulse_seen(stamp_us);
}

/* As much as there is room for now; the interrupt sends the rest. */
void send_on(void)
{
    while (!ring_empty(&to_send) && (USART1_SR & USART_TXE) != 0U) {
        USART1_DR = ring_get(&to_send);
    }
    if (ring_empty(&to_send)) {
        USART1_CR1 &= ~USART_TXEIE;
    } else {
        USART1_CR1 |= USART_TXEIE;
    }
}

void usart1_handler(void)
{
    if ((USART1_SR & USART_RXNE) != 0U) {
        ring_put(&received, (uint8_t)USART1_DR);
    }
    send_on();
}

/* ---- start ------------------------------------------------------------------------------- */

enum { INPUT = 0, OUTPUT = 1, OTHER = 2, ANALOGUE = 3 };

static void pin_mode(uint32_t port, uint32_t pin, uint32_t mode, uint32_t function)
{
    uint32_t shift = 2U * pin;
    GPIO_MODER(port) = (GPIO_MODER(port) & ~(UINT32_C(3) << shift)) | (mode << shift);
    if (mode == OTHER) {
        volatile uint32_t *half = pin < 8U ? &GPIO_AFRL(port) : &GPIO_AFRH(port);
        uint32_t place = 4U * (pin % 8U);
        *half = (*half & ~(UINT32_C(15) << place)) | (function << place);
    }
    if (mode == INPUT) {
        GPIO_PUPDR(port) = (GPIO_PUPDR(port) & ~(UINT32_C(3) << shift)) | (UINT32_C(1) << shift);
    }
}

static void start_pins(void)
{
    RCC_AHB1ENR |= UINT32_C(0x1F) | (UINT32_C(1) << 18);
    for (uint32_t pin = 0; pin < 8U; pin++) {
        pin_mode(PORT_A, pin, ANALOGUE, 0);
    }
    pin_mode(PORT_B, 0, ANALOGUE, 0);
    for (uint32_t pin = 0; pin < 4U; pin++) {
        pin_mode(PORT_C, pin, ANALOGUE, 0);
    }
    pin_mode(PORT_A, 9, OTHER, 7);
    pin_mode(PORT_A, 10, OTHER, 7);
    pin_mode(PORT_A, 15, OTHER, 1);
    pin_mode(PORT_C, 6, OTHER, 2);
    pin_mode(PORT_B, 6, OTHER, 2);
    for (uint32_t pin = 8; pin < 13U; pin++) {
        pin_mode(PORT_C, pin, INPUT, 0);
    }
    for (uint32_t pin = 0; pin < 4U; pin++) {
        pin_mode(PORT_D, pin, INPUT, 0);
    }
    for (uint32_t pin = 0; pin < 14U; pin++) {
        pin_mode(PORT_E, pin, INPUT, 0);
    }
    GPIOD_BSRR = UINT32_C(0x30);
    pin_mode(PORT_B, 3, OUTPUT, 0);
    pin_mode(PORT_B, 4, INPUT, 0);
    pin_mode(PORT_D, 4, OUTPUT, 0);
    pin_mode(PORT_D, 5, OUTPUT, 0);
    pin_mode(PORT_B, 10, OUTPUT, 0);
    for (uint32_t pin = 11; pin < 16U; pin++) {
        pin_mode(PORT_B, pin, OUTPUT, 0);
    }
}

static void start_timers(void)
{
    RCC_APB1ENR |= UINT32_C(7);
    TIM2_PSC = CORE_HZ / 1000000 - 1;
    TIM2_ARR = UINT32_MAX;
    TIM2_CCMR1 = 0xF1; /* capture, and eight samples that agree */
    TIM2_CCER = 1;
    TIM2_DIER = 2;
    TIM2_EGR = 1;
    TIM2_CR1 = 1;
    TIM3_PSC = CORE_HZ / 1000000 - 1;
    TIM3_ARR = 19999;
    TIM3_CCMR1 = 0x68;
    TIM3_CCR1 = (uint32_t)SERVO_OPEN_US;
    TIM3_CCER = 1;
    TIM3_EGR = 1;
    TIM3_CR1 = 0x81;
    TIM4_PSC = 0;
    TIM4_ARR = 639;
    TIM4_CCMR1 = 0x68;
    TIM4_CCER = 1;
    TIM4_EGR = 1;
    TIM4_CR1 = 0x81;
    SYSTICK_LOAD = CORE_HZ / 1000 - 1;
    SYSTICK_VAL = 0;
    SYSTICK_CTRL = 7;
}

static void start_wire_and_converter(void)
{
    RCC_APB2ENR |= (UINT32_C(1) << 4) | (UINT32_C(1) << 8);
    USART1_BRR = (CORE_HZ + UART_BAUD / 2) / UART_BAUD;
    USART1_CR1 = USART_UE | USART_TE | USART_RE | USART_RXNEIE;
    ADC_CCR = UINT32_C(1) << 23;
    ADC1_SMPR1 = UINT32_C(0x07FFFFFF);
    ADC1_SMPR2 = UINT32_C(0x3FFFFFFF);
    ADC1_SQR1 = 0;
    ADC1_CR2 = 1;
    NVIC_ISER0 = UINT32_C(1) << 28;
    NVIC_ISER1 = UINT32_C(1) << (37 - 32);
}

/* Seconds since midnight, as the crystal's clock writes them: a digit in four bits. */
static uint32_t since_midnight_s(uint32_t time)
{
    uint32_t hours = (time >> 20 & 3U) * 10U + (time >> 16 & 15U);
    uint32_t minutes = (time >> 12 & 7U) * 10U + (time >> 8 & 15U);
    uint32_t seconds = (time >> 4 & 7U) * 10U + (time & 15U);
    return (hours * 60U + minutes) * 60U + seconds;
}

/* Seconds of the crystal's calendar, from a day in a leap cycle of four years. */
static uint32_t calendar_s(void)
{
    static const uint16_t BEFORE[12] = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334};
    uint32_t time = RTC_TR;
    uint32_t day = RTC_DR;
    uint32_t month = ((day >> 12 & 1U) * 10U + (day >> 8 & 15U) + 11U) % 12U;
    uint32_t year = (day >> 20 & 15U) * 10U + (day >> 16 & 15U);
    uint32_t days = year * 365U + (year + 3U) / 4U + BEFORE[month] + (day >> 4 & 3U) * 10U
        + (day & 15U) + (year % 4U == 0U && month > 1U ? 1U : 0U);
    return days * 86400U + since_midnight_s(time);
}

typedef struct {
    uint32_t mark;
    uint32_t stored_s;
    uint32_t newest; /* slot 0 or 1 */
    uint32_t size[2];
    uint8_t slots[2][1900];
} Backup;

#define BACKUP ((volatile Backup *)UINT32_C(0x40024000))
#define BACKUP_MARK UINT32_C(0x4B455054)

static void start_what_outlives(void)
{
    RCC_APB1ENR |= UINT32_C(1) << 28;
    PWR_CR |= UINT32_C(1) << 8;
    PWR_CSR |= UINT32_C(1) << 9;
    bool ran_on = (RCC_BDCR & (UINT32_C(1) << 15)) != 0U;
    if (!ran_on) {
        RCC_BDCR = (UINT32_C(1) << 15) | (UINT32_C(1) << 8) | 1U;
    }
    bool known = ran_on && BACKUP->mark == BACKUP_MARK;
    outage_s = known ? (double)(calendar_s() - BACKUP->stored_s) : NOT_KNOWN;
}

void board_start(void)
{
    start_pins();
    start_what_outlives();
    start_timers();
    start_wire_and_converter();
    IWDG_KR = 0xCCCC;
    IWDG_KR = 0x5555;
    /* 1.8 s where its oscillator runs at 32 kHz. By the data sheet (from memory) it may be 17 to 47,
       which makes 1.2 to 3.4 s. */
    IWDG_PR = 4;
    IWDG_RLR = 899;
}

/* ---- thermometers: PA0 to PA7 and PB0, in the order of THERMOMETERS in messages.h --------- */

static int32_t converted(uint32_t channel)
{
    ADC1_SQR3 = channel;
    ADC1_SR = 0;
    ADC1_CR2 |= UINT32_C(1) << 30;
    for (int32_t spin = 0; spin < PATIENCE; spin++) {
        if ((ADC1_SR & 2U) != 0U) {
            return (int32_t)(ADC1_DR & 0xFFFU);
        }
    }
    return -1;
}

/* Steps of a channel, negative where converter or channel can't be believed. */
static int32_t steps_of(uint32_t channel)
{
    int32_t reference = converted(REFERENCE_CHANNEL);
    bool sound_now = reference >= REFERENCE_LOW && reference <= REFERENCE_HIGH;
    return sound_now ? converted(channel) : -1;
}

static void drive(uint32_t pin, bool high)
{
    GPIOB_BSRR = UINT32_C(1) << (high ? pin : pin + 16U);
}

/* One bit of a thermocouple's amplifier (MAX31855): PB3 is its clock, PB4 what it says. */
static uint32_t amplified_bit(void)
{
    drive(3, true);
    uint32_t bit = GPIO_IDR(PORT_B) >> 4 & 1U;
    drive(3, false);
    return bit;
}

/* What the amplifier that a pin of port D selects has to say. */
static uint32_t amplified(uint32_t select)
{
    uint32_t word = 0;
    GPIOD_BSRR = UINT32_C(1) << (select + 16U);
    for (int32_t place = 0; place < 32; place++) {
        word = word << 1 | amplified_bit();
    }
    GPIOD_BSRR = UINT32_C(1) << select;
    return word;
}

/* ---- all inputs at one moment -------------------------------------------------------------- */

/* A closed contact pulls its pin to ground. Switches: PC8 to PC12, PD2, PD3, in the order of their
   places; the buttons are PE0 to PE13. */
static void sample_contacts(void)
{
    uint32_t switches = (~GPIO_IDR(PORT_C) >> 8 & 0x1FU) | (~GPIO_IDR(PORT_D) >> 2 & 3U) << 5;
    inputs.closed = switches;
    inputs.buttons = ~GPIO_IDR(PORT_E) & 0x3FFFU;
}

void board_sample(void)
{
    for (uint32_t channel = 0; channel < THERMOMETER_COUNT; channel++) {
        inputs.ohm[channel] = thermistor_ohm(steps_of(channel), SERIES_OHM);
    }
    inputs.metal_c = amplified_c(amplified(4));                             /* PD4 selects it */
    inputs.flue_c = amplified_c(amplified(5));                              /* PD5 */
    inputs.pump_a = scaled(steps_of(PUMP_CHANNEL), PUMP_A_PER_STEP);        /* PC0 */
    inputs.fan_a = scaled(steps_of(FAN_CHANNEL), FAN_A_PER_STEP);           /* PC1 */
    inputs.supply_v = scaled(steps_of(SUPPLY_CHANNEL), SUPPLY_V_PER_STEP);  /* PC2 */
    inputs.co_ppm = scaled(steps_of(CO_CHANNEL), CO_PPM_PER_STEP);          /* PC3 */
    sample_contacts();
    board_interrupts(false);
    pulses_at(TIM2_CNT); /* the meter's pulses come in at PA15 */
    board_interrupts(true);
}

bool board_on_bench(void) { return (GPIO_IDR(PORT_D) & 1U) == 0U; }

/* ---- outputs ----------------------------------------------------------------------------- */

/* The pump's contactor seals itself in. PB12 closes it, PB11 breaks its own contact's current; with
   both low, as without a board, it stays as it is. */
void board_pump(bool runs)
{
    drive(11, !runs);
    drive(12, runs);
}
/* PC6, the servo's pulse. */
void board_valve(double stroke)
{
    double us = SERVO_SHUT_US + share_of(stroke) * (SERVO_OPEN_US - SERVO_SHUT_US);
    TIM3_CCR1 = (uint32_t)us;
}
/* PB6, 25 kHz to fans with an input for it. */
void board_fans(double share) { TIM4_CCR1 = (uint32_t)(share_of(share) * 640.0); }
/* PB13, the magnet that holds the damper open. */
void board_damper(bool open) { drive(13, open); }
/* PB14, the coil that holds the dump shut: without power it opens. */
void board_dump(bool open) { drive(14, !open); }
/* PB15, the relay that holds the horn silent. */
void board_horn(int64_t told) { horn_told = (uint32_t)told; }
/* PB10. */
void board_lamp(bool may_light) { drive(10, may_light); }

/* ---- wire, clocks, memory: PA9 sends, PA10 hears ------------------------------------------ */

uint32_t board_ms(void) { return now_ms; }

/* Of the crystal: independent of the oscillator that the program runs by. */
uint32_t board_other_ms(void)
{
    static uint32_t total_ms;
    static uint32_t last_ms;
    uint32_t part = RTC_SSR & 0xFFU;
    uint32_t time = RTC_TR;
    (void)RTC_DR;
    uint32_t at_ms = since_midnight_s(time) * 1000U + (255U - part) * 1000U / 256U;
    total_ms += (at_ms + DAY_MS - last_ms) % DAY_MS;
    last_ms = at_ms;
    return total_ms;
}

double board_outage_s(void) { return outage_s; }

volatile uint32_t *board_ram_from(void) { return RAM_FROM; }
volatile uint32_t *board_ram_to(void) { return STACK_TOP; }
volatile uint32_t *board_stack_end(void) { return STACK_END; }

void board_watchdog_kick(void) { IWDG_KR = 0xAAAA; }

void board_store(const void *bytes, size_t size)
{
    uint32_t slot = BACKUP->mark == BACKUP_MARK && BACKUP->newest == 0U ? 1U : 0U;
    if (size > sizeof BACKUP->slots[0]) {
        return;
    }
    for (size_t place = 0; place < size; place++) {
        BACKUP->slots[slot][place] = ((const uint8_t *)bytes)[place];
    }
    BACKUP->size[slot] = (uint32_t)size;
    BACKUP->stored_s = calendar_s();
    BACKUP->newest = slot;
    BACKUP->mark = BACKUP_MARK;
}

bool board_load(void *bytes, size_t size)
{
    uint32_t slot = BACKUP->newest & 1U;
    if (BACKUP->mark != BACKUP_MARK || BACKUP->size[slot] != size) {
        return false;
    }
    for (size_t place = 0; place < size; place++) {
        ((uint8_t *)bytes)[place] = BACKUP->slots[slot][place];
    }
    return true;
}

void board_idle(void) { __asm__ volatile("wfi" ::: "memory"); }
