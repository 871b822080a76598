/* A second implementation of the display pipeline, by the sections of docs/pipeline.md, sharing no
 * code with the others: C99, no floating point, no heap. Simulation and teaching only; not a certification.
 *
 * -DDEFECT=n builds in one classic mistake; 0, the default, is the sound program. The list of them is
 * in the conformance test that compiles each one. */
#ifndef PORT_H
#define PORT_H

#include <stddef.h>
#include <stdint.h>

#ifndef DEFECT
#define DEFECT 0
#endif

#define MAX_PIXELS 24000 /* of one frame */
#define MAX_OUT 16384    /* numbers of one list of an answer */
#define BINS 1168
#define KNOTS 257
#define DEAD 0
#define SATURATED 65535

/* Section 9: both divisions, for b > 0. */
int64_t floor_div(int64_t a, int64_t b);
int64_t rnd(int64_t a, int64_t b);
int64_t clamp(int64_t x, int64_t low, int64_t high);

typedef struct {
    int present;
    int32_t shift, saturation, knot[KNOTS];
} calibration_t;

enum { PER_PIXEL, WHOLE_FRAME, HIGH_ONLY, LOW_ONLY };
enum { IN_BOTH, IN_HIGH, IN_LOW, IN_BLANK };

typedef struct {
    int32_t kind;
    int32_t from, to, dispute;
    int32_t enter_above, enter_permille, enter_frames;
    int32_t leave_above, leave_permille, leave_frames, blank_frames;
} gain_t;

typedef struct {
    int is_low;
    int32_t run, blanks;
} switch_t;

enum { FIXED, EXTREMES, PERCENTILE, PLATEAU };

typedef struct {
    int32_t law, low, high, plateau, weight;
    int32_t start_low, start_high, to_hotter, to_colder, min_span, slope;
} scale_plan_t;

typedef struct {
    int64_t low, high;
    int started, has_curve;
    int64_t curve[BINS + 1];
} scale_t;

typedef struct {
    int32_t code, x, y;
} spot_t;

typedef struct {
    int32_t valid;
    spot_t hottest, coldest;
    int32_t histogram[BINS];
} statistics_t;

typedef struct {
    int32_t start, colour[3];
    int ramp;
} band_t;

typedef struct {
    int32_t kind; /* 0 grey, 1 bands, 2 pseudo-colour */
    int32_t hysteresis, bands;
    band_t band[6];
    int has_ramp_end, has_ceiling;
    band_t ramp_end, ceiling;
    int32_t stops, stop[12][3];
} colour_t;

typedef struct {
    int32_t kind; /* 0 opaque, 1 veil, 2 tint */
    int32_t a, b; /* opacity; or knee, lift */
} overlay_t;

typedef struct {
    int32_t from_low, saturated, disputed, replaced;
} counts_t;

/* sense.c */
void correct(const int32_t *raw, int32_t width, int32_t height, int32_t saturation, const int32_t *gain,
             const int32_t *offset, const int32_t *defects, int32_t *sample, uint8_t *replaced);
int32_t temperature(const calibration_t *table, int32_t counts);
int32_t merge_one(const calibration_t *table, int32_t sample, int is_low, counts_t *counts);
int32_t merge_both(const gain_t *gain, const calibration_t *high, const calibration_t *low, int32_t h,
                   int32_t l, counts_t *counts);
int switch_in_use(const switch_t *memory, const gain_t *gain);
void switch_after(switch_t *memory, const gain_t *gain, const int32_t *codes, int32_t pixels);

/* scale.c */
int32_t bin_of(int32_t code);
int64_t edge_of(int32_t bin);
void measure(statistics_t *seen, const int32_t *codes, int32_t width, int32_t height);
void scale_start(scale_t *scale, const scale_plan_t *plan);
void scale_after(scale_t *scale, const scale_plan_t *plan, const statistics_t *seen);
int32_t scale_end(int64_t end);
int32_t grey_of(const scale_t *scale, const scale_plan_t *plan, int32_t code);

/* draw.c */
int32_t band_of(const colour_t *plan, int32_t previous, int32_t code);
void band_colour(const colour_t *plan, int32_t band, int32_t code, int32_t out[3]);
void blend(const overlay_t *overlay, const int32_t colour[3], int32_t grey, int32_t out[3]);
void pseudo(const colour_t *plan, int32_t grey, int32_t out[3]);
int32_t panel_word(int32_t format, const int32_t colour[3], int32_t x, int32_t y);

/* packed.c */
typedef struct {
    int32_t length[5];
    int32_t list[5][80]; /* name, gain, scale, colour, overlay */
} lists_t;
uint32_t crc_start(void);
uint32_t crc_byte(uint32_t crc, uint32_t byte);
uint32_t crc_end(uint32_t crc);
int32_t pack(const lists_t *lists, int32_t *bytes);
int32_t unpack(const int32_t *bytes, int32_t length, lists_t *lists);

#endif
