/* The protocol of docs/vectors.md: a request a line on standard input, an answer a line on standard
 * output. Numbers are read as they come, so that a request may be longer than any buffer. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "port.h"

static int line_ended, broken;

static int next_char(void) {
    int c = getchar();
    if (c == EOF || c == '\n')
        line_ended = 1;
    return c;
}

/* The next word of the line; empty at its end. */
static void next_word(char *word, size_t size) {
    size_t n = 0;
    int c = ' ';
    while (!line_ended && (c == ' ' || c == '\r'))
        c = next_char();
    while (!line_ended && c != ' ' && c != '\r') {
        if (n + 1 < size)
            word[n++] = (char)c;
        c = next_char();
    }
    word[n] = '\0';
}

static int32_t number(void) {
    char word[24], *end;
    long n;
    next_word(word, sizeof word);
    n = strtol(word, &end, 10);
    if (word[0] == '\0' || *end != '\0')
        broken = 1;
    return (int32_t)n;
}

static int32_t list(int32_t *to, int32_t most) {
    int32_t i, n = number();
    if (n < 0 || n > most) {
        broken = 1;
        return 0;
    }
    for (i = 0; i < n && !broken; i++)
        to[i] = number();
    return n;
}

static void answer(int64_t n) {
    printf("%ld ", (long)n);
}

static void answer_list(const int32_t *from, int32_t n) {
    int32_t i;
    answer(n);
    for (i = 0; i < n; i++)
        answer(from[i]);
}

static int32_t in[MAX_OUT], out[MAX_OUT], out2[3 * MAX_OUT];

static void read_calibration(calibration_t *table) {
    int32_t n = list(in, KNOTS + 2);
    memset(table, 0, sizeof *table);
    table->present = n == KNOTS + 2;
    table->shift = in[0];
    table->saturation = in[1];
    memcpy(table->knot, in + 2, sizeof table->knot);
}

static void read_gain(gain_t *gain) {
    int32_t n = list(in, 8);
    memset(gain, 0, sizeof *gain);
    gain->kind = in[0];
    if (gain->kind == PER_PIXEL && n == 4) {
        gain->from = in[1];
        gain->to = in[2];
        gain->dispute = in[3];
    } else if (gain->kind == WHOLE_FRAME && n == 8) {
        gain->enter_above = in[1];
        gain->enter_permille = in[2];
        gain->enter_frames = in[3];
        gain->leave_above = in[4];
        gain->leave_permille = in[5];
        gain->leave_frames = in[6];
        gain->blank_frames = in[7];
    } else if (n != 1) {
        broken = 1;
    }
}

static void read_scale(scale_plan_t *plan) {
    int32_t n = list(in, 11);
    if (n != 11)
        broken = 1;
    plan->law = in[0];
    plan->low = in[1];
    plan->high = in[2];
    plan->plateau = in[3];
    plan->weight = in[4];
    plan->start_low = in[5];
    plan->start_high = in[6];
    plan->to_hotter = in[7];
    plan->to_colder = in[8];
    plan->min_span = in[9];
    plan->slope = in[10];
}

static const int32_t *read_start(const int32_t *from, band_t *band) {
    band->start = *from++;
    memcpy(band->colour, from, sizeof band->colour);
    return from + 3;
}

static void read_colour(colour_t *plan) {
    const int32_t *from = in;
    int32_t i;
    memset(plan, 0, sizeof *plan);
    memset(in, 0, 128 * sizeof *in);
    (void)list(in, 80);
    plan->kind = *from++;
    if (plan->kind == 1) {
        plan->hysteresis = *from++;
        plan->bands = *from++;
        for (i = 0; i < plan->bands && i < 6; i++) {
            from = read_start(from, &plan->band[i]);
            plan->band[i].ramp = *from++;
        }
        plan->has_ramp_end = *from++;
        if (plan->has_ramp_end)
            from = read_start(from, &plan->ramp_end);
        plan->has_ceiling = *from++;
        if (plan->has_ceiling)
            (void)read_start(from, &plan->ceiling);
    } else if (plan->kind == 2) {
        plan->stops = *from++;
        memcpy(plan->stop, from, sizeof plan->stop);
    }
}

