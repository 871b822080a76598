/* Sections 6 to 8: bands, overlay, pseudo-colour, panel. */
#include "port.h"

int32_t band_of(const colour_t *plan, int32_t previous, int32_t code) {
    int32_t up = 0, down = 0, k, n = plan->bands + plan->has_ceiling;
    for (k = 0; k < n; k++) {
        int32_t start = k < plan->bands ? plan->band[k].start : plan->ceiling.start;
#if DEFECT == 20
        up += start < code;
#else
        up += start <= code;
#endif
        down += clamp((int64_t)start - plan->hysteresis, 0, 65535) <= code;
    }
#if DEFECT == 21
    (void)previous;
    (void)down;
    return up;
#else
    return (int32_t)(previous < up ? up : previous > down ? down : previous);
#endif
}

static void mix(const int32_t *a, const int32_t *b, int64_t part, int64_t whole, int32_t out[3]) {
    int32_t c;
    for (c = 0; c < 3; c++)
        out[c] = a[c] + (int32_t)rnd((b[c] - a[c]) * part, whole);
}

void band_colour(const colour_t *plan, int32_t band, int32_t code, int32_t out[3]) {
    const band_t *this = band > plan->bands ? &plan->ceiling : &plan->band[band - 1];
    const band_t *next = 0;
    int64_t factor, q, above;
    if (band < plan->bands)
        next = &plan->band[band];
    else if (band == plan->bands && plan->has_ramp_end)
        next = &plan->ramp_end;
    if (!next || !this->ramp) {
        mix(this->colour, this->colour, 0, 1, out);
        return;
    }
    above = code > this->start ? code - this->start : 0;
#if DEFECT == 22
    if (above > next->start - this->start)
        above = next->start - this->start;
    (void)factor;
    (void)q;
    mix(this->colour, next->colour, above, next->start - this->start, out);
#else
    factor = rnd((int64_t)256 * 65536, next->start - this->start);
    q = rnd(above * factor, 65536);
    mix(this->colour, next->colour, q > 256 ? 256 : q, 256, out);
#endif
}

void blend(const overlay_t *overlay, const int32_t colour[3], int32_t grey, int32_t out[3]) {
    int64_t factor = 65536, white = 0;
    int32_t c;
    if (overlay->kind == 2) {
        int32_t knee = overlay->a, lift = overlay->b;
        if (grey < knee) {
#if DEFECT == 23
            factor = (uint16_t)(grey << 8) * 256 / knee;
#else
            factor = rnd((int64_t)65536 * grey, knee);
#endif
        } else {
            white = rnd((int64_t)65536 * lift * (grey - knee), (int64_t)255 * (255 - knee));
            factor = 65536 - white;
        }
    }
    for (c = 0; c < 3; c++) {
        if (overlay->kind == 0)
            out[c] = colour[c];
        else if (overlay->kind == 1)
#if DEFECT == 24
            out[c] = (overlay->a * colour[c] + (255 - overlay->a) * grey) / 256;
#else
            out[c] = (int32_t)rnd(overlay->a * colour[c] + (255 - overlay->a) * grey, 255);
#endif
        else
            out[c] = (int32_t)rnd(colour[c] * factor + 255 * white, 65536);
    }
}

void pseudo(const colour_t *plan, int32_t grey, int32_t out[3]) {
    int32_t x = grey * (plan->stops - 1);
#if DEFECT == 25
    int32_t whole = 256;
#else
    int32_t whole = 255;
#endif
    int32_t i = x / whole, next = i + 1 < plan->stops ? i + 1 : i;
    mix(plan->stop[i], plan->stop[next], x % whole, whole, out);
}

int32_t panel_word(int32_t format, const int32_t colour[3], int32_t x, int32_t y) {
    static const int32_t rank[4][4] = {{0, 8, 2, 10}, {12, 4, 14, 6}, {3, 11, 1, 9}, {15, 7, 13, 5}};
    static const int32_t most[3] = {31, 63, 31};
    int32_t c, word = 0;
    if (format == 0)
        return (colour[0] * 256 + colour[1]) * 256 + colour[2];
    for (c = 0; c < 3; c++) {
        int32_t channel;
        if (format == 1)
#if DEFECT == 26
            channel = colour[c] >> (c == 1 ? 2 : 3);
#else
            channel = (int32_t)rnd(colour[c] * most[c], 255);
#endif
        else
#if DEFECT == 27
            channel = (32 * most[c] * colour[c] + 255 * (2 * rank[x % 4][y % 4] + 1)) / (255 * 32);
#else
            channel = (32 * most[c] * colour[c] + 255 * (2 * rank[y % 4][x % 4] + 1)) / (255 * 32);
#endif
        word = word * (most[c] + 1) + channel;
    }
    return word;
}
