/* Numbers of the core, in one lane or several.

   With W above 1 a `vec` is a vector of the compiler, W lanes wide; with W = 1 it is one number, and
   any C99 compiler will do. Only IEEE + - * / and square root are used, in an order that does not
   depend on W: every build gives the same bits. */

#ifndef MODEWRIGHT_NUMBERS_H
#define MODEWRIGHT_NUMBERS_H

#include <stdint.h>

#ifndef LANES
#define LANES 8
#endif

#ifdef REAL64
typedef double real;
typedef int64_t real_bits;
#define TINY 1e-290
#define LIFT 0x1p465
#define FAINT 1e-150 /* m, below which motion is not pushed */
#define SLIGHT 1e-280 /* V, below which an observer is not corrected */
#else
typedef float real;
typedef int32_t real_bits;
#define TINY 1e-30f
#define LIFT 0x1p40f
#define FAINT 1e-18f  /* m, below which motion is not pushed */
#define SLIGHT 1e-27f /* V, below which an observer is not corrected */
#endif

typedef real Row[LANES];

#ifdef W
_Static_assert(LANES % W == 0, "W has to divide LANES");

#if defined(__GNUC__)
#define INLINE static inline __attribute__((always_inline))
#else
#define INLINE static inline
#endif

#if W > 1

typedef real vec __attribute__((vector_size(W * sizeof(real))));
typedef real_bits mask __attribute__((vector_size(W * sizeof(real))));
/* The same vector as it lies in memory of the host, which promises the alignment of one number. */
typedef vec memory_vec __attribute__((aligned(sizeof(real)), may_alias));

INLINE vec load(const real *row) { return *(const memory_vec *)row; }
INLINE void store(real *row, vec value) { *(memory_vec *)row = value; }
INLINE vec fill(real value) { return (vec){0} + value; }
INLINE vec root(vec value) { return __builtin_elementwise_sqrt(value); }

/* A comparison with NaN is false, so NaN falls through to `otherwise`. */
INLINE vec choose(mask where, vec then, vec otherwise) {
    return (vec)(((mask)then & where) | ((mask)otherwise & ~where));
}

#else

#include <math.h>

typedef real vec;
typedef int mask;

INLINE vec load(const real *row) { return *row; }
INLINE void store(real *row, vec value) { *row = value; }
INLINE vec fill(real value) { return value; }
#ifdef REAL64
INLINE vec root(vec value) { return sqrt(value); }
#else
INLINE vec root(vec value) { return sqrtf(value); }
#endif
INLINE vec choose(mask where, vec then, vec otherwise) { return where ? then : otherwise; }

#endif

INLINE vec clip(vec value, vec limit) {
    vec below = choose(value > limit, limit, value);
    return choose(below < -limit, -limit, below);
}

INLINE vec magnitude(vec value) { return choose(value < 0, -value, value); }

/* Snaps what is too small to matter to zero, for a decayed mode must not sit among the slow
   denormal numbers, and makes `bad` NaN where the state is not finite. */
INLINE vec settle(real *row, vec bad) {
    vec value = load(row);
    value = choose(magnitude(value) < TINY, fill(0), value);
    store(row, value);
    return bad + value * 0;
}

#endif /* W */
#endif
