/* The display pipeline as plain C would be written: one loop over the pixels, whole numbers, no heap, no
 * vectors, by sections 2 to 9 of docs/pipeline.md. It gives the same pixels as the core.
 *
 * Only what the timed profiles use: two gain states pixel by pixel, percentile or plateau scale, flat bands
 * with a ceiling or none under a tint, RGB565. No defect map, and nobody watches the samples. */
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#define BINS 1168
#define KNOTS 257
#define WHITE (255u * 65536u)
#define DEAD 0u
#define SATURATED 65535u

struct plan {
    int32_t from, to, dispute;
    int32_t is_plateau, low, high, plateau, weight;
    int32_t start_low, start_high, to_hotter, to_colder, min_span, slope;
    int32_t bands, has_ceiling, hysteresis; /* the ceiling is one of the bands, the last */
    int32_t start[7];
    int32_t colour[7][3];
    int32_t knee, lift;
    int32_t shift[2], saturation[2];
    uint16_t knot[2][KNOTS];
};

struct record {
    int32_t valid, coloured, disputed, hottest, hottest_at, coldest, coldest_at;
};

struct pipeline {
    struct plan plan;
    int64_t blend;
    uint32_t tint[256], white[256];
    uint32_t histogram[BINS], curve[BINS + 1], target[BINS + 1];
    uint16_t edge_grey[BINS + 1];
    int64_t low, high;
    int32_t is_started, has_curve;
    struct record record;
};

static int64_t rounded(int64_t a, int64_t b) { /* a >= 0 */
    return (a + b / 2) / b;
}

static uint32_t bin_of(uint32_t code, uint32_t *rest, uint32_t *shift) {
    if (code >= 7680 && code < 13824) {
        *shift = 3;
        *rest = (code - 7680) & 7;
        return 30 + ((code - 7680) >> 3);
    }
    if (code >= 13824 && code < 19968) {
        *shift = 5;
        *rest = (code - 13824) & 31;
        return 798 + ((code - 13824) >> 5);
    }
    *shift = 8;
    if (code < 7680) {
        *rest = code & 255;
        return code >> 8;
    }
    *rest = (code - 19968) & 255;
    return 990 + ((code - 19968) >> 8);
}

static int64_t edge_of(int k) {
    return k < 30 ? 256 * k : k < 798 ? 7680 + 8 * (k - 30) : k < 990 ? 13824 + 32 * (k - 798) : 19968 + 256 * (k - 990);
}

static int64_t width_of(int k) {
    return edge_of(k + 1) - edge_of(k);
}

size_t plain_c_bytes(void) {
    return sizeof(struct pipeline);
}

void plain_c_start(struct pipeline *p, const struct plan *plan) {
    int g;
    memset(p, 0, sizeof *p);
    p->plan = *plan;
    p->blend = rounded((int64_t)4096 * 65536, plan->to - plan->from);
    p->low = (int64_t)256 * plan->start_low;
    p->high = (int64_t)256 * plan->start_high;
    for (g = 0; g < 256; g++) {
        if (g < plan->knee) {
            p->tint[g] = (uint32_t)rounded((int64_t)65536 * g, plan->knee);
        } else {
            int64_t white = rounded((int64_t)65536 * plan->lift * (g - plan->knee), 255 * (255 - plan->knee));
            p->tint[g] = (uint32_t)(65536 - white);
            p->white[g] = (uint32_t)(255 * white);
        }
    }
}

static uint32_t corrected(uint32_t raw, uint32_t saturation, uint32_t gain, int32_t offset) {
    int32_t counts;
    if (raw == 0)
        return DEAD;
    if (raw >= saturation)
        return SATURATED;
    counts = (int32_t)((raw * gain + 8192) >> 14) + offset;
    return (uint32_t)(counts < 1 ? 1 : counts > 65534 ? 65534 : counts);
}

