#include "ram.h"

#include "board.h"

enum { MARKS = 4 };
static const uint32_t MARK = UINT32_C(0x5AC3A53C);

/* Each word in turn: it has to be `found`, and becomes `left`. */
static bool march_up(volatile uint32_t *from, volatile uint32_t *to, uint32_t found, uint32_t left)
{
    for (volatile uint32_t *word = from; word < to; word++) {
        if (*word != found) {
            return false;
        }
        *word = left;
    }
    return true;
}

static bool march_down(volatile uint32_t *from, volatile uint32_t *to, uint32_t found,
    uint32_t left)
{
    for (volatile uint32_t *word = to; word > from;) {
        word--;
        if (*word != found) {
            return false;
        }
        *word = left;
    }
    return true;
}

static bool march(volatile uint32_t *from, volatile uint32_t *to, uint32_t zero)
{
    for (volatile uint32_t *word = from; word < to; word++) {
        *word = zero;
    }
    return march_up(from, to, zero, ~zero) && march_up(from, to, ~zero, zero)
        && march_down(from, to, zero, ~zero) && march_down(from, to, ~zero, zero)
        && march_up(from, to, zero, zero);
}

bool ram_march(volatile uint32_t *from, volatile uint32_t *to)
{
    return march(from, to, UINT32_C(0x55555555)) && march(from, to, 0);
}

bool ram_follows(uint32_t *place)
{
    volatile uint32_t *from = board_ram_from();
    uint32_t words = (uint32_t)(board_ram_to() - from);
    for (int count = 0; count < RAM_WORDS; count++) {
        *place = *place + 1 < words ? *place + 1 : 0;
        volatile uint32_t *word = from + *place;
        board_interrupts(false);
        uint32_t was = *word;
        *word = ~was;
        bool turned = *word == ~was;
        *word = was;
        bool back = *word == was;
        board_interrupts(true);
        if (!turned || !back) {
            return false;
        }
    }
    return true;
}

void stack_mark(void)
{
    for (int place = 0; place < MARKS; place++) {
        board_stack_end()[place] = MARK;
    }
}

bool stack_kept(void)
{
    bool kept = true;
    for (int place = 0; place < MARKS; place++) {
        kept = kept && board_stack_end()[place] == MARK;
    }
    return kept;
}
