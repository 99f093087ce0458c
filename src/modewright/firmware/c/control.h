/* The controller: observer and level regulators, the same for the simulation and the instrument.

   The equations are in the developer's page on the real-time core. A row holds one number for each
   lane; q is the first lane of the group that is worked on. */

#ifndef MODEWRIGHT_CONTROL_H
#define MODEWRIGHT_CONTROL_H

#include <stddef.h>

#include "numbers.h"

enum { CONTROLS = 6 };

/* The delayed state is in volts as well; the present one is motion, for the regulators. */
typedef struct {
    Row delayed_re, delayed_im;
    Row present_re, present_im;
    Row rotation_re, rotation_im;
    Row heard_drive_re, heard_drive_im;
    Row heard_correction_re, heard_correction_im;
    Row drive_re, drive_im;
    Row correction_re, correction_im;
    Row level;
} Observed;

typedef struct {
    Row target, target_end, target_step;
    Row gain, gain_end, gain_step;
    Row feedforward, integral_gain;
    Row steering_re, steering_im;
    Row integral_limit, amp_limit, silence;
    Row integral;
} Regulator;

#ifdef W

/* What the controller carries from one sample to the next beside its two banks. */
typedef struct {
    vec expected; /* what the delayed bank says of the next sample, V */
    vec limiting; /* 1 where the limiter of the whole command was active */
    vec peak;     /* largest demand so far */
} Carried;

INLINE vec expected_sum(const Observed *observer, int32_t observed, int q) {
    vec sum = fill(0);
    for (int32_t m = 0; m < observed; m++) sum = sum + load(observer[m].delayed_re + q);
    return sum;
}

/* Moves both banks on and gives what the new delayed state makes the pickup say. */
INLINE vec move_observer(Observed *observer, int32_t observed, int q, vec error, vec arrived,
                         vec issued) {
    vec sum = fill(0);
    for (int32_t m = 0; m < observed; m++) {
        Observed *mode = &observer[m];
        vec cos = load(mode->rotation_re + q), sin = load(mode->rotation_im + q);
        vec re = load(mode->delayed_re + q), im = load(mode->delayed_im + q);
        vec next_re = cos * re - sin * im + load(mode->heard_drive_re + q) * arrived +
                      load(mode->heard_correction_re + q) * error;
        vec next_im = sin * re + cos * im + load(mode->heard_drive_im + q) * arrived +
                      load(mode->heard_correction_im + q) * error;
        store(mode->delayed_re + q, next_re);
        store(mode->delayed_im + q, next_im);
        sum = sum + next_re;
        re = load(mode->present_re + q);
        im = load(mode->present_im + q);
        store(mode->present_re + q, cos * re - sin * im + load(mode->drive_re + q) * issued +
                                        load(mode->correction_re + q) * error);
        store(mode->present_im + q, sin * re + cos * im + load(mode->drive_im + q) * issued +
                                        load(mode->correction_im + q) * error);
    }
    return sum;
}

/* Squares of metres would be denormal, and slow, long before the metres are. Lifted by a power of
   two they are not, and the level is the same to the bit. */
INLINE vec level_of(vec re, vec im) {
    re = re * LIFT;
    im = im * LIFT;
    return root(re * re + im * im) * (1 / LIFT);
}

/* One level regulator. `limiting` is 1 where the limiter of the whole command was active one sample
   ago: like the limit of the regulator itself it stops the integrator from winding up. `over`
   becomes 1 where this regulator wants more than its limit. One comparison at a time and no logic
   between them: that costs most compilers a detour. Motion too faint to be heard or pushed is none:
   below its silence the command falls as the square of the level, and would be denormal. */
INLINE vec regulate(Regulator *regulator, const Observed *mode, int q, vec k, vec limiting,
                    vec *over) {
    vec re = load(mode->present_re + q), im = load(mode->present_im + q);
    vec level = level_of(re, im);
    level = choose(level < FAINT, fill(0), level);
    vec target = load(regulator->target + q) + load(regulator->target_step + q) * k;
    vec gain = load(regulator->gain + q) + load(regulator->gain_step + q) * k;
    vec integral_gain = load(regulator->integral_gain + q);
    vec amp_limit = load(regulator->amp_limit + q);
    vec error = target - level;
    vec direct = gain * error + load(regulator->feedforward + q) * target;
    vec integral = load(regulator->integral + q);
    vec wanted = direct + integral;
    vec at_limit = choose(magnitude(wanted) > amp_limit, fill(1), limiting);
    vec further_in = wanted * at_limit * error;
    vec moved = choose(further_in > 0, integral, integral + integral_gain * error);
    moved = clip(moved, load(regulator->integral_limit + q));
    /* Without integral gain there is no integral: nothing of a held note is left in a free one. */
    integral = choose(integral_gain > 0, moved, fill(0));
    store(regulator->integral + q, integral);
    wanted = direct + integral;
    *over = choose(magnitude(wanted) > amp_limit, fill(1), *over);
    vec amp = clip(wanted, amp_limit);
    vec silence = load(regulator->silence + q);
    vec along = load(regulator->steering_re + q) * (re + silence) -
                load(regulator->steering_im + q) * im;
    return along / (level + silence) * amp;
}

