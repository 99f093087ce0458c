/* Where each quantity of the engine lies: the table that Python and JavaScript read. */

#include "engine.h"

_Static_assert(offsetof(Engine, quadratic) % 64 == 0, "rows have to begin on a cache line");

enum { SCALAR, LANE_INTEGERS, LANE_NUMBERS };

typedef struct {
    char name[40]; /* within the table, so that it needs no relocation */
    int32_t kind, offset, rows, stride;
} Field;

#define INTEGER(name) {#name, SCALAR, (int32_t)offsetof(Engine, name), 1, sizeof(int32_t)}
#define COUNTER(name) \
    {#name, LANE_INTEGERS, (int32_t)offsetof(Engine, name), 1, sizeof(int32_t) * LANES}
#define NUMBER(name) {#name, LANE_NUMBERS, (int32_t)offsetof(Engine, name), 1, sizeof(Row)}
#define ROWS(list, count, type, name) \
    {#list "." #name, LANE_NUMBERS, (int32_t)(offsetof(Engine, list) + offsetof(type, name)), \
     count, sizeof(type)}
#define BODY(name) ROWS(body, MAX_MODES, Mode, name)
#define OBSERVER(name) ROWS(observer, MAX_OBSERVED, Observed, name)
#define REGULATOR(name) ROWS(regulators, MAX_OBSERVED, Regulator, name)
#define SECTIONS(list) \
    ROWS(list, MAX_SECTIONS, Section, b0), ROWS(list, MAX_SECTIONS, Section, b1), \
    ROWS(list, MAX_SECTIONS, Section, b2), ROWS(list, MAX_SECTIONS, Section, a1), \
    ROWS(list, MAX_SECTIONS, Section, a2), ROWS(list, MAX_SECTIONS, Section, first), \
    ROWS(list, MAX_SECTIONS, Section, second)

static const Field fields[] = {
    INTEGER(voices), INTEGER(modes), INTEGER(observed), INTEGER(regulated),
    INTEGER(input_sections), INTEGER(output_sections), INTEGER(delay), INTEGER(position),
    INTEGER(ring),
    COUNTER(fault), COUNTER(clipped), COUNTER(limited),
    NUMBER(quadratic), NUMBER(cubic), NUMBER(full_scale), NUMBER(command_limit),
    NUMBER(peak_demand), NUMBER(limiting),
    {"command", LANE_NUMBERS, (int32_t)offsetof(Engine, command), 0, sizeof(Row)},
    SECTIONS(input), SECTIONS(output),
    BODY(re), BODY(im), BODY(turn_re), BODY(turn_im), BODY(drive_re), BODY(drive_im),
    BODY(force_re), BODY(force_im),
    OBSERVER(delayed_re), OBSERVER(delayed_im), OBSERVER(present_re), OBSERVER(present_im),
    OBSERVER(rotation_re), OBSERVER(rotation_im), OBSERVER(heard_drive_re),
    OBSERVER(heard_drive_im), OBSERVER(heard_correction_re), OBSERVER(heard_correction_im),
    OBSERVER(drive_re), OBSERVER(drive_im), OBSERVER(correction_re), OBSERVER(correction_im),
    OBSERVER(level),
    REGULATOR(target), REGULATOR(target_end), REGULATOR(target_step), REGULATOR(gain),
    REGULATOR(gain_end), REGULATOR(gain_step), REGULATOR(feedforward), REGULATOR(integral_gain),
    REGULATOR(steering_re), REGULATOR(steering_im), REGULATOR(integral_limit),
    REGULATOR(amp_limit), REGULATOR(silence), REGULATOR(integral),
};

int32_t mw_size(int32_t delay) {
    return (int32_t)(offsetof(Engine, command) + (size_t)ring_rows(delay) * sizeof(Row));
}
int32_t mw_longest_delay(void) { return LONGEST_DELAY; }
int32_t mw_real_size(void) { return (int32_t)sizeof(real); }
int32_t mw_width(void) { return W; }
int32_t mw_lanes(void) { return LANES; }
int32_t mw_controls(void) { return CONTROLS; }
int32_t mw_field_count(void) { return (int32_t)(sizeof fields / sizeof fields[0]); }
const char *mw_field_name(int32_t index) { return fields[index].name; }
int32_t mw_field_kind(int32_t index) { return fields[index].kind; }
int32_t mw_field_offset(int32_t index) { return fields[index].offset; }
int32_t mw_field_rows(int32_t index) { return fields[index].rows; }
int32_t mw_field_stride(int32_t index) { return fields[index].stride; }

#if defined(__x86_64__)
static void cpuid(uint32_t leaf, uint32_t *ebx, uint32_t *ecx) {
    uint32_t eax = leaf, edx;
    *ecx = 0;
    __asm__("cpuid" : "+a"(eax), "=b"(*ebx), "+c"(*ecx), "=d"(edx));
}

int32_t mw_has_avx2(void) {
    uint32_t ebx, ecx, saved, high;
    cpuid(1, &ebx, &ecx);
    if ((ecx >> 27 & 3) != 3) return 0; /* OSXSAVE and AVX */
    __asm__("xgetbv" : "=a"(saved), "=d"(high) : "c"(0));
    if ((saved & 6) != 6) return 0; /* the system keeps XMM and YMM registers */
    cpuid(7, &ebx, &ecx);
    return ebx >> 5 & 1;
}
#else
int32_t mw_has_avx2(void) { return 0; }
#endif