static void read_overlay(overlay_t *overlay) {
    in[1] = in[2] = 0;
    (void)list(in, 3);
    overlay->kind = in[0];
    overlay->a = in[1];
    overlay->b = in[2];
}

/* The whole pipeline */

static calibration_t high_table, low_table;
static int32_t gain_h[MAX_PIXELS], offset_h[MAX_PIXELS], gain_l[MAX_PIXELS], offset_l[MAX_PIXELS];
static int32_t defects[MAX_PIXELS], raw[MAX_PIXELS], samples_h[MAX_PIXELS], samples_l[MAX_PIXELS];
static int32_t codes[MAX_PIXELS], greys[MAX_PIXELS], bands[MAX_PIXELS], words[MAX_PIXELS];
static uint8_t replaced_h[MAX_PIXELS], replaced_l[MAX_PIXELS];
static int32_t records[25 * 64], planes[4][MAX_OUT];
static statistics_t seen;
static scale_t scale;

static void word_correct(void) {
    int32_t width = number(), saturation = number(), g, d, n, i, replaced = 0;
    g = list(gain_h, MAX_PIXELS);
    (void)list(offset_h, MAX_PIXELS);
    d = list(defects, MAX_PIXELS);
    n = list(raw, MAX_PIXELS);
    if (broken || width <= 0)
        return;
    correct(raw, width, n / width, saturation, g ? gain_h : 0, offset_h, d ? defects : 0, samples_h,
            replaced_h);
    for (i = 0; i < n; i++)
        replaced += replaced_h[i];
    answer_list(samples_h, n);
    answer(replaced);
}

static void word_temperature(void) {
    int32_t i, n;
    high_table.shift = number();
    (void)list(high_table.knot, KNOTS);
    n = list(out, MAX_OUT);
    for (i = 0; i < n; i++)
        out[i] = temperature(&high_table, out[i]);
    answer_list(out, n);
}

static void word_merge(void) {
    gain_t gain;
    counts_t counts = {0, 0, 0, 0};
    int32_t i, n, m;
    read_gain(&gain);
    read_calibration(&high_table);
    read_calibration(&low_table);
    n = list(samples_h, MAX_OUT);
    m = list(samples_l, MAX_OUT);
    if (m > n)
        n = m;
    for (i = 0; i < n; i++) {
        if (gain.kind == PER_PIXEL)
            out[i] = merge_both(&gain, &high_table, &low_table, samples_h[i], samples_l[i], &counts);
        else if (gain.kind == HIGH_ONLY)
            out[i] = merge_one(&high_table, samples_h[i], 0, &counts);
        else
            out[i] = merge_one(&low_table, samples_l[i], 1, &counts);
    }
    answer_list(out, n);
    answer(counts.from_low);
    answer(counts.saturated);
    answer(counts.disputed);
}

static void word_switch(void) {
    gain_t gain;
    switch_t memory = {0, 0, 0};
    int32_t pixels, n, frame;
    read_gain(&gain);
    pixels = number();
    n = list(in, MAX_OUT);
    if (broken || pixels <= 0)
        return;
    for (frame = 0; frame < n / pixels; frame++) {
        out[frame] = switch_in_use(&memory, &gain);
        switch_after(&memory, &gain, in + frame * pixels, pixels);
    }
    answer_list(out, n / pixels);
}

static void answer_spot(spot_t spot) {
    answer(spot.code ? 3 : 0);
    if (spot.code) {
        answer(spot.code);
        answer(spot.x);
        answer(spot.y);
    }
}

static void word_statistics(void) {
    int32_t width = number(), n = list(in, MAX_OUT);
    if (broken || width <= 0)
        return;
    measure(&seen, in, width, n / width);
    answer(seen.valid);
    answer_spot(seen.hottest);
    answer_spot(seen.coldest);
}

static void word_bins(void) {
    int32_t i, n = list(in, MAX_OUT);
    for (i = 0; i < n; i++) {
        out[i] = bin_of(in[i]);
        out2[i] = (int32_t)edge_of(out[i]);
    }
    answer_list(out, n);
    answer_list(out2, n);
}