/* Forms the command of sample k of a block from the present bank. `demand` is that before the limit;
   `over` is 1 where the command or one regulator met its limit. */
INLINE vec decide(Regulator *regulators, const Observed *observer, int32_t regulated, int q, vec k,
                  vec external, vec command_limit, Carried *carried, vec *demand, vec *over) {
    vec sum = fill(0);
    *over = fill(0);
    for (int32_t r = 0; r < regulated; r++)
        sum = sum + regulate(&regulators[r], &observer[r], q, k, carried->limiting, over);
    sum = sum + external;
    carried->limiting = choose(magnitude(sum) > command_limit, fill(1), fill(0));
    *over = choose(magnitude(sum) > command_limit, fill(1), *over);
    carried->peak = choose(magnitude(sum) > carried->peak, magnitude(sum), carried->peak);
    *demand = sum;
    return clip(sum, command_limit);
}

/* Corrects both banks by what was heard and moves them on. `arrived` is the command that acts now. */
INLINE void observe(Observed *observer, int32_t observed, int q, vec heard, vec arrived,
                    vec command, Carried *carried) {
    vec error = heard - carried->expected;
    error = choose(magnitude(error) < SLIGHT, fill(0), error);
    carried->expected = move_observer(observer, observed, q, error, arrived, command);
}

/* At the end of a block: snaps to zero, stores levels, and makes `bad` NaN where the state is not
   finite. */
INLINE vec settle_control(Observed *observer, int32_t observed, Regulator *regulators,
                          int32_t regulated, int q, vec bad) {
    for (int32_t m = 0; m < observed; m++) {
        Observed *mode = &observer[m];
        bad = settle(mode->delayed_re + q, bad);
        bad = settle(mode->delayed_im + q, bad);
        bad = settle(mode->present_re + q, bad);
        bad = settle(mode->present_im + q, bad);
        vec re = load(mode->present_re + q), im = load(mode->present_im + q);
        store(mode->level + q, level_of(re, im));
    }
    for (int32_t r = 0; r < regulated; r++) bad = settle(regulators[r].integral + q, bad);
    return bad;
}

#endif /* W */

/* Zero, or NaN if one of these curves is not finite. */
static inline real not_finite(const real *record, ptrdiff_t at, ptrdiff_t curve, int curves) {
    real sum = 0;
    for (int c = 0; c < curves; c++) sum += 0 * record[c * curve + at];
    return sum;
}

/* Takes the controls of a block: target, gain, feedforward, integral gain and both parts of the
   steering at its beginning, target and gain at its end; each [regulated][LANES]. One control that
   is no finite number makes the target none, and the voice faulty, before a limit hides it. */
static inline void take_controls(Regulator *regulators, int32_t regulated, const real *now,
                                 const real *next) {
    const ptrdiff_t curve = (ptrdiff_t)regulated * LANES;
    for (int32_t r = 0; r < regulated; r++) {
        Regulator *regulator = &regulators[r];
        for (int lane = 0; lane < LANES; lane++) {
            ptrdiff_t at = (ptrdiff_t)r * LANES + lane;
            regulator->target[lane] = now[at];
            regulator->gain[lane] = now[curve + at];
            regulator->feedforward[lane] = now[2 * curve + at];
            regulator->integral_gain[lane] = now[3 * curve + at];
            regulator->steering_re[lane] = now[4 * curve + at];
            regulator->steering_im[lane] = now[5 * curve + at];
            regulator->target_end[lane] = next[at];
            regulator->gain_end[lane] = next[curve + at];
            regulator->target[lane] +=
                not_finite(now, at, curve, CONTROLS) + not_finite(next, at, curve, 2);
        }
    }
}

static inline void start_ramps(Regulator *regulators, int32_t regulated, int32_t samples) {
    for (int32_t r = 0; r < regulated; r++) {
        Regulator *regulator = &regulators[r];
        for (int lane = 0; lane < LANES; lane++) {
            regulator->target_step[lane] =
                (regulator->target_end[lane] - regulator->target[lane]) / (real)samples;
            regulator->gain_step[lane] =
                (regulator->gain_end[lane] - regulator->gain[lane]) / (real)samples;
        }
    }
}

static inline void end_ramps(Regulator *regulators, int32_t regulated) {
    for (int32_t r = 0; r < regulated; r++) {
        Regulator *regulator = &regulators[r];
        for (int lane = 0; lane < LANES; lane++) {
            regulator->target[lane] = regulator->target_end[lane];
            regulator->gain[lane] = regulator->gain_end[lane];
        }
    }
}

/* Rows of a delay line for a number of samples: the next power of two above it. */
static inline int32_t ring_rows(int32_t delay) {
    int32_t rows = 1;
    while (rows <= delay) rows *= 2;
    return rows;
}

#endif
