/* Real-time core: feedback of every mode by itself, for up to LANES voices at once.

   Only IEEE + - * / and square root are used, in an order that does not depend on the vector width
   W: every build gives the same bits. No library is called and no memory is taken. */

#include "engine.h"

#pragma STDC FP_CONTRACT OFF

#ifndef W
#error "W, the number of lanes in a vector, has to be given"
#endif

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

/* -------- control blocks -------- */

/* What one block reads and writes; with a step of 0 one row serves all samples. */
typedef struct {
    const real *force, *external, *noise;
    real *out, *command;
    ptrdiff_t force_step, external_step, noise_step, command_step;
    int32_t samples;
    int struck;
} Block;

static mask settle_group(Engine *engine, int q, vec bad) {
    for (int32_t m = 0; m < engine->modes; m++) {
        bad = settle(engine->body[m].re + q, bad);
        bad = settle(engine->body[m].im + q, bad);
    }
    bad = settle_control(engine->observer, engine->observed, engine->regulators,
                         engine->regulated, q, bad);
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
    Carried carried = {expected_sum(engine->observer, engine->observed, q),
                       load(engine->limiting + q), load(engine->peak_demand + q)};
    vec sum = pickup_sum(engine, q), bad = fill(0), demand, over;
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

        vec external = load(block->external + k * block->external_step + q);
        vec command = decide(engine->regulators, engine->observer, engine->regulated, q,
                             fill((real)k), external, command_limit, &carried, &demand, &over);
        limited += over > 0;
        store(block->command + k * block->command_step + q, command);

        vec drive = run_sections(engine->output, engine->output_sections, q, arrived);
        sum = move_body(engine, q, drive, load(block->force + k * block->force_step + q), struck);
        observe(engine->observer, engine->observed, q, y, arrived, command, &carried);
        store(engine->command[now] + q, command);
        /* NaN if either is no finite number, before a limit hides it. */
        bad = bad + (heard + demand) * 0;
    }
    store(engine->limiting + q, carried.limiting);
    store(engine->peak_demand + q, carried.peak);
    for (int i = 0; i < W; i++) {
        /* A true comparison is -1. */
        engine->clipped[q + i] -= (int32_t)clipped[i];
        engine->limited[q + i] -= (int32_t)limited[i];
    }
    silence_faults(engine, q, settle_group(engine, q, bad), block);
}

static void run_block(Engine *engine, const Block *block) {
    start_ramps(engine->regulators, engine->regulated, block->samples);
    for (int q = 0; q < engine->voices; q += W) {
        if (block->struck)
            run_group(engine, q, block, 1);
        else
            run_group(engine, q, block, 0);
    }
    end_ramps(engine->regulators, engine->regulated);
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
            take_controls(engine->regulators, engine->regulated, controls, controls + record);
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