static void word_scale(void) {
    scale_plan_t plan;
    int32_t pixels, n, frame, i;
    static int32_t lows[MAX_OUT], highs[MAX_OUT];
    read_scale(&plan);
    pixels = number();
    n = list(in, MAX_OUT);
    if (broken || pixels <= 0)
        return;
    scale_start(&scale, &plan);
    for (frame = 0; frame < n / pixels; frame++) {
        const int32_t *from = in + frame * pixels;
        measure(&seen, from, pixels, 1);
#if DEFECT == 31
        scale_after(&scale, &plan, &seen);
#endif
        lows[frame] = scale_end(scale.low);
        highs[frame] = scale_end(scale.high);
        for (i = 0; i < pixels; i++)
            out[frame * pixels + i] = from[i] ? grey_of(&scale, &plan, from[i]) : 0;
#if DEFECT != 31
        scale_after(&scale, &plan, &seen);
#endif
    }
    answer_list(lows, n / pixels);
    answer_list(highs, n / pixels);
    answer_list(out, n);
}

static void word_bands(void) {
    colour_t plan;
    int32_t pixels, n, i;
    read_colour(&plan);
    pixels = number();
    n = list(in, MAX_OUT);
    if (broken || pixels <= 0)
        return;
    for (i = 0; i < n; i++) {
        int32_t previous = i < pixels ? 0 : out[i - pixels];
        out[i] = in[i] ? band_of(&plan, previous, in[i]) : 0;
#if DEFECT == 32
        if (!in[i])
            out[i] = previous;
#endif
        memset(out2 + 3 * i, 0, 3 * sizeof *out2);
        if (out[i])
            band_colour(&plan, out[i], in[i], out2 + 3 * i);
    }
    answer_list(out, n);
    answer_list(out2, 3 * n);
}

static void word_overlay(void) {
    overlay_t overlay;
    int32_t colour[3] = {0, 0, 0}, i, n;
    read_overlay(&overlay);
    (void)list(colour, 3);
    n = list(in, MAX_OUT);
    for (i = 0; i < n; i++)
        blend(&overlay, colour, in[i], out2 + 3 * i);
    answer_list(out2, 3 * n);
}

static void word_pseudo(void) {
    colour_t plan;
    int32_t i, n;
    memset(&plan, 0, sizeof plan);
    plan.stops = list(&plan.stop[0][0], 36) / 3;
    n = list(in, MAX_OUT);
    for (i = 0; i < n; i++)
        pseudo(&plan, in[i], out2 + 3 * i);
    answer_list(out2, 3 * n);
}

static void word_panel(void) {
    int32_t format = number(), i, n;
    static int32_t x[MAX_OUT], y[MAX_OUT];
    n = list(x, MAX_OUT);
    (void)list(y, MAX_OUT);
    (void)list(out2, 3 * MAX_OUT);
    for (i = 0; i < n; i++)
        out[i] = panel_word(format, out2 + 3 * i, x[i], y[i]);
    answer_list(out, n);
}

static lists_t lists;

static void word_pack(void) {
    int k;
    for (k = 0; k < 5; k++)
        lists.length[k] = list(lists.list[k], 80);
    if (!broken)
        answer_list(out, pack(&lists, out));
}

static void word_unpack(void) {
    int32_t n = list(in, MAX_OUT), k;
    answer(unpack(in, n, &lists));
    for (k = 0; k < 5; k++)
        answer_list(lists.list[k], lists.length[k]);
}

static void read_plane(int32_t pixels) {
    int32_t i;
    for (i = 0; i < pixels && !broken; i++)
        raw[i] = number();
}

static int32_t digest(const int32_t *from, int32_t n, int bytes) {
    uint32_t crc = crc_start();
    int32_t i;
    int k;
    for (i = 0; i < n; i++)
        for (k = 0; k < bytes; k++)
            crc = crc_byte(crc, (uint32_t)from[i] >> (8 * k));
    crc = crc_end(crc);
    return (int32_t)crc;
}

