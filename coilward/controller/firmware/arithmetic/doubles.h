/*
 * Doubles for a processor that has no hardware for them: IEEE 754 binary64, to nearest, ties to even.
 *
 * Compilers for ARM call these by the names of the platform's run-time ABI wherever a program has a
 * double; a double is handed over as its 64 bits. Every bit is the standard's, subnormals too. What
 * is not a number comes out quiet; its sign and its other bits mean nothing.
 */
#ifndef DOUBLES_H
#define DOUBLES_H

#include <stdint.h>

uint64_t __aeabi_dadd(uint64_t a, uint64_t b);
uint64_t __aeabi_dsub(uint64_t a, uint64_t b);
uint64_t __aeabi_dmul(uint64_t a, uint64_t b);
uint64_t __aeabi_ddiv(uint64_t a, uint64_t b);

uint64_t __aeabi_i2d(int32_t whole);
uint64_t __aeabi_ui2d(uint32_t whole);
uint64_t __aeabi_l2d(int64_t whole);
uint64_t __aeabi_ul2d(uint64_t whole);

/* 1 or 0; all but the last are 0 where one of both is not a number, and the last is then 1. */
int32_t __aeabi_dcmpeq(uint64_t a, uint64_t b);
int32_t __aeabi_dcmplt(uint64_t a, uint64_t b);
int32_t __aeabi_dcmple(uint64_t a, uint64_t b);
int32_t __aeabi_dcmpge(uint64_t a, uint64_t b);
int32_t __aeabi_dcmpgt(uint64_t a, uint64_t b);
int32_t __aeabi_dcmpun(uint64_t a, uint64_t b);

#endif
