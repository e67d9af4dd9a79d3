/*
 * The parts of a tick that reckon with floats, each as "any result at all" but for a contract.
 *
 * What a contract says is a claim of contracts.c, proved there on the part itself. Everything that
 * is proved with these stands for the real parts too: they can only do less. One result a part and
 * run, because the parts are functions: the same inputs give the same result.
 */
#ifndef PARTS_H
#define PARTS_H

#include "claim.h"
#include "causing.h"
#include "doubting.h"
#include "estimating.h"
#include "interlocks.h"
#include "phases.h"
#include "prelight.h"
#include "remembering.h"
#include "sensing.h"
#include "valve.h"

/* A state's whole numbers are those of a state. sound_state.c: a tick starts from no other. */
static bool wholes_sound(const State *state)
{
    const Mode *mode = &state->mode;
    return mode->phase >= 0 && mode->phase <= LAST_PHASE && mode->came_from >= 0
        && mode->came_from <= LAST_PHASE && mode->fire >= NO && mode->fire <= UNKNOWN
        && mode->coil >= COLD && mode->coil <= MAYBE_DRY && mode->first_out >= -1
        && mode->first_out <= LAST_ROW && mode->latched <= EVERY_ROW
        && state->doubt.suspects <= EVERY_SUSPICION;
}

/* Any of the three traces of the lock-out. */
static bool locked(const Mode *mode)
{
    return mode->dry || mode->phase == DRY || (mode->latched & LATCH_DRY) != 0U;
}

static bool estimate_can_be(const Estimate *now, const Mode *mode)
{
    return now->fire >= NO && now->fire <= UNKNOWN && now->coil >= COLD && now->coil <= MAYBE_DRY
        && (now->dry || !locked(mode)) && (now->dry || now->coil != MAYBE_DRY)
        && (!now->dry || locked(mode) || now->fire != NO);
}

static bool causes_can_be(uint64_t cause, const Requests *requests, int64_t fire)
{
    return cause <= EVERY_ROW && (fire != NO || (cause & ~ANY_TIME) == 0U)
        && ((cause & EMERGENCY) != 0U) == (requests->emergency != 0);
}

static Seen a_seen;
static Estimate an_estimate;
static uint64_t a_cause;
static Throttle a_throttle[2];
static double a_stroke;
static uint64_t a_passed;
static bool is_under;
static bool is_unfitted;
static double an_outage_s;

static void any_parts(void)
{
    Seen seen;
    Estimate estimate;
    uint64_t cause;
    Throttle loops[2];
    double stroke;
    uint64_t passed;
    bool under;
    bool unfitted;
    double outage_s;
    a_seen = seen;
    an_estimate = estimate;
    a_cause = cause;
    a_throttle[0] = loops[0];
    a_throttle[1] = loops[1];
    a_stroke = stroke;
    a_passed = passed;
    is_under = under;
    is_unfitted = unfitted;
    an_outage_s = outage_s;
}

void sense(const Readings *readings, uint64_t suspects, const Mode *mode, const Ages *ages,
    const Watch *watch, const Control *control, const Constants *constants, Seen *out)
{
    *out = a_seen;
}

void estimate(const Readings *readings, const Requests *requests, const Seen *seen,
    const Mode *mode, const Ages *ages, const Watch *watch, const Constants *constants,
    Estimate *out)
{
    GIVEN(estimate_can_be(&an_estimate, mode));
    *out = an_estimate;
}

double away_s(const Readings *readings)
{
    return an_outage_s;
}

void cold_enough(double metal_c, double flue_c, double limit_c, const Constants *constants,
    bool *first, bool *second)
{
    *first = is_under;
    *second = is_unfitted;
}

/* Two ticks that differ in the button alone differ in its own cause alone. */
uint64_t causes(const Readings *readings, const Requests *requests, const Seen *seen,
    const Estimate *now, const Mode *mode, const Ages *ages, const Watch *watch, uint64_t suspects,
    const Control *control, double hand_s, uint64_t raised, uint64_t before,
    const Constants *constants)
{
    const uint64_t cause = requests->emergency ? (a_cause | EMERGENCY) : (a_cause & ~EMERGENCY);
    GIVEN(causes_can_be(cause, requests, now->fire));
    return cause;
}

void doubted(const Readings *readings, const Seen *seen, const Estimate *now, const Doubt *doubt,
    const Control *control, const Watch *watch, const Constants *constants, Doubt *out)
{
    Doubt any;
    *out = any;
}

void remember(const Readings *readings, const Seen *seen, const Estimate *now,
    const Commands *commands, const Watch *watch, bool returned, double clean_s, uint64_t held,
    double reset_s, double silence_s, double second_s, const Constants *constants, Watch *out)
{
    Watch any;
    *out = any;
}

void answered(bool deaf, const Seen *seen, const Control *control, double valve, double moved_s,
    const Constants *constants, double *first, double *second)
{
    double stroke;
    double flow_lpm;
    *first = stroke;
    *second = flow_lpm;
}

Throttle throttle(bool entering, bool busy, const Seen *seen, const Estimate *now,
    const Control *control, const Constants *constants)
{
    return a_throttle[entering ? 1 : 0];
}

double output_stroke(const Throttle *wanted, const Constants *constants)
{
    return a_stroke;
}

uint64_t passed_checks(uint64_t passed, double phase_s, const Readings *readings, const Seen *seen,
    const Estimate *now, const Constants *constants)
{
    return a_passed;
}

#endif
