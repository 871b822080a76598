/* Draws a synthetic room with a hot disc, eight frames, row by row, as a panel would take them; prints
 * the last frame's record, and writes its picture as a PPM file.
 *
 *     cc -std=c99 -Icore/c/include core/c/examples/frame.c target/release/libglowsill_c.a -lpthread -ldl -lm
 *     ./a.out PROFILE.bin PICTURE.ppm
 *
 * PROFILE.bin comes from `glowsill profile pack`; "-" is no profile: the built-in one, struck out.
 * Simulation and teaching only; not a certification. */
#include <stdio.h>
#include <string.h>

#include "glowsill.h"

#define WIDTH 160
#define HEIGHT 120
#define PIXELS (WIDTH * HEIGHT)
#define FRAMES 8

/* Everything the display needs; on a microcontroller all of it is in the linker's map. */
static glowsill_storage storage;
static uint8_t memory[PIXELS];
static uint16_t scratch[6 * WIDTH];
static glowsill_tables tables; /* 128 KiB, and a pixel costs a fraction; leave them out where RAM is short */
static glowsill_calibration high_table, low_table;
static uint16_t high_gain[PIXELS], low_gain[PIXELS];
static int16_t high_offset[PIXELS], low_offset[PIXELS];

static uint16_t picture[PIXELS];
static uint8_t profile[512];

static uint32_t seed = 1;

static uint32_t noise(uint32_t below) {
    seed = seed * 1664525u + 1013904223u;
    return (seed >> 16) % below;
}

/* 14-bit counts over 230 K to 430 K (high) and 230 K to 1030 K (low): 1/80 K and 1/20 K a count. */
static void calibrate(glowsill_calibration *table, unsigned codes_per_knot_x10) {
    unsigned i;
    for (i = 0; i < GLOWSILL_KNOTS; i++)
        table->knots[i] = (uint16_t)(230 * 32 + i * codes_per_knot_x10 / 10);
    table->shift = 6;
    table->saturation = 16000;
}

static uint16_t counts(unsigned x, unsigned y, unsigned per_kelvin) {
    long dx = (long)x - 100, dy = (long)y - 60;
    /* Hundredths of a kelvin: a wall at 22 degrees C that warms to the right, a disc at 330 degrees C. */
    long scene = dx * dx + dy * dy < 26 * 26 ? 60300 + 100 * dx : 29500 + 3 * (long)x;
    long above = (scene - 23000) * (long)per_kelvin / 100 + (long)noise(4);
    return (uint16_t)(above > 16383 ? 16383 : above);
}

static int failed(const char *call, glowsill_status status) {
    fprintf(stderr, "frame: %s: %s\n", call, glowsill_status_text(status));
    return 1;
}

static size_t read_profile(const char *path) {
    FILE *file = fopen(path, "rb");
    size_t length;
    if (!file)
        return 0;
    length = fread(profile, 1, sizeof profile, file);
    fclose(file);
    return length;
}

static int write_picture(const char *path) {
    FILE *file = fopen(path, "wb");
    unsigned i;
    if (!file)
        return 0;
    fprintf(file, "P6\n%d %d\n255\n", WIDTH, HEIGHT);
    for (i = 0; i < PIXELS; i++) {
        unsigned word = picture[i], r = word >> 11, g = word >> 5 & 63, b = word & 31;
        fputc((int)((r * 255 + 15) / 31), file);
        fputc((int)((g * 255 + 31) / 63), file);
        fputc((int)((b * 255 + 15) / 31), file);
    }
    return fclose(file) == 0;
}

static void print_spot(const char *name, glowsill_spot spot) {
    int32_t c = glowsill_millicelsius(spot.temperature), f = glowsill_millifahrenheit(spot.temperature);
    printf("%s %u at %u,%u: %ld.%01ld C, %ld.%01ld F\n", name, (unsigned)spot.temperature, (unsigned)spot.x,
           (unsigned)spot.y, (long)(c / 1000), (long)(c % 1000 / 100), (long)(f / 1000),
           (long)(f % 1000 / 100));
}

