/*
 * Made by `python -m coilward.controller.firmware` from the tables of the controller; don't edit.
 */
#ifndef TABLES_H
#define TABLES_H

#include "numbers.h"

#define PHASE_COUNT 12
#define FACT_COUNT 33
#define ROW_COUNT 44
#define CHECK_COUNT 12

/* One interlock. */
typedef struct {
    const char *name;
    const char *cause;
    /* 1 loudest to 4. */
    uint8_t rank;
    /* 0 silent, 1 beep, 2 intermittent, 3 continuous. */
    uint8_t horn;
    /* Stays until a person resets it. */
    bool stays;
    /* What a person is to do. */
    const char *person;
} RowWords;

/* By their numbers, as in Mode. */
extern const char *const PHASE_NAMES[PHASE_COUNT];
/* By the bits that the phase table reads. */
extern const char *const FACT_NAMES[FACT_COUNT];
/* By the bits of every mask of rows. */
extern const RowWords ROW_WORDS[ROW_COUNT];
/* What the check before a fire asks for, by the bits of what has passed. */
extern const char *const CHECK_WORDS[CHECK_COUNT];

#endif
