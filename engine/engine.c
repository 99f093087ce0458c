/* Real-time core: feedback of every mode by itself, for up to LANES voices at once.

   Only IEEE + - * / and square root are used, in an order that does not depend on the vector width
   W: every build gives the same bits. No library is called and no memory is taken. */

#include "engine.h"

#pragma STDC FP_CONTRACT OFF

#ifndef W
#error "W, the number of lanes in a vector, has to be given"
#endif
_Static_assert(LANES % W == 0, "W has to divide LANES");

typedef real vec __attribute__((vector_size(W * sizeof(real))));
typedef real_bits mask __attribute__((vector_size(W * sizeof(real))));
/* The same vector as it lies in memory of the host, which promises the alignment of one number. */
typedef vec memory_vec __attribute__((aligned(sizeof(real)), may_alias));

#define INLINE static inline __attribute__((always_inline))

INLINE vec load(const real *row) { return *(const memory_vec *)row; }
INLINE void store(real *row, vec value) { *(memory_vec *)row = value; }
INLINE vec fill(real value) { return (vec){0} + value; }

/* A comparison with NaN is false, so NaN falls through to `otherwise`. */
INLINE vec choose(mask where, vec then, vec otherwise) {
    return (vec)(((mask)then & where) | ((mask)otherwise & ~where));
}

INLINE vec clip(vec value, vec limit) {
    vec below = choose(value > limit, limit, value);
    return choose(below < -limit, -limit, below);
}

INLINE vec magnitude(vec value) { return choose(value < 0, -value, value); }

/* -------- one sample of one group of lanes; q is the first lane of the group -------- */

/* Transposed direct form II. */
INLINE vec run_sections(Section *section, int32_t count, int q, vec x) {
    for (int32_t i = 0; i < count; i++, section++) {
        vec y = load(section->b0 + q) * x + load(section->first + q);
        store(section->first + q, load(section->b1 + q) * x - load(section->a1 + q) * y +
                                      load(section->second + q));
        store(section->second + q, load(section->b2 + q) * x - load(section->a2 + q) * y);
        x = y;
    }
    return x;
}

INLINE vec pickup_sum(const Engine *engine, int q) {
    vec sum = fill(0);
    for (int32_t m = 0; m < engine->modes; m++) sum = sum + load(engine->body[m].re + q);
    return sum;
}

INLINE vec expected_sum(const Engine *engine, int q) {
    vec sum = fill(0);
    for (int32_t m = 0; m < engine->observed; m++)
        sum = sum + load(engine->observer[m].delayed_re + q);
    return sum;
}

/* Moves the body on by one sample and gives the pickup sum of the new state, summed in the same
   order as above: one walk through memory instead of two. */
INLINE vec move_body(Engine *engine, int q, vec drive, vec force, int struck) {
    vec sum = fill(0);
    for (int32_t m = 0; m < engine->modes; m++) {
        Mode *mode = &engine->body[m];
        vec re = load(mode->re + q), im = load(mode->im + q);
        vec turn_re = load(mode->turn_re + q), turn_im = load(mode->turn_im + q);
        vec step_re = turn_re * re - turn_im * im + load(mode->drive_re + q) * drive;
        vec step_im = turn_im * re + turn_re * im + load(mode->drive_im + q) * drive;
        if (struck) {
            step_re = step_re + load(mode->force_re + q) * force;
            step_im = step_im + load(mode->force_im + q) * force;
        }
        re = re + step_re;
        store(mode->re + q, re);
        store(mode->im + q, im + step_im);
        sum = sum + re;
    }
    return sum;
}

