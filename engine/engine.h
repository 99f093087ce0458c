/* Real-time core: one memory layout and the functions that work on it.

   The caller owns the memory: mw_size(delay) bytes, best on a 64-byte boundary. Hosts learn where each
   quantity lies from the field table; no host writes an offset down. A row holds one number for
   each of the LANES voices. The equations are in docs/developer/engine.md. */

#ifndef MODEWRIGHT_ENGINE_H
#define MODEWRIGHT_ENGINE_H

#include <stddef.h>

#include "control.h"

enum {
    MAX_MODES = 256,
    MAX_OBSERVED = 64,
    MAX_SECTIONS = 6,
    LONGEST_DELAY = 8191 /* samples */
};

/* Everything of one mode lies together, so that a sample walks through memory in one stream. The
   state is the motion as the pickup hears it, in volts, so that the pickup sum is a plain sum. */
typedef struct {
    Row re, im;
    Row turn_re, turn_im; /* rotation - 1: near 1 a float32 could not tell long decays apart */
    Row drive_re, drive_im;
    Row force_re, force_im;
} Mode;

typedef struct {
    Row b0, b1, b2, a1, a2;
    Row first, second;
} Section;

typedef struct {
    int32_t voices, modes, observed, regulated, input_sections, output_sections, delay, position;
    int32_t ring; /* rows of the delay line, a power of two less one */
    int32_t unused[15]; /* rows begin at 192 bytes: none lies across two cache lines */
    int32_t fault[LANES], clipped[LANES], limited[LANES];
    Row quadratic, cubic, full_scale, command_limit;
    Row peak_demand, limiting;
    Section input[MAX_SECTIONS], output[MAX_SECTIONS];
    Regulator regulators[MAX_OBSERVED];
    Observed observer[MAX_OBSERVED];
    Mode body[MAX_MODES];
    Row command[]; /* the delay line, a ring as long as the caller asked for */
} Engine;

#if defined(__wasm__)
#define API(name) __attribute__((export_name(#name))) name
#elif defined(_WIN32)
#define API(name) __declspec(dllexport) name
#else
#define API(name) __attribute__((visibility("default"))) name
#endif

/* Sizes and layout. Kinds of field: 0 one integer, 1 integers by lane, 2 numbers by lane. */
int32_t API(mw_size)(int32_t delay); /* bytes of an engine for delays of up to so many samples */
int32_t API(mw_longest_delay)(void);
int32_t API(mw_real_size)(void);
int32_t API(mw_width)(void);
int32_t API(mw_lanes)(void);
int32_t API(mw_controls)(void);
int32_t API(mw_field_count)(void);
const char *API(mw_field_name)(int32_t index);
int32_t API(mw_field_kind)(int32_t index);
int32_t API(mw_field_offset)(int32_t index); /* bytes from the start of the engine */
int32_t API(mw_field_rows)(int32_t index); /* 0 for the delay line, which lies last */
int32_t API(mw_field_stride)(int32_t index); /* bytes from one row to the next */

/* 1 if the processor and the operating system keep 256-bit registers and AVX2 can be used. */
int32_t API(mw_has_avx2)(void);

/* Make mw_size(delay) bytes an engine with nothing loaded. */
void API(mw_clear)(Engine *engine, int32_t delay);

/* Bring one voice to rest; its coefficients and counters stay. */
void API(mw_silence)(Engine *engine, int32_t lane);

/* Run all voices for a number of samples, control block by control block.

   force, external, noise   [samples][LANES], each may be null for silence
   controls                 [blocks + 1][CONTROLS][regulated][LANES] or null to keep what is loaded
   out                      [samples][LANES]
   command                  [samples][LANES] or null
   levels                   [blocks][observed][LANES] or null */
void API(mw_run)(Engine *engine, int32_t samples, int32_t block, const real *force,
                 const real *external, const real *noise, const real *controls, real *out,
                 real *command, real *levels);

#endif
