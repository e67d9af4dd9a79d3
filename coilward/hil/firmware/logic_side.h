#ifndef LOGIC_SIDE_H
#define LOGIC_SIDE_H

#include "coil.h"
#include "converting.h"
#include "dead_man.h"
#include "lines.h"
#include "writer.h"

/* The words of an answer: a tick that comes again is answered with the same ones. */
typedef struct {
    Commands commands;
    int64_t phase;
    int64_t fire;
    int64_t coil;
    uint64_t raised;
    uint64_t latched;
    int64_t first_out;
    uint32_t digest;
    int64_t silent;
} Answer;

/* The side that decides: greets a plant, waits until a tick is whole, decides it once, answers.
   It does what LogicSide of coilward/hil/logic_side.py does, but for one thing: of ticks that are
   not whole it keeps the newest alone. */
typedef struct {
    const Constants *constants;
    const Wiring *wiring;
    const char *program; /* a word: what runs here */
    bool bench;          /* else every greeting is refused */
    State state;
    Commands outputs; /* what the outputs are told now */
    DeadMan dead_man;
    Lines lines;
    Frame frame;
    Writer writer;
    uint32_t sent;
    bool greeted;
    int64_t opened; /* the session's number; 0 before a greeting */
    bool decided;   /* `tick` and `answer` are those of the last decision in this session */
    int64_t tick;
    Answer answer;
    bool gathers; /* `numbers` are those of the tick `gathered`, as far as `parts` are there */
    int64_t gathered;
    uint32_t parts;
    double numbers[AT_COUNT];
    State memory;
    uint32_t memory_parts;
    int64_t restarts;
} LogicSide;

/* A new board; nobody has greeted yet. */
void logic_side_begin(LogicSide *side, const Constants *constants, const Wiring *wiring,
    const char *program, bool bench);
/* Decides on the numbers that are there, and tells the outputs. */
void logic_side_decide(LogicSide *side);
/* Bytes of the plant, at this moment of the board's clock. */
void logic_side_take(LogicSide *side, const uint8_t *bytes, size_t count, uint32_t now_ms);
/* Call it often: in a silence the outputs go to their safe side, and it is told. */
void logic_side_watch(LogicSide *side, uint32_t now_ms);

#endif
