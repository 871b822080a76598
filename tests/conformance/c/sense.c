/* Sections 2 and 3: correction, calibration, merge, switching. */
#include "port.h"

int64_t floor_div(int64_t a, int64_t b) {
    int64_t q = a / b;
    return (a % b < 0) ? q - 1 : q;
}

int64_t rnd(int64_t a, int64_t b) {
    return floor_div(a + b / 2, b);
}

int64_t clamp(int64_t x, int64_t low, int64_t high) {
    return x < low ? low : x > high ? high : x;
}

static int32_t corrected(int32_t raw, const int32_t *gain, const int32_t *offset, int32_t i) {
    int64_t product;
    if (!gain)
        return raw;
    product = (int64_t)raw * gain[i];
#if DEFECT == 1
    return (int32_t)clamp(product / 16384 + offset[i], 1, 65534);
#elif DEFECT == 2
    return (int32_t)(rnd(product, 16384) + offset[i]) & 65535;
#else
    return (int32_t)clamp(rnd(product, 16384) + offset[i], 1, 65534);
#endif
}

static int32_t classify(int32_t raw, int32_t saturation, int32_t counts) {
    if (raw == 0)
        return DEAD;
#if DEFECT == 3
    return counts >= saturation ? SATURATED : counts;
#else
    return raw >= saturation ? SATURATED : counts;
#endif
}

void correct(const int32_t *raw, int32_t width, int32_t height, int32_t saturation, const int32_t *gain,
             const int32_t *offset, const int32_t *defects, int32_t *sample, uint8_t *replaced) {
    static const int32_t dx[5] = {-1, 1, -1, 0, 1};
    static const int32_t dy[5] = {0, 0, -1, -1, -1};
    int32_t i, k, x, y;
    for (i = 0; i < width * height; i++) {
        sample[i] = classify(raw[i], saturation, corrected(raw[i], gain, offset, i));
        replaced[i] = 0;
    }
    if (!defects)
        return;
    for (y = 0; y < height; y++) {
        for (x = 0; x < width; x++) {
            int64_t sum = 0, n = 0;
            i = y * width + x;
            if (!defects[i])
                continue;
            for (k = 0; k < 5; k++) {
                int32_t nx = x + dx[k], ny = y + dy[k], at = ny * width + nx;
#if DEFECT == 4
                if (at < 0 || at >= width * height)
                    continue;
#else
                if (nx < 0 || nx >= width || ny < 0)
                    continue;
#endif
#if DEFECT != 5
                if (defects[at])
                    continue;
#endif
                if (sample[at] == DEAD || sample[at] == SATURATED)
                    continue;
                sum += sample[at];
                n++;
            }
            sample[i] = n ? (int32_t)rnd(sum, n) : DEAD;
            replaced[i] = n > 0;
        }
    }
}

int32_t temperature(const calibration_t *table, int32_t counts) {
    int32_t step = (int32_t)1 << table->shift;
    int32_t i = counts / step, rest = counts % step, code;
    if (i >= KNOTS - 1) {
        code = table->knot[KNOTS - 1];
    } else {
        int32_t rise = table->knot[i + 1] - table->knot[i];
#if DEFECT == 6
        code = table->knot[i] + (int32_t)((uint16_t)(rise * rest) / step);
#elif DEFECT == 7
        code = table->knot[i] + (rise * rest + step / 2 - 1) / step;
#else
        code = table->knot[i] + (int32_t)rnd((int64_t)rise * rest, step);
#endif
    }
    return code < 1 ? 1 : code;
}

int32_t merge_one(const calibration_t *table, int32_t sample, int is_low, counts_t *counts) {
    if (sample == DEAD)
        return 0;
    if (is_low)
        counts->from_low++;
    if (sample == SATURATED) {
        counts->saturated++;
        return temperature(table, table->saturation);
    }
    return temperature(table, sample);
}

int32_t merge_both(const gain_t *gain, const calibration_t *high, const calibration_t *low, int32_t h,
                   int32_t l, counts_t *counts) {
    int high_valid = h != DEAD && h != SATURATED, low_valid = l != DEAD && l != SATURATED;
    if (high_valid && low_valid) {
        int32_t th = temperature(high, h), tl = temperature(low, l);
        int32_t apart = th > tl ? th - tl : tl - th;
        int64_t factor, weight = 0;
        if (apart > gain->dispute) {
            counts->disputed++;
            counts->from_low += tl > th;
#if DEFECT == 8
            return th < tl ? th : tl;
#else
            return th > tl ? th : tl;
#endif
        }
        if (th > gain->from) {
            factor = rnd((int64_t)4096 * 65536, gain->to - gain->from);
            weight = rnd((th - gain->from) * factor, 65536);
            if (weight > 4096)
                weight = 4096;
        }
#if DEFECT == 9
        counts->from_low += weight > 2048;
#else
        counts->from_low += weight >= 2048;
#endif
#if DEFECT == 10
        return th + (int32_t)(((tl - th) * weight + 2048) / 4096);
#else
        return th + (int32_t)rnd((tl - th) * weight, 4096);
#endif
    }
    if (high_valid)
        return merge_one(high, h, 0, counts);
    if (l != DEAD)
        return merge_one(low, l, 1, counts);
    return merge_one(high, h, 0, counts);
}

int switch_in_use(const switch_t *memory, const gain_t *gain) {
    switch (gain->kind) {
    case PER_PIXEL:
        return IN_BOTH;
    case HIGH_ONLY:
        return IN_HIGH;
    case LOW_ONLY:
        return IN_LOW;
    default:
        return memory->blanks ? IN_BLANK : memory->is_low ? IN_LOW : IN_HIGH;
    }
}

void switch_after(switch_t *memory, const gain_t *gain, const int32_t *codes, int32_t pixels) {
    int64_t above = 0, valid = 0;
    int32_t i, limit = memory->is_low ? gain->leave_above : gain->enter_above;
    int holds;
    if (gain->kind != WHOLE_FRAME)
        return;
    if (memory->blanks) {
        memory->blanks--;
        return;
    }
    for (i = 0; i < pixels; i++) {
        valid += codes[i] != 0;
        above += codes[i] > limit;
    }
    if (memory->is_low)
        holds = 1000 * above <= gain->leave_permille * valid;
    else
        holds = 1000 * above >= gain->enter_permille * valid;
#if DEFECT != 11
    holds = holds && valid > 0;
#endif
    memory->run = holds ? memory->run + 1 : 0;
    if (memory->run >= (memory->is_low ? gain->leave_frames : gain->enter_frames)) {
        memory->is_low = !memory->is_low;
        memory->run = 0;
        memory->blanks = gain->blank_frames;
    }
}