static int32_t temperature(const struct plan *plan, int state, uint32_t counts) {
    uint32_t shift = (uint32_t)plan->shift[state], i = counts >> shift, rest = counts & ((1u << shift) - 1);
    const uint16_t *knot = plan->knot[state];
    int32_t code;
    if (i >= KNOTS - 1)
        code = knot[KNOTS - 1];
    else
        code = (int32_t)(knot[i] + (((uint32_t)(knot[i + 1] - knot[i]) * rest + (1u << shift >> 1)) >> shift));
    return code < 1 ? 1 : code;
}

static int32_t merged(const struct plan *plan, int64_t blend, uint32_t high, uint32_t low, int32_t *disputed) {
    if (high != DEAD && high != SATURATED) {
        int32_t th = temperature(plan, 0, high), tl, apart;
        int64_t weight;
        if (low == DEAD || low == SATURATED)
            return th;
        tl = temperature(plan, 1, low);
        apart = th > tl ? th - tl : tl - th;
        if (apart > plan->dispute) {
            ++*disputed;
            return th > tl ? th : tl;
        }
        if (th <= plan->from)
            return th;
        weight = ((th - plan->from) * blend + 32768) >> 16;
        if (weight > 4096)
            weight = 4096;
        return th + (int32_t)(((tl - th) * weight + 2048) >> 12);
    }
    if (low != DEAD)
        return temperature(plan, 1, low == SATURATED ? (uint32_t)plan->saturation[1] : low);
    return high == DEAD ? 0 : temperature(plan, 0, (uint32_t)plan->saturation[0]);
}

static uint16_t packed(uint32_t r, uint32_t g, uint32_t b) {
    return (uint16_t)((r * 31 + 127) / 255 << 11 | (g * 63 + 127) / 255 << 5 | (b * 31 + 127) / 255);
}

static int64_t percentile(const struct pipeline *p, int32_t permille) {
    int64_t rank = rounded((int64_t)p->record.valid * permille, 1000), before = 0;
    int k;
    for (k = 0; k < BINS; k++) {
        int64_t n = p->histogram[k];
        if (n > 0 && before + n >= rank)
            return 256 * edge_of(k) + rounded(256 * width_of(k) * (rank - before), n);
        before += n;
    }
    return 0;
}

static int64_t moved(const struct pipeline *p, int64_t now, int64_t target, int is_hotter) {
    int64_t frames = !p->is_started ? 1 : is_hotter ? p->plan.to_hotter : p->plan.to_colder;
    return now + (target - now) / frames;
}

static void move_curve(struct pipeline *p, int64_t low, int64_t high) {
    const struct plan *plan = &p->plan;
    uint32_t rest, shift;
    int first = (int)bin_of((uint32_t)(low / 256), &rest, &shift), k;
    int last = (int)bin_of((uint32_t)(high / 256 > 65535 ? 65535 : high / 256), &rest, &shift);
    int64_t most = rounded((int64_t)p->record.valid * plan->plateau, 1000), total = 0;
    uint32_t height = 0, lift;
    if (most < 1)
        most = 1;
    for (k = first; k <= last; k++)
        total += p->histogram[k] < most ? p->histogram[k] : most;
    if (total == 0)
        return;
    p->target[0] = 0;
    for (k = 0; k < BINS; k++) {
        int64_t held = k < first || k > last ? 0 : p->histogram[k] < most ? p->histogram[k] : most;
        int64_t step = rounded(WHITE * held, total), steepest = plan->slope * width_of(k) * 2048;
        height += (uint32_t)(step < steepest ? step : steepest);
        if (height > WHITE)
            height = WHITE;
        p->target[k + 1] = height;
    }
    lift = (WHITE - height) / 2;
    if (lift < 1024)
        lift = 0;
    for (k = 0; k <= BINS; k++) {
        int64_t now = p->curve[k], target = p->target[k] + lift;
        if (p->has_curve)
            target = moved(p, now, target, target < now);
        p->curve[k] = (uint32_t)target;
        target = (target + 128) >> 8;
        p->edge_grey[k] = (uint16_t)(target > 65280 ? 65280 : target);
    }
    p->has_curve = 1;
}

