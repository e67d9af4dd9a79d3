/*
 * Many ticks in one call, for a computer that compares: columns of numbers in, columns out.
 * Number k of tick t lies at [k * ticks + t].
 */
#ifndef BLOCK_H
#define BLOCK_H

#include "constants.h"

/*
 * `came` are readings, `asked` masks of requests. Where `each` is true every tick begins from its
 * own column of the state before; else that has one column, from which the first tick begins.
 * What is decided: the floats of the state, then valve and fans; its whole numbers, then pump,
 * damper, dump, horn and permission.
 */
void coil_block(const Constants *constants, int64_t ticks, bool each, const double *came,
    const uint64_t *asked, const double *was_floats, const int64_t *was_wholes, double *floats,
    int64_t *wholes);

#endif
