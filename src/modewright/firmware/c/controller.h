/* The controller of one note: a pickup's voltage in, a command out, once every sample.

   Fixed size, no allocation, C99, float32. Compile with the flags of the Makefile, or the bits are
   not those of the simulation. */

#ifndef MODEWRIGHT_CONTROLLER_H
#define MODEWRIGHT_CONTROLLER_H

#include <stdint.h>

typedef enum { MODE_FREE, MODE_HELD, MODE_DAMPED } ModeState;

/* Brings everything to rest, with every mode free. Call it before the first sample. */
void controller_start(void);

/* Says what a mode is to do from the end of the block that is running on, or from the end of the
   first one: gains and levels run there in a straight line, so that nothing clicks. `regulator`
   counts the treated modes from 0, as coefficients.h lists them; out of range it is ignored. */
void controller_wish(int32_t regulator, ModeState state, float level_m);

/* One sample: takes the converted voltage of the pickup and a command beside that of the
   regulators, gives the command for the amplifier, within its limit. */
float controller_sample(float heard_v, float external);

/* 1 once a number has overflowed: every further command is zero until controller_start. */
int32_t controller_has_failed(void);

/* Level of an observed mode at the end of the last block. [m] */
float controller_level_m(int32_t observed);

/* Bytes of working memory; the tables of coefficients.h come on top, as constants. */
int32_t controller_bytes(void);

#endif