static void decide(struct pipeline *p) {
    const struct plan *plan = &p->plan;
    int64_t low, high, raw_low, raw_high, least = (int64_t)256 * plan->min_span;
    int64_t steep = ((int64_t)255 * 8192 + plan->slope - 1) / plan->slope;
    if (p->record.valid == 0)
        return;
    raw_low = low = percentile(p, plan->low);
    raw_high = high = percentile(p, plan->high);
    if (steep > least)
        least = steep;
    if (high - low < least) {
        low = low + high > least ? (low + high - least) / 2 : 0;
        high = low + least;
    }
    low = moved(p, p->low, low, low > p->low);
    high = moved(p, p->high, high, high > p->high);
    if (plan->is_plateau)
        move_curve(p, raw_low, raw_high);
    p->low = low;
    p->high = high;
    p->is_started = 1;
}

void plain_c_frame(struct pipeline *restrict p, size_t pixels, size_t width, const uint16_t *restrict high,
                   const uint16_t *restrict low,
                   const uint16_t *restrict high_gain, const int16_t *restrict high_offset,
                   const uint16_t *restrict low_gain, const int16_t *restrict low_offset, uint8_t *restrict bands,
                   uint16_t *restrict out, struct record *restrict record) {
    const struct plan *plan = &p->plan;
    const int64_t span = p->high - p->low, slope = rounded((int64_t)65280 * 16777216, span);
    const int uses_curve = plan->is_plateau && p->has_curve;
    struct record seen = {0, 0, 0, 0, 0, 65536, 0};
    size_t i;
    memset(p->histogram, 0, sizeof p->histogram);
    for (i = 0; i < pixels; i++) {
        uint32_t h = corrected(high[i], (uint32_t)plan->saturation[0], high_gain[i], high_offset[i]);
        uint32_t l = corrected(low[i], (uint32_t)plan->saturation[1], low_gain[i], low_offset[i]);
        int32_t code = merged(plan, p->blend, h, l, &seen.disputed), up = 0, down = 0, k;
        uint32_t bin, rest, shift, g;
        int64_t d, grey;
        if (code == 0) {
            bands[i] = 0;
            out[i] = ((i % width) ^ (i / width)) & 1 ? 0xFFFF : 0;
            continue;
        }
        bin = bin_of((uint32_t)code, &rest, &shift);
        seen.valid++;
        p->histogram[bin]++;
        if (code > seen.hottest) {
            seen.hottest = code;
            seen.hottest_at = (int32_t)i;
        }
        if (code < seen.coldest) {
            seen.coldest = code;
            seen.coldest_at = (int32_t)i;
        }
        d = (int64_t)256 * code - p->low;
        d = d < 0 ? 0 : d > span ? span : d;
        grey = (d * slope + 8388608) >> 24;
        if (grey > 65280)
            grey = 65280;
        if (uses_curve) {
            int32_t from = p->edge_grey[bin], rise = p->edge_grey[bin + 1] - from;
            int64_t curve = from + ((rise * (int32_t)rest + (int32_t)(1u << shift >> 1)) >> shift);
            grey += ((curve - grey) * plan->weight + 128) >> 8;
        }
        g = (uint32_t)(grey + 128) >> 8;
        for (k = 0; k < plan->bands; k++) {
            up += plan->start[k] <= code;
            down += plan->start[k] - plan->hysteresis <= code;
        }
        k = bands[i];
        k = k < up ? up : k > down ? down : k;
        bands[i] = (uint8_t)k;
        if (k == 0) {
            out[i] = packed(g, g, g);
        } else {
            const int32_t *c = plan->colour[k - 1];
            seen.coloured++;
            if (plan->has_ceiling && k == plan->bands) {
                out[i] = packed((uint32_t)c[0], (uint32_t)c[1], (uint32_t)c[2]);
            } else {
                uint32_t f = p->tint[g], w = p->white[g] + 32768;
                out[i] = packed(((uint32_t)c[0] * f + w) >> 16, ((uint32_t)c[1] * f + w) >> 16,
                                ((uint32_t)c[2] * f + w) >> 16);
            }
        }
    }
    p->record = seen;
    *record = seen;
    decide(p);
}
