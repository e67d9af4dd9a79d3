#ifndef RAM_H
#define RAM_H

#include <stdbool.h>
#include <stdint.h>

/* March C- over words, with every bit against its neighbours and alike, before anything is kept
   there; leaves zeros behind. The board's start-up code calls it, on a stack elsewhere. */
bool ram_march(volatile uint32_t *from, volatile uint32_t *to);

/* Words that are tried in a tick. */
#define RAM_WORDS 64

/* Turns the next words over and back again, each with interrupts off; false where one did not
   follow. `place` counts on through the board's memory. */
bool ram_follows(uint32_t *place);

/* Writes what stands at the stack's end, and tells whether it still stands there. */
void stack_mark(void);
bool stack_kept(void);

#endif