static void print_record(const glowsill_record *r) {
    unsigned i;
    printf("frame %lu gain %u struck %u\n", (unsigned long)r->frame, (unsigned)r->gain, (unsigned)r->is_struck);
    printf("scale %u %u\n", (unsigned)r->scale_low, (unsigned)r->scale_high);
    printf("pixels %lu valid %lu from_low %lu coloured %lu\n", (unsigned long)r->pixels,
           (unsigned long)r->valid, (unsigned long)r->from_low, (unsigned long)r->coloured);
    printf("in_band");
    for (i = 0; i < 7; i++)
        printf(" %lu", (unsigned long)r->in_band[i]);
    printf("\nsaturated %lu invalid %lu disputed %lu replaced %lu\n", (unsigned long)r->saturated,
           (unsigned long)r->invalid, (unsigned long)r->disputed, (unsigned long)r->replaced);
    print_spot("hottest", r->hottest);
    print_spot("coldest", r->coldest);
    printf("health %u", (unsigned)r->health);
    for (i = 0; i < glowsill_cause_count(); i++)
        if (r->health >> i & 1u)
            printf(", %s", glowsill_cause_name(i));
    printf("\n");
}

int main(int argc, char **argv) {
    glowsill_config config;
    glowsill_record record;
    glowsill_status status;
    unsigned frame, x, y, i;
    if (argc != 3) {
        fprintf(stderr, "use: frame PROFILE.bin PICTURE.ppm; \"-\" is the built-in profile\n");
        return 2;
    }
    if (glowsill_version() != GLOWSILL_VERSION || glowsill_storage_bytes() > sizeof storage ||
        glowsill_tables_bytes() > sizeof tables) {
        fprintf(stderr, "frame: header and library are of different releases; compile both anew\n");
        return 2;
    }
    calibrate(&high_table, 255);  /* 25.5 codes a knot of 64 counts */
    calibrate(&low_table, 1025);  /* 102.5 */
    for (i = 0; i < PIXELS; i++) {
        high_gain[i] = (uint16_t)(16300 + noise(200));
        high_offset[i] = (int16_t)((int)noise(9) - 4);
        low_gain[i] = (uint16_t)(16340 + noise(90));
        low_offset[i] = (int16_t)((int)noise(5) - 2);
    }
    memset(&config, 0, sizeof config);
    config.width = WIDTH;
    config.height = HEIGHT;
    config.high = &high_table;
    config.low = &low_table;
    config.high_correction.gain_q14 = high_gain;
    config.high_correction.offset = high_offset;
    config.high_correction.len = PIXELS;
    config.low_correction.gain_q14 = low_gain;
    config.low_correction.offset = low_offset;
    config.low_correction.len = PIXELS;
    status = glowsill_correction_crc32(&config.high_correction, &config.high_correction.crc32);
    if (status < 0)
        return failed("check sum", status);
    config.high_correction.has_crc32 = 1;
    config.memory = memory;
    config.memory_len = sizeof memory;
    config.scratch = scratch;
    config.scratch_len = glowsill_scratch_words(WIDTH, HEIGHT);
    config.tables = &tables;
    config.tables_bytes = sizeof tables;
    if (strcmp(argv[1], "-") != 0) {
        config.profile = profile;
        config.profile_len = read_profile(argv[1]);
    }
    status = glowsill_init(&storage, sizeof storage, &config);
    if (status < 0)
        return failed("init", status);
    if (status == GLOWSILL_STATUS_PROFILE_REPLACED)
        printf("built-in profile: %s\n", glowsill_status_text(glowsill_profile_problem(&storage)));
    for (frame = 0; frame < FRAMES; frame++) {
        status = glowsill_begin_frame(&storage);
        if (status != GLOWSILL_STATUS_OK)
            return failed("begin", status);
        for (y = 0; y < HEIGHT; y++) {
            uint16_t high[WIDTH], low[WIDTH];
            for (x = 0; x < WIDTH; x++) {
                high[x] = counts(x, y, 80);
                low[x] = counts(x, y, 20);
            }
            status = glowsill_row_rgb565(&storage, high, WIDTH, low, WIDTH, picture + y * WIDTH, WIDTH);
            if (status != GLOWSILL_STATUS_OK)
                return failed("row", status);
        }
        status = glowsill_end_frame(&storage, &record);
        if (status != GLOWSILL_STATUS_OK)
            return failed("end", status);
    }
    print_record(&record);
    if (!write_picture(argv[2])) {
        fprintf(stderr, "frame: '%s' cannot be written; check the path\n", argv[2]);
        return 1;
    }
    return 0;
}
