/* From reset to main() on an STM32F407: vectors, memory, faults. */
#include "ram.h"
#include "stm32f407.h"

int main(void);

__attribute__((noreturn)) void reset_handler(void);

/* A processor that lost its way, or whose memory failed its trial, stops here, and the watchdog
   starts it again. */
__attribute__((noreturn)) static void lost(void)
{
    for (;;) {
    }
}

/* On a stack in memory that has been tried already; what is left of it is tried now. */
__attribute__((used, noreturn)) static void tried(void)
{
    if (!ram_march(RAM_FROM, FIRST_STACK)) {
        lost();
    }
    const uint32_t *from = DATA_FROM;
    for (uint32_t *to = DATA_START; to < DATA_END; to++) {
        *to = *from;
        from++;
    }
    (void)main();
    lost();
}

/* The march leaves the memory all 0, as a program expects it. The watchdog runs from here on. */
void reset_handler(void)
{
    IWDG_KR = 0xCCCC;
    if (!ram_march(FIRST_STACK, STACK_TOP)) {
        lost();
    }
    __asm__ volatile("mov sp, %0\n bx %1" : : "r"(STACK_TOP), "r"(tried));
    __builtin_unreachable();
}

enum { SYSTEM = 16, TIM2 = SYSTEM + 28, USART1 = SYSTEM + 37, VECTORS_COUNT = SYSTEM + 82 };

typedef union {
    void (*handler)(void);
    const uint32_t *top;
} Vector;

__attribute__((used, section(".vectors"))) static const Vector VECTORS[VECTORS_COUNT] = {
    {.top = FIRST_STACK}, {.handler = reset_handler}, {.handler = lost}, {.handler = lost},
    {.handler = lost}, {.handler = lost}, {.handler = lost}, {.top = 0}, {.top = 0}, {.top = 0},
    {.top = 0}, {.handler = lost}, {.handler = lost}, {.top = 0}, {.handler = lost},
    {.handler = systick_handler}, [TIM2] = {.handler = tim2_handler},
    [USART1] = {.handler = usart1_handler},
};