static void draw(const scale_plan_t *plan, const colour_t *colour, const overlay_t *overlay,
                 int32_t format, int32_t width, int32_t pixels, int32_t coloured[8]) {
    int32_t i, c;
    for (i = 0; i < pixels; i++) {
        int32_t rgb[3], x = i % width, y = i / width, level;
        if (codes[i] == 0) {
            bands[i] = 0;
            greys[i] = 0;
#if DEFECT == 33
            rgb[0] = rgb[1] = rgb[2] = (x + y) % 2 ? 0 : 255;
#else
            rgb[0] = rgb[1] = rgb[2] = (x + y) % 2 ? 255 : 0;
#endif
            words[i] = panel_word(format, rgb, x, y);
            continue;
        }
        greys[i] = grey_of(&scale, plan, codes[i]);
#if DEFECT == 34
        level = greys[i] / 256;
#else
        level = (int32_t)rnd(greys[i], 256);
#endif
        for (c = 0; c < 3; c++)
            rgb[c] = level;
        if (colour->kind == 2) {
            pseudo(colour, level, rgb);
            coloured[7]++;
        } else if (colour->kind == 1) {
            int32_t at = codes[i];
#if DEFECT == 35
            at = (int32_t)((scale.low + (scale.high - scale.low) * level / 255) / 256);
#endif
            bands[i] = band_of(colour, bands[i], at);
            if (bands[i]) {
                band_colour(colour, bands[i], codes[i], rgb);
                coloured[7]++;
#if DEFECT == 36
                coloured[bands[i] - 1]++;
#else
                coloured[bands[i] > colour->bands ? 6 : bands[i] - 1]++;
#endif
#if DEFECT != 37
                if (bands[i] <= colour->bands)
#endif
                    blend(overlay, rgb, level, rgb);
            }
        }
        words[i] = panel_word(format, rgb, x, y);
    }
}

