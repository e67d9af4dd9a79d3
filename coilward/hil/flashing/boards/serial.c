/* The wire's two rings behind the functions of board.h, and the interrupts that move them. */
#include "serial.h"

#include "board.h"

Ring received;
Ring to_send;

void board_interrupts(bool may)
{
    if (may) {
        __asm__ volatile("cpsie i" ::: "memory");
    } else {
        __asm__ volatile("cpsid i" ::: "memory");
    }
}

size_t board_uart_get(uint8_t *bytes, size_t most)
{
    size_t count = 0;
    board_interrupts(false);
    while (count < most && !ring_empty(&received)) {
        bytes[count] = ring_get(&received);
        count++;
    }
    board_interrupts(true);
    return count;
}

void board_uart_put(const uint8_t *bytes, size_t count)
{
    board_interrupts(false);
    for (size_t place = 0; place < count; place++) {
        ring_put(&to_send, bytes[place]);
    }
    send_on();
    board_interrupts(true);
}
