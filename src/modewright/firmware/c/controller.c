/* See controller.h. The equations are those of control.h, with one lane. */

#define LANES 1
#define W 1

#include <string.h>

#include "controller.h"

#include "coefficients.h"
#include "control.h"

enum { RING = DELAY_SAMPLES + 1 };

typedef struct {
    real target[REGULATED], gain[REGULATED], feedforward[REGULATED], integral_gain[REGULATED];
    real steering_re[REGULATED], steering_im[REGULATED];
} Controls;

static Observed observer[OBSERVED];
static Regulator regulators[REGULATED];
static real ring[RING];
static Controls controls[2]; /* at the beginning and at the end of the block */
static ModeState wished[REGULATED];
static real wished_level_m[REGULATED];
static Carried carried;
static real bad;
static int32_t position, sample, failed;

static void look_up(Controls *edge) {
    for (int32_t r = 0; r < REGULATED; r++) {
        const ModeState state = wished[r];
        edge->target[r] = wished_level_m[r];
        edge->gain[r] = state == MODE_HELD     ? hold_gain[r]
                        : state == MODE_DAMPED ? damp_gain[r]
                                               : 0;
        edge->feedforward[r] = state == MODE_HELD ? sustain_gain[r] : 0;
        edge->integral_gain[r] = state == MODE_HELD ? held_integral_gain[r] : 0;
        edge->steering_re[r] = steering_re[r];
        edge->steering_im[r] = steering_im[r];
    }
}

void controller_start(void) {
    memset(observer, 0, sizeof observer);
    memset(regulators, 0, sizeof regulators);
    memset(ring, 0, sizeof ring);
    memset(&carried, 0, sizeof carried);
    for (int32_t m = 0; m < OBSERVED; m++) {
        Observed *mode = &observer[m];
        mode->rotation_re[0] = rotation_re[m];
        mode->rotation_im[0] = rotation_im[m];
        mode->heard_drive_re[0] = heard_drive_re[m];
        mode->heard_drive_im[0] = heard_drive_im[m];
        mode->heard_correction_re[0] = heard_correction_re[m];
        mode->heard_correction_im[0] = heard_correction_im[m];
        mode->drive_re[0] = drive_re[m];
        mode->drive_im[0] = drive_im[m];
        mode->correction_re[0] = correction_re[m];
        mode->correction_im[0] = correction_im[m];
    }
    for (int32_t r = 0; r < REGULATED; r++) {
        regulators[r].integral_limit[0] = integral_limit[r];
        regulators[r].amp_limit[0] = amp_limit[r];
        regulators[r].silence[0] = silence_m[r];
        wished[r] = MODE_FREE;
        wished_level_m[r] = 0;
    }
    position = sample = failed = 0;
    bad = 0;
    look_up(&controls[1]);
}

void controller_wish(int32_t regulator, ModeState state, float level_m) {
    if (regulator < 0 || regulator >= REGULATED) return;
    wished[regulator] = state;
    wished_level_m[regulator] = level_m;
}

static void begin_block(void) {
    controls[0] = controls[1];
    look_up(&controls[1]);
    take_controls(regulators, REGULATED, controls[0].target, controls[1].target);
    start_ramps(regulators, REGULATED, BLOCK_SAMPLES);
    carried.expected = expected_sum(observer, OBSERVED, 0);
}

static void end_block(void) {
    end_ramps(regulators, REGULATED);
    bad = settle_control(observer, OBSERVED, regulators, REGULATED, 0, bad);
    if (bad != bad) failed = 1;
}

float controller_sample(float heard_v, float external) {
    if (failed) return 0;
    if (sample == 0) begin_block();
    const int32_t before = position - DELAY_SAMPLES;
    const real arrived = ring[before < 0 ? before + RING : before];
    const real heard = clip(heard_v, FULL_SCALE_V);
    real demand, over;
    const real command = decide(regulators, observer, REGULATED, 0, (real)sample, external,
                                COMMAND_LIMIT, &carried, &demand, &over);
    observe(observer, OBSERVED, 0, heard, arrived, command, &carried);
    ring[position] = command;
    position = position + 1 == RING ? 0 : position + 1;
    /* NaN if either is no finite number, before a limit hides it. */
    bad = bad + (heard_v + demand) * 0;
    if (bad != bad) failed = 1;
    sample++;
    if (sample == BLOCK_SAMPLES) {
        sample = 0;
        end_block();
    }
    return failed ? 0 : command;
}

int32_t controller_has_failed(void) { return failed; }

float controller_level_m(int32_t observed) {
    return observed < 0 || observed >= OBSERVED ? 0 : observer[observed].level[0];
}

int32_t controller_bytes(void) {
    return (int32_t)(sizeof observer + sizeof regulators + sizeof ring + sizeof controls +
                     sizeof wished + sizeof wished_level_m + sizeof carried + sizeof bad +
                     sizeof position + sizeof sample + sizeof failed);
}