/* Moves both banks on and gives what the new delayed state makes the pickup say. */
INLINE vec move_observer(Engine *engine, int q, vec error, vec arrived, vec issued) {
    vec sum = fill(0);
    for (int32_t m = 0; m < engine->observed; m++) {
        Observed *mode = &engine->observer[m];
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
    return __builtin_elementwise_sqrt(re * re + im * im) * (1 / LIFT);
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

/* -------- control blocks -------- */

/* What one block reads and writes; with a step of 0 one row serves all samples. */
typedef struct {
    const real *force, *external, *noise;
    real *out, *command;
    ptrdiff_t force_step, external_step, noise_step, command_step;
    int32_t samples;
    int struck;
} Block;

static void start_ramps(Engine *engine, int32_t samples) {
    for (int32_t r = 0; r < engine->regulated; r++) {
        Regulator *regulator = &engine->regulators[r];
        for (int lane = 0; lane < LANES; lane++) {
            regulator->target_step[lane] =
                (regulator->target_end[lane] - regulator->target[lane]) / (real)samples;
            regulator->gain_step[lane] =
                (regulator->gain_end[lane] - regulator->gain[lane]) / (real)samples;
        }
    }
}

static void end_ramps(Engine *engine) {
    for (int32_t r = 0; r < engine->regulated; r++) {
        Regulator *regulator = &engine->regulators[r];
        for (int lane = 0; lane < LANES; lane++) {
            regulator->target[lane] = regulator->target_end[lane];
            regulator->gain[lane] = regulator->gain_end[lane];
        }
    }
}

/* Zero, or NaN if one of these curves is not finite. */
static real not_finite(const real *record, ptrdiff_t at, ptrdiff_t curve, int curves) {
    real sum = 0;
    for (int c = 0; c < curves; c++) sum += 0 * record[c * curve + at];
    return sum;
}

static void take_controls(Engine *engine, const real *now) {
    const ptrdiff_t curve = (ptrdiff_t)engine->regulated * LANES;
    const real *next = now + CONTROLS * curve;
    for (int32_t r = 0; r < engine->regulated; r++) {
        Regulator *regulator = &engine->regulators[r];
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
            /* One control that is no finite number makes the target none, and the voice faulty,
               before a limit hides it. */
            regulator->target[lane] +=
                not_finite(now, at, curve, CONTROLS) + not_finite(next, at, curve, 2);
        }
    }
}

/* Snaps what is too small to matter to zero, for a decayed mode must not sit among the slow
   denormal numbers, and makes `bad` NaN where the state is not finite. */
INLINE vec settle(real *row, vec bad) {
    vec value = load(row);
    value = choose(magnitude(value) < TINY, fill(0), value);
    store(row, value);
    return bad + value * 0;
}

static mask settle_group(Engine *engine, int q, vec bad) {
    for (int32_t m = 0; m < engine->modes; m++) {
        bad = settle(engine->body[m].re + q, bad);
        bad = settle(engine->body[m].im + q, bad);
    }
    for (int32_t m = 0; m < engine->observed; m++) {
        Observed *mode = &engine->observer[m];
        bad = settle(mode->delayed_re + q, bad);
        bad = settle(mode->delayed_im + q, bad);
        bad = settle(mode->present_re + q, bad);
        bad = settle(mode->present_im + q, bad);
        vec re = load(mode->present_re + q), im = load(mode->present_im + q);
        store(mode->level + q, level_of(re, im));
    }
    for (int32_t r = 0; r < engine->regulated; r++)
        bad = settle(engine->regulators[r].integral + q, bad);
    for (int i = 0; i < MAX_SECTIONS; i++) {
        bad = settle(engine->input[i].first + q, bad);
        bad = settle(engine->input[i].second + q, bad);
        bad = settle(engine->output[i].first + q, bad);
        bad = settle(engine->output[i].second + q, bad);
    }
    return bad != bad;
}

static void silence_faults(Engine *engine, int q, mask bad, const Block *block) {
    for (int i = 0; i < W; i++) {
        if (!bad[i]) continue;
        engine->fault[q + i] = 1;
        mw_silence(engine, q + i);
        for (int32_t k = 0; k < block->samples; k++) {
            block->out[(ptrdiff_t)k * LANES + q + i] = 0;
            block->command[k * block->command_step + q + i] = 0;
        }
    }
}

INLINE void run_group(Engine *engine, int q, const Block *block, int struck) {
    const vec quadratic = load(engine->quadratic + q), cubic = load(engine->cubic + q);
    const vec full_scale = load(engine->full_scale + q);
    const vec command_limit = load(engine->command_limit + q);
    const int32_t ring = engine->ring, delay = engine->delay, position = engine->position;
    mask clipped = {0}, limited = {0};
    vec limiting = load(engine->limiting + q), peak = load(engine->peak_demand + q), bad = fill(0);
    vec sum = pickup_sum(engine, q), expected = expected_sum(engine, q);
    for (int32_t k = 0; k < block->samples; k++) {
        int32_t now = (position + k) & ring;
        vec arrived = load(engine->command[(now - delay) & ring] + q);

        /* Not a sum of powers, for the square of a faint voltage would be denormal. */
        vec heard = sum * (fill(1) + sum * (quadratic + cubic * sum)) +
                    load(block->noise + k * block->noise_step + q);
        heard = run_sections(engine->input, engine->input_sections, q, heard);
        vec y = clip(heard, full_scale);
        clipped += magnitude(heard) > full_scale;
        store(block->out + (ptrdiff_t)k * LANES + q, y);

        vec demand = fill(0), over = fill(0);
        for (int32_t r = 0; r < engine->regulated; r++)
            demand = demand + regulate(&engine->regulators[r], &engine->observer[r], q,
                                       fill((real)k), limiting, &over);
        demand = demand + load(block->external + k * block->external_step + q);
        vec command = clip(demand, command_limit);
        limiting = choose(magnitude(demand) > command_limit, fill(1), fill(0));
        over = choose(magnitude(demand) > command_limit, fill(1), over);
        limited += over > 0;
        peak = choose(magnitude(demand) > peak, magnitude(demand), peak);
        store(block->command + k * block->command_step + q, command);

        vec drive = run_sections(engine->output, engine->output_sections, q, arrived);
        sum = move_body(engine, q, drive, load(block->force + k * block->force_step + q), struck);
        vec error = y - expected;
        error = choose(magnitude(error) < SLIGHT, fill(0), error);
        expected = move_observer(engine, q, error, arrived, command);
        store(engine->command[now] + q, command);
        /* NaN if either is no finite number, before a limit hides it. */
        bad = bad + (heard + demand) * 0;
    }
    store(engine->limiting + q, limiting);
    store(engine->peak_demand + q, peak);
    for (int i = 0; i < W; i++) {
        /* A true comparison is -1. */
        engine->clipped[q + i] -= (int32_t)clipped[i];
        engine->limited[q + i] -= (int32_t)limited[i];
    }
    silence_faults(engine, q, settle_group(engine, q, bad), block);
}

static void run_block(Engine *engine, const Block *block) {
    start_ramps(engine, block->samples);
    for (int q = 0; q < engine->voices; q += W) {
        if (block->struck)
            run_group(engine, q, block, 1);
        else
            run_group(engine, q, block, 0);
    }
    end_ramps(engine);
    engine->position = (engine->position + block->samples) & engine->ring;
}

/* Looks at all lanes whatever W is, so that every build takes the same way. Not left early: a loop
   without an exit is done in vectors. */
static int any_force(const real *force, int32_t samples) {
    int found = 0;
    for (ptrdiff_t i = 0; i < (ptrdiff_t)samples * LANES; i++) found |= force[i] != 0;
    return found;
}

void mw_run(Engine *engine, int32_t samples, int32_t block, const real *force,
            const real *external, const real *noise, const real *controls, real *out,
            real *command, real *levels) {
    static const Row silence = {0};
    Row scratch;
    const ptrdiff_t record = (ptrdiff_t)CONTROLS * engine->regulated * LANES;
    for (int32_t first = 0; first < samples; first += block) {
        const ptrdiff_t at = (ptrdiff_t)first * LANES;
        Block now = {.samples = samples - first < block ? samples - first : block};
        now.force = force ? force + at : silence;
        now.external = external ? external + at : silence;
        now.noise = noise ? noise + at : silence;
        now.out = out + at;
        now.command = command ? command + at : scratch;
        now.force_step = force ? LANES : 0;
        now.external_step = external ? LANES : 0;
        now.noise_step = noise ? LANES : 0;
        now.command_step = command ? LANES : 0;
        now.struck = force && any_force(now.force, now.samples);
        if (controls) {
            take_controls(engine, controls);
            controls += record;
        }
        run_block(engine, &now);
        for (int32_t m = 0; levels && m < engine->observed; m++, levels += LANES)
            for (int lane = 0; lane < LANES; lane++) levels[lane] = engine->observer[m].level[lane];
    }
}

/* -------- memory -------- */

void mw_silence(Engine *engine, int32_t lane) {
    for (int m = 0; m < MAX_MODES; m++) engine->body[m].re[lane] = engine->body[m].im[lane] = 0;
    for (int m = 0; m < MAX_OBSERVED; m++) {
        Observed *mode = &engine->observer[m];
        mode->delayed_re[lane] = mode->delayed_im[lane] = 0;
        mode->present_re[lane] = mode->present_im[lane] = mode->level[lane] = 0;
        engine->regulators[m].integral[lane] = 0;
    }
    for (int i = 0; i < MAX_SECTIONS; i++) {
        engine->input[i].first[lane] = engine->input[i].second[lane] = 0;
        engine->output[i].first[lane] = engine->output[i].second[lane] = 0;
    }
    for (int k = 0; k <= engine->ring; k++) engine->command[k][lane] = 0;
    engine->limiting[lane] = 0;
}

void mw_clear(Engine *engine, int32_t delay) {
    unsigned char *byte = (unsigned char *)engine;
    const int32_t size = mw_size(delay);
    for (int32_t i = 0; i < size; i++) byte[i] = 0;
    engine->ring = ring_rows(delay) - 1;
    engine->delay = 1;
    for (int lane = 0; lane < LANES; lane++) {
        for (int i = 0; i < MAX_SECTIONS; i++)
            engine->input[i].b0[lane] = engine->output[i].b0[lane] = 1;
        /* The one divisor: an idle regulator must not divide by zero. */
        for (int m = 0; m < MAX_OBSERVED; m++) engine->regulators[m].silence[lane] = 1;
    }
}