static void word_pipeline(int as_digest) {
    static gain_t gain;
    static scale_plan_t plan;
    static colour_t colour;
    static overlay_t overlay;
    switch_t memory = {0, 0, 0};
    int32_t width = number(), height = number(), pixels, has[3], format, total, states;
    int32_t frame, frames, i, k, kept = 0, digests = 0;
    read_gain(&gain);
    read_calibration(&high_table);
    read_calibration(&low_table);
    has[0] = list(gain_h, MAX_PIXELS);
    (void)list(offset_h, MAX_PIXELS);
    has[1] = list(gain_l, MAX_PIXELS);
    (void)list(offset_l, MAX_PIXELS);
    has[2] = list(defects, MAX_PIXELS);
    read_scale(&plan);
    read_colour(&colour);
    read_overlay(&overlay);
    format = number();
    total = number();
    pixels = width * height;
    states = high_table.present + low_table.present;
    if (broken || pixels <= 0 || pixels > MAX_PIXELS || states == 0)
        return;
    frames = total / (states * pixels);
    if (frames > 64 || (!as_digest && frames * pixels > MAX_OUT)) {
        broken = 1;
        return;
    }
    scale_start(&scale, &plan);
    memset(bands, 0, sizeof bands);
    for (frame = 0; frame < frames; frame++) {
        int in_use = switch_in_use(&memory, &gain);
        int32_t coloured[8] = {0, 0, 0, 0, 0, 0, 0, 0}, *record = records + 25 * frame;
        counts_t counts = {0, 0, 0, 0};
        if (high_table.present) {
            read_plane(pixels);
            correct(raw, width, height, high_table.saturation, has[0] ? gain_h : 0, offset_h,
                    has[2] ? defects : 0, samples_h, replaced_h);
        }
        if (low_table.present) {
            read_plane(pixels);
            correct(raw, width, height, low_table.saturation, has[1] ? gain_l : 0, offset_l,
                    has[2] ? defects : 0, samples_l, replaced_l);
        }
        for (i = 0; i < pixels; i++) {
            int of_high = in_use != IN_LOW && replaced_h[i], of_low = in_use != IN_HIGH && replaced_l[i];
            codes[i] = greys[i] = words[i] = 0;
            if (in_use == IN_BLANK)
                continue;
            if (in_use == IN_BOTH)
                codes[i] = merge_both(&gain, &high_table, &low_table, samples_h[i], samples_l[i], &counts);
            else if (in_use == IN_HIGH)
                codes[i] = merge_one(&high_table, samples_h[i], 0, &counts);
            else
                codes[i] = merge_one(&low_table, samples_l[i], 1, &counts);
#if DEFECT == 38
            counts.replaced += of_high + of_low;
#else
            counts.replaced += of_high || of_low;
#endif
        }
        measure(&seen, codes, width, height);
        record[0] = frame;
        record[1] = in_use;
        record[2] = scale_end(scale.low);
        record[3] = scale_end(scale.high);
        if (in_use != IN_BLANK)
            draw(&plan, &colour, &overlay, format, width, pixels, coloured);
#if DEFECT == 39
        else
            memset(bands, 0, sizeof bands);
#endif
        record[4] = pixels;
        record[5] = seen.valid;
        record[6] = counts.from_low;
        record[7] = coloured[7];
        for (k = 0; k < 7; k++)
            record[8 + k] = coloured[k];
        record[15] = seen.hottest.code;
        record[16] = seen.hottest.x;
        record[17] = seen.hottest.y;
        record[18] = seen.coldest.code;
        record[19] = seen.coldest.x;
        record[20] = seen.coldest.y;
        record[21] = counts.saturated;
        record[22] = in_use == IN_BLANK ? 0 : pixels - seen.valid;
        record[23] = counts.disputed;
        record[24] = counts.replaced;
        switch_after(&memory, &gain, codes, pixels);
        if (in_use != IN_BLANK)
            scale_after(&scale, &plan, &seen);
        if (as_digest) {
            out[digests++] = digest(codes, pixels, 2);
            out[digests++] = digest(greys, pixels, 2);
            out[digests++] = digest(bands, pixels, 1);
            out[digests++] = digest(words, pixels, 4);
            continue;
        }
        for (i = 0; i < pixels; i++, kept++) {
            planes[0][kept] = codes[i];
            planes[1][kept] = greys[i];
            planes[2][kept] = bands[i];
            planes[3][kept] = words[i];
        }
    }
    answer_list(records, 25 * frames);
    if (as_digest) {
        answer(digests);
        for (i = 0; i < digests; i++)
            printf("%lu ", (unsigned long)(uint32_t)out[i]);
        return;
    }
    for (k = 0; k < 4; k++)
        answer_list(planes[k], kept);
}

static void answer_line(const char *word) {
    if (!strcmp(word, "correct"))
        word_correct();
    else if (!strcmp(word, "temperature"))
        word_temperature();
    else if (!strcmp(word, "merge"))
        word_merge();
    else if (!strcmp(word, "switch"))
        word_switch();
    else if (!strcmp(word, "statistics"))
        word_statistics();
    else if (!strcmp(word, "bins"))
        word_bins();
    else if (!strcmp(word, "scale"))
        word_scale();
    else if (!strcmp(word, "bands"))
        word_bands();
    else if (!strcmp(word, "overlay"))
        word_overlay();
    else if (!strcmp(word, "pseudo"))
        word_pseudo();
    else if (!strcmp(word, "panel"))
        word_panel();
    else if (!strcmp(word, "pack"))
        word_pack();
    else if (!strcmp(word, "unpack"))
        word_unpack();
    else if (!strcmp(word, "pipeline"))
        word_pipeline(0);
    else if (!strcmp(word, "digest"))
        word_pipeline(1);
    else
        printf("unsupported");
}

int main(void) {
    char word[16];
    for (;;) {
        line_ended = broken = 0;
        next_word(word, sizeof word);
        if (word[0] == '\0' && feof(stdin))
            return 0;
        answer_line(word);
        if (broken)
            printf("error: this request cannot be read");
        while (!line_ended)
            (void)next_char();
        putchar('\n');
        fflush(stdout);
    }
}
