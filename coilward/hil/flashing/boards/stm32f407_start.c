/* From reset to main() on an STM32F407: vectors, memory, faults. */
#include "stm32f407.h"

int main(void);

extern uint32_t STACK_TOP[];
extern uint32_t DATA_FROM[];
extern uint32_t DATA_START[];
extern uint32_t DATA_END[];
extern uint32_t BSS_START[];
extern uint32_t BSS_END[];

__attribute__((noreturn)) void reset_handler(void);

/* A processor that lost its way stops here, and the watchdog starts it again. */
static void lost(void)
{
    for (;;) {
    }
}

void reset_handler(void)
{
    const uint32_t *from = DATA_FROM;
    for (uint32_t *to = DATA_START; to < DATA_END; to++) {
        *to = *from;
        from++;
    }
    for (uint32_t *to = BSS_START; to < BSS_END; to++) {
        *to = 0U;
    }
    (void)main();
    lost();
    for (;;) {
    }
}

enum { SYSTEM = 16, TIM2 = SYSTEM + 28, USART1 = SYSTEM + 37, VECTORS_COUNT = SYSTEM + 82 };

typedef union {
    void (*handler)(void);
    const uint32_t *top;
} Vector;

__attribute__((used, section(".vectors"))) static const Vector VECTORS[VECTORS_COUNT] = {
    {.top = STACK_TOP}, {.handler = reset_handler}, {.handler = lost}, {.handler = lost},
    {.handler = lost}, {.handler = lost}, {.handler = lost}, {.top = 0}, {.top = 0}, {.top = 0},
    {.top = 0}, {.handler = lost}, {.handler = lost}, {.top = 0}, {.handler = lost},
    {.handler = systick_handler}, [TIM2] = {.handler = tim2_handler},
    [USART1] = {.handler = usart1_handler},
};
