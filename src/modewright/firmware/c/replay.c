/* Plays the test vectors through the controller and compares every command, bit for bit. With a
   number as argument it plays them so often and tells the least time of a sample. */

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "controller.h"
#include "vectors.h"

/* Ticks of the clock that counts at a fixed rate near the processor's; 0 where there is none. */
static uint64_t ticks(void) {
#if defined(__GNUC__) && defined(__x86_64__)
    return __builtin_ia32_rdtsc();
#else
    return 0;
#endif
}

static uint32_t bits(float value) {
    uint32_t found;
    memcpy(&found, &value, sizeof found);
    return found;
}

/* Number of the first sample that differs; VECTOR_SAMPLES if none does. */
static int32_t play(void) {
    int32_t first = VECTOR_SAMPLES;
    controller_start();
    for (int32_t k = 0, w = 0; k < VECTOR_SAMPLES; k++) {
        while (w < VECTOR_WISHES && vector_wishes[w].sample == k) {
            const Wish *wish = &vector_wishes[w++];
            controller_wish(wish->regulator, wish->state, wish->level_m);
        }
        const float command = controller_sample(vector_heard_v[k], vector_external[k]);
        if (first == VECTOR_SAMPLES && bits(command) != bits(vector_command[k])) first = k;
    }
    return first;
}

/* The quickest of several times: what else the machine does only makes it slower. */
static void tell_time(int times) {
    double seconds = 0, ticked = 0;
    for (int i = 0; i < times; i++) {
        const clock_t begin = clock();
        const uint64_t first_tick = ticks();
        play();
        const double ticks_now = (double)(ticks() - first_tick);
        const double seconds_now = (double)(clock() - begin) / CLOCKS_PER_SEC;
        if (i == 0 || seconds_now < seconds) seconds = seconds_now;
        if (i == 0 || ticks_now < ticked) ticked = ticks_now;
    }
    printf("%.6g ns per sample\n", seconds * 1e9 / VECTOR_SAMPLES);
    if (ticked > 0) printf("%.6g ticks per sample\n", ticked / VECTOR_SAMPLES);
}

int main(int count, char **words) {
    const int32_t first = play();
    const int32_t times = count > 1 ? atoi(words[1]) : 0;
    if (times > 0) tell_time(times);
    printf("%" PRId32 " bytes of working memory\n", controller_bytes());
    if (first < VECTOR_SAMPLES) {
        printf("sample %" PRId32 " differs\n", first);
        return 1;
    }
    printf("%d samples equal, bit for bit\n", VECTOR_SAMPLES);
    return 0;
}
