/* Sections 4 and 5: statistics, scale ends, the plateau curve, grey. */
#include <string.h>

#include "port.h"

#define WHITE ((int64_t)255 * 65536)

/* First code, first bin and width of each zone of bins. */
static const int32_t zone[4][3] = {{0, 0, 256}, {7680, 30, 8}, {13824, 798, 32}, {19968, 990, 256}};

int32_t bin_of(int32_t code) {
    int32_t z = 3;
    while (code < zone[z][0])
        z--;
    return zone[z][1] + (code - zone[z][0]) / zone[z][2];
}

int64_t edge_of(int32_t bin) {
    int32_t z = 3;
    while (bin < zone[z][1])
        z--;
    return zone[z][0] + (int64_t)(bin - zone[z][1]) * zone[z][2];
}

static int64_t width_of(int32_t bin) {
    return edge_of(bin + 1) - edge_of(bin);
}

void measure(statistics_t *seen, const int32_t *codes, int32_t width, int32_t height) {
    int32_t x, y;
    memset(seen, 0, sizeof *seen);
    for (y = 0; y < height; y++) {
        for (x = 0; x < width; x++) {
            spot_t spot = {0, 0, 0};
            spot.code = codes[y * width + x];
            spot.x = x;
            spot.y = y;
            if (spot.code == 0)
                continue;
            seen->valid++;
            seen->histogram[bin_of(spot.code)]++;
#if DEFECT == 12
            if (spot.code >= seen->hottest.code)
#else
            if (spot.code > seen->hottest.code)
#endif
                seen->hottest = spot;
            if (seen->coldest.code == 0 || spot.code < seen->coldest.code)
                seen->coldest = spot;
        }
    }
}

void scale_start(scale_t *scale, const scale_plan_t *plan) {
    memset(scale, 0, sizeof *scale);
    scale->low = (int64_t)256 * plan->start_low;
    scale->high = (int64_t)256 * plan->start_high;
}

static int64_t percentile(const statistics_t *seen, int32_t permille) {
    int64_t rank = rnd((int64_t)seen->valid * permille, 1000), before = 0;
    int32_t k;
    for (k = 0; k < BINS; k++) {
        int64_t n = seen->histogram[k];
        if (n > 0 && before + n >= rank) {
#if DEFECT == 13
            return 256 * edge_of(k);
#else
            return 256 * edge_of(k) + rnd(256 * width_of(k) * (rank - before), n);
#endif
        }
        before += n;
    }
    return 0;
}

static int64_t moved(const scale_t *scale, const scale_plan_t *plan, int64_t now, int64_t target,
                     int hotter) {
    int64_t frames = hotter ? plan->to_hotter : plan->to_colder;
#if DEFECT == 14
    frames = hotter ? plan->to_colder : plan->to_hotter;
#endif
    if (!scale->started)
        frames = 1;
#if DEFECT == 15
    return now + floor_div(target - now, frames);
#else
    return now + (target - now) / frames;
#endif
}

static int target_curve(const scale_plan_t *plan, const statistics_t *seen, int64_t low, int64_t high,
                        int64_t *curve) {
    int32_t first = bin_of((int32_t)clamp(low / 256, 0, 65535));
    int32_t last = bin_of((int32_t)clamp(high / 256, 0, 65535)), k;
    int64_t most = rnd((int64_t)seen->valid * plan->plateau, 1000), total = 0, height = 0, lift;
    if (most < 1)
        most = 1;
    for (k = first; k <= last; k++)
        total += seen->histogram[k] < most ? seen->histogram[k] : most;
    if (total == 0)
        return 0;
    curve[0] = 0;
    for (k = 0; k < BINS; k++) {
        int64_t held = k < first || k > last ? 0 : seen->histogram[k];
        int64_t step, steepest = plan->slope * width_of(k) * 2048;
        if (held > most)
            held = most;
        step = rnd(WHITE * held, total);
#if DEFECT != 16
        if (step > steepest)
            step = steepest;
#else
        (void)steepest;
#endif
        height = height + step > WHITE ? WHITE : height + step;
        curve[k + 1] = height;
    }
    lift = (WHITE - height) / 2;
#if DEFECT == 17
    lift = 0;
#endif
    if (lift < 1024)
        lift = 0;
    for (k = 0; k <= BINS; k++)
        curve[k] += lift;
    return 1;
}

void scale_after(scale_t *scale, const scale_plan_t *plan, const statistics_t *seen) {
    static int64_t target[BINS + 1];
    int64_t low, high, raw_low, raw_high, least, steep;
    int32_t k;
    if (seen->valid == 0)
        return;
    switch (plan->law) {
    case FIXED:
        low = (int64_t)256 * plan->start_low;
        high = (int64_t)256 * plan->start_high;
        break;
    case EXTREMES:
        low = (int64_t)256 * seen->coldest.code;
        high = (int64_t)256 * seen->hottest.code;
        break;
    default:
        low = percentile(seen, plan->low);
        high = percentile(seen, plan->high);
        break;
    }
    raw_low = low;
    raw_high = high;
    least = (int64_t)256 * plan->min_span;
    steep = ((int64_t)255 * 8192 + plan->slope - 1) / plan->slope;
    if (steep > least)
        least = steep;
    if (high - low < least) {
        int64_t start = low + high - least;
#if DEFECT == 18
        low = raw_low;
        (void)start;
#else
        low = start > 0 ? start / 2 : 0;
#endif
        high = low + least;
    }
    low = moved(scale, plan, scale->low, low, low > scale->low);
    high = moved(scale, plan, scale->high, high, high > scale->high);
    if (plan->law == PLATEAU && target_curve(plan, seen, raw_low, raw_high, target)) {
        for (k = 0; k <= BINS; k++) {
            int64_t now = scale->curve[k];
            scale->curve[k] =
                scale->has_curve ? moved(scale, plan, now, target[k], target[k] < now) : target[k];
        }
        scale->has_curve = 1;
    }
    scale->low = low;
    scale->high = high;
    scale->started = 1;
}

int32_t scale_end(int64_t end) {
#if DEFECT == 19
    return (int32_t)(rnd(end, 256) & 65535);
#else
    return (int32_t)clamp(rnd(end, 256), 0, 65535);
#endif
}

int32_t grey_of(const scale_t *scale, const scale_plan_t *plan, int32_t code) {
    int64_t span = scale->high - scale->low, slope = rnd((int64_t)65280 * 16777216, span);
    int64_t d = clamp((int64_t)256 * code - scale->low, 0, span);
    int64_t linear = clamp(rnd(d * slope, 16777216), 0, 65280), from, to, curve;
    int32_t k = bin_of(code);
    if (plan->law != PLATEAU || plan->weight == 0 || !scale->has_curve)
        return (int32_t)linear;
    from = clamp(rnd(scale->curve[k], 256), 0, 65280);
    to = clamp(rnd(scale->curve[k + 1], 256), 0, 65280);
    curve = from + rnd((to - from) * (code - edge_of(k)), width_of(k));
    return (int32_t)(linear + rnd((curve - linear) * plan->weight, 256));
}
