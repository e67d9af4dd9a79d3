/*
 * Made by `python -m coilward.controller.firmware` from coilward/controller/doubting.py; don't
 * edit.
 */
#ifndef DOUBTING_H
#define DOUBTING_H

/* Once a second: which readings can't be true. The rules stand in `plausibility.RULES`. */
#include "numbers.h"
#include "constants.h"
#include "estimating.h"
#include "plausibility.h"
#include "sensing.h"
#include "state.h"
#include "types.h"

#define CALM_SHARE 0.01639344262295082
#define CALM_K 1.0
#define FROZEN_S 120.0
#define TANK_FROZEN_S 300.0
/* A thermometer's time to follow its neighbour. */
#define FOLLOWS_S 30.0
/* The row's own two minutes, and ten more. */
#define RESIDUAL_LONG_S 720.0
#define RISE_SHARE 0.03225806451612903
#define WATCHED_S 600.0
#define UNMOVED_K 0.3
#define FLUE_MOVED_K 50.0
#define PUMP_SETTLED_S 30.0
#define FOUL_PPM 30.0
#define FOUL_S 300.0

void doubted(const Readings *readings, const Seen *seen, const Estimate *now, const Doubt *doubt,
    const Control *control, const Watch *watch, const Constants *constants, Doubt *out);

#endif
