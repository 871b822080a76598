/* Display pipeline for fire-service thermal imagers: C interface of glowsill-core. C99 and later.
 *
 * Simulation and teaching only; not a certification. Apparent temperature is not true temperature.
 *
 * Generated from core/c/src by core/c/tests/header.rs; do not edit. docs/c-interface.md explains it.
 *
 * Calls for one storage must not run at the same time; different storages know nothing of each other.
 * No function keeps a pointer but glowsill_init, which keeps those to corrections, defects, memory,
 * scratch and tables. Every function returns; none allocates. */

#ifndef GLOWSILL_H
#define GLOWSILL_H

#include <stddef.h>
#include <stdint.h>

// Version of this interface: raised when a program must be compiled anew.
#define GLOWSILL_VERSION 2

// Bytes that hold a display on every machine; `glowsill_storage_bytes()` says how many this one uses.
#define GLOWSILL_STORAGE_BYTES 65536

// Alignment of the storage and of count tables, bytes.
#define GLOWSILL_STORAGE_ALIGN 8

// Bytes that hold count tables on every machine; `glowsill_tables_bytes()` says how many this one uses.
#define GLOWSILL_TABLES_BYTES 131328

// Knots of a calibration.
#define GLOWSILL_KNOTS 257

// Causes that the health bits name.
#define GLOWSILL_CAUSE_COUNT 12

// Gain state: both, pixel by pixel.
#define GLOWSILL_GAIN_PER_PIXEL 0

// Gain state: high alone.
#define GLOWSILL_GAIN_HIGH 1

// Gain state: low alone.
#define GLOWSILL_GAIN_LOW 2

// Gain state: none, the picture is black while the sensor switches.
#define GLOWSILL_GAIN_BLANK 3

// The sensor's frame number stood still.
#define GLOWSILL_HEALTH_STALE 1

// Every gain state gives the same samples frame after frame.
#define GLOWSILL_HEALTH_FROZEN 2

// A frame ended, or was left, before its last row.
#define GLOWSILL_HEALTH_DROPPED_ROWS 4

// High gain gives the same samples while low gain is alive.
#define GLOWSILL_HEALTH_HIGH_STUCK 8

// Low gain gives the same samples while high gain is alive.
#define GLOWSILL_HEALTH_LOW_STUCK 16

// The gain states disagree nearly everywhere.
#define GLOWSILL_HEALTH_GAINS_DISAGREE 32

// Nearly every pixel is at the top of what the sensor can read.
#define GLOWSILL_HEALTH_ALL_SATURATED 64

// A large share of the pixels has no valid sample.
#define GLOWSILL_HEALTH_NO_SAMPLES 128

// A large share of the samples lies at an end of the calibration.
#define GLOWSILL_HEALTH_OUTSIDE_CALIBRATION 256

// A correction table does not match its check sum.
#define GLOWSILL_HEALTH_CORRECTION_CORRUPT 512

// The stored profile was damaged; the built-in one is shown.
#define GLOWSILL_HEALTH_PROFILE_FALLBACK 1024

// More defective pixels than a picture can hide.
#define GLOWSILL_HEALTH_TOO_MANY_DEFECTS 2048

// How a call went: 0 as asked; positive: it works, but read why; negative: refused, nothing changed
// unless the function says so.
enum glowsill_status
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : int32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
  // As asked.
  GLOWSILL_STATUS_OK = 0,
  // The stored profile cannot be used; the built-in safe one is shown, struck out.
  GLOWSILL_STATUS_PROFILE_REPLACED = 1,
  // The frame before was left before its last row; its statistics are dropped, and the picture
  // that begins is struck out.
  GLOWSILL_STATUS_FRAME_ABANDONED = 2,
  // A pointer is null that must not be.
  GLOWSILL_STATUS_NULL_POINTER = -1,
  // A pointer is not aligned for its elements.
  GLOWSILL_STATUS_MISALIGNED = -2,
  // Two buffers overlap of which one is written.
  GLOWSILL_STATUS_OVERLAP = -3,
  // The storage is smaller than `glowsill_storage_bytes()`.
  GLOWSILL_STATUS_STORAGE_TOO_SMALL = -4,
  // The storage was never initialised, or was moved since.
  GLOWSILL_STATUS_NOT_READY = -5,
  // Width is outside 8 to 1280 or height outside 8 to 1024.
  GLOWSILL_STATUS_GEOMETRY = -6,
  // `memory_len` is not `glowsill_memory_bytes(width, height)`.
  GLOWSILL_STATUS_MEMORY_LENGTH = -7,
  // `scratch_len` is not `glowsill_scratch_words(width, height)`.
  GLOWSILL_STATUS_SCRATCH_LENGTH = -8,
  // `defects_len` is not width times height.
  GLOWSILL_STATUS_DEFECTS_LENGTH = -9,
  // The length of a correction is not width times height.
  GLOWSILL_STATUS_CORRECTION_LENGTH = -10,
  // The profile uses high gain, which has no calibration.
  GLOWSILL_STATUS_NO_HIGH_CALIBRATION = -11,
  // The profile uses low gain, which has no calibration.
  GLOWSILL_STATUS_NO_LOW_CALIBRATION = -12,
  // The shift of a calibration is outside 6 to 8.
  GLOWSILL_STATUS_CALIBRATION_SHIFT = -13,
  // The knots of a calibration fall.
  GLOWSILL_STATUS_CALIBRATION_FALLS = -14,
  // The saturation count of a calibration is 0 or beyond its table.
  GLOWSILL_STATUS_CALIBRATION_SATURATION = -15,
  // No frame has begun.
  GLOWSILL_STATUS_NO_FRAME = -16,
  // The frame already has all its rows: the next picture is struck out.
  GLOWSILL_STATUS_TOO_MANY_ROWS = -17,
  // The frame ended before its last row: its statistics are dropped, and the next picture is
  // struck out.
  GLOWSILL_STATUS_INCOMPLETE = -18,
  // A row or plane of samples has the wrong length.
  GLOWSILL_STATUS_SAMPLES_LENGTH = -19,
  // The output has the wrong length.
  GLOWSILL_STATUS_OUTPUT_LENGTH = -20,
  // High-gain samples are needed for this frame and were not given.
  GLOWSILL_STATUS_NO_HIGH_SAMPLES = -21,
  // Low-gain samples are needed for this frame and were not given.
  GLOWSILL_STATUS_NO_LOW_SAMPLES = -22,
  // Reason of `ProfileReplaced`: no profile was given.
  GLOWSILL_STATUS_PROFILE_MISSING = -23,
  // Reason of `ProfileReplaced`: the bytes are cut off.
  GLOWSILL_STATUS_PROFILE_TRUNCATED = -24,
  // Reason of `ProfileReplaced`: the bytes do not begin with the mark of a packed profile.
  GLOWSILL_STATUS_PROFILE_NOT_ONE = -25,
  // Reason of `ProfileReplaced`: written by another version.
  GLOWSILL_STATUS_PROFILE_VERSION = -26,
  // Reason of `ProfileReplaced`: the check sum does not match.
  GLOWSILL_STATUS_PROFILE_DAMAGED = -27,
  // Reason of `ProfileReplaced`: the body is no profile.
  GLOWSILL_STATUS_PROFILE_BODY = -28,
  // Reason of `ProfileReplaced`: a field is outside its limits.
  GLOWSILL_STATUS_PROFILE_FIELD = -29,
  // An error of a newer core that this interface has no name for.
  GLOWSILL_STATUS_OTHER = -30,
  // `tables_bytes` is less than `glowsill_tables_bytes()`.
  GLOWSILL_STATUS_TABLES_TOO_SMALL = -31,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum glowsill_status glowsill_status;
#else
typedef int32_t glowsill_status;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

// From when on something is wrong with a picture; see docs/pipeline.md, section 11.
typedef struct {
  // Difference of the gain states that counts as disagreement, 1/32 K.
  uint16_t disagree_k32;
  // Share of disagreeing samples, thousandths; above 1000 is never.
  uint16_t disagree_permille;
  // Share of saturated pixels, thousandths; above 1000 is never.
  uint16_t saturated_permille;
  // Share of pixels without a valid sample, thousandths; above 1000 is never.
  uint16_t missing_permille;
  // Share of samples at an end of the calibration, thousandths; above 1000 is never.
  uint16_t outside_permille;
  // Share of defective pixels, thousandths; above 1000 is never.
  uint16_t defect_permille;
  // Frames with equal samples after which a state counts as stuck; 0 is never.
  uint8_t still_frames;
  // Frames that a condition must hold, and be absent.
  uint8_t hold_frames;
  // Rows of the correction tables checked a frame; 0 is none.
  uint8_t table_rows;
} glowsill_health_limits;

// Per-pixel correction of one gain state; all 0 if there is none. Read in place: it must stay where
// it is, unchanged, as long as the display is used.
typedef struct {
  // Gain of each pixel, 1/16384.
  const uint16_t *gain_q14;
  // Offset of each pixel, counts.
  const int16_t *offset;
  // Pixels: width times height.
  size_t len;
  // Check sum as it was stored, `glowsill_correction_crc32`.
  uint32_t crc32;
  // 0: the check sum is not watched.
  uint8_t has_crc32;
} glowsill_correction;

// Where a display lives. All bytes 0 before `glowsill_init` (as of a static object); never moved or
// copied after it.
typedef union {
  // Only for the alignment.
  uint64_t align;
  // The bytes.
  uint8_t bytes[GLOWSILL_STORAGE_BYTES];
} glowsill_storage;

// Calibration of one gain state; copied by `glowsill_init`.
typedef struct {
  // Apparent temperature at count i * 2^shift, code of 1/32 K; must not fall.
  uint16_t knots[GLOWSILL_KNOTS];
  // Raw count from which a sample only means "at least": 1 to the last count of the table.
  uint16_t saturation;
  // 6, 7 or 8: counts of 14, 15 or 16 bits.
  uint8_t shift;
} glowsill_calibration;

// Count tables: with them a pixel of a 14-bit sensor costs a fraction of what it costs without, and
// not a pixel changes. Sensors of 15 or 16 bits do not use them. What is in them before `glowsill_init`
// does not matter; only one display may have them at a time.
typedef union {
  // Only for the alignment.
  uint64_t align;
  // The bytes.
  uint8_t bytes[GLOWSILL_TABLES_BYTES];
} glowsill_tables;

// What a display is built from. Profile, calibrations and limits are copied; corrections, defects,
// memory, scratch and count tables are used in place and must outlive the display.
typedef struct {
  // Columns, 8 to 1280.
  uint16_t width;
  // Rows, 8 to 1024.
  uint16_t height;
  // Packed profile, made by `glowsill profile pack`.
  const uint8_t *profile;
  // Bytes of the profile.
  size_t profile_len;
  // Calibration of the sensitive state, or NULL.
  const glowsill_calibration *high;
  // Calibration of the wide-range state, or NULL.
  const glowsill_calibration *low;
  // Correction of the sensitive state.
  glowsill_correction high_correction;
  // Correction of the wide-range state.
  glowsill_correction low_correction;
  // Defect map, one byte a pixel, 0 is sound; or NULL.
  const uint8_t *defects;
  // Bytes of the defect map.
  size_t defects_len;
  // Memory of the bands; the display writes it.
  uint8_t *memory;
  // Bytes of it: `glowsill_memory_bytes(width, height)`.
  size_t memory_len;
  // Rows to work on; the display writes them.
  uint16_t *scratch;
  // Words of it: `glowsill_scratch_words(width, height)`.
  size_t scratch_len;
  // Limits of health, or NULL for the default ones.
  const glowsill_health_limits *health;
  // Count tables, or NULL to do without; the display writes them.
  glowsill_tables *tables;
  // Bytes of them: at least `glowsill_tables_bytes()`, such as `sizeof(glowsill_tables)`; 0 with NULL.
  size_t tables_bytes;
} glowsill_config;

// A place in the picture; temperature 0 if there is none.
typedef struct {
  // Apparent temperature, code of 1/32 K.
  uint16_t temperature;
  // Column.
  uint16_t x;
  // Row.
  uint16_t y;
} glowsill_spot;

// What the display used and saw for one frame.
typedef struct {
  // Number of the frame since `glowsill_init` or `glowsill_reset`, from 0.
  uint32_t frame;
  // Pixels of the frame.
  uint32_t pixels;
  // Pixels with a temperature.
  uint32_t valid;
  // Pixels taken mostly or wholly from low gain.
  uint32_t from_low;
  // Pixels with colour over them.
  uint32_t coloured;
  // Pixels in each band; entry 6 is the ceiling.
  uint32_t in_band[7];
  // Pixels at or above the top of every gain state in use.
  uint32_t saturated;
  // Pixels with no valid sample, drawn as a checker.
  uint32_t invalid;
  // Pixels whose gain states disagree; the hotter is shown.
  uint32_t disputed;
  // Defective pixels that took their neighbours' mean.
  uint32_t replaced;
  // Temperature of black in the linear part of the scale, code of 1/32 K.
  uint16_t scale_low;
  // Temperature of white in the linear part of the scale, code of 1/32 K.
  uint16_t scale_high;
  // Hottest valid pixel, first in row order.
  glowsill_spot hottest;
  // Coldest valid pixel, first in row order.
  glowsill_spot coldest;
  // What is wrong, a bit a cause; 0 is good. The next picture is struck out if it is not 0.
  uint16_t health;
  // One of GLOWSILL_GAIN_PER_PIXEL, _HIGH, _LOW, _BLANK.
  uint8_t gain;
  // 1 if this picture is struck out.
  uint8_t is_struck;
} glowsill_record;

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

// Version of the library's interface; a program compares it with `GLOWSILL_VERSION`.
uint32_t glowsill_version(void);

// Bytes of storage that a display takes on this machine, at most `GLOWSILL_STORAGE_BYTES`.
size_t glowsill_storage_bytes(void);

// Bytes that count tables take on this machine, at most `GLOWSILL_TABLES_BYTES`.
size_t glowsill_tables_bytes(void);

// Alignment of the storage and of count tables, bytes.
size_t glowsill_storage_align(void);

// Bytes of `memory` that a size of picture needs; 0 if there is no such size.
size_t glowsill_memory_bytes(uint16_t width, uint16_t height);

// 16-bit words of `scratch` that a size of picture needs; 0 if there is no such size.
size_t glowsill_scratch_words(uint16_t width, uint16_t height);

// Limits of health that a display in use should run with.
glowsill_health_limits glowsill_health_default(void);

// Limits that watch only rows, frame numbers and the profile: for sources without noise.
glowsill_health_limits glowsill_health_off(void);

// Check sum of a correction, to be stored with it: CRC-32 over each pixel's gain and offset.
//
// # Safety
// Pointers that are not null must lead to buffers of the lengths given.
glowsill_status glowsill_correction_crc32(const glowsill_correction *table, uint32_t *crc32);

// Causes that the health bits name: bit 0 to this less 1.
uint32_t glowsill_cause_count(void);

// Name of the cause of a health bit, such as "frozen" of bit 1; never NULL.
const char *glowsill_cause_name(uint32_t bit);

// What a status means and what to do; never NULL.
const char *glowsill_status_text(int32_t status);

// A code of 1/32 K in thousandths of a degree Celsius.
int32_t glowsill_millicelsius(uint16_t code);

// A code of 1/32 K in thousandths of a degree Fahrenheit, rounded to the nearest.
int32_t glowsill_millifahrenheit(uint16_t code);

// Builds a display in a storage of `storage_bytes` bytes.
//
// Gives 0, or `GLOWSILL_STATUS_PROFILE_REPLACED` when the built-in profile is shown. After a
// negative status the storage holds no display. A storage may be initialised again at any time.
//
// # Safety
// Pointers that are not null must lead to buffers of the lengths given; corrections, defects, memory,
// scratch and tables must stay as long as the display is used, and only the display may write the last three.
glowsill_status glowsill_init(glowsill_storage *storage, size_t storage_bytes, const glowsill_config *config);

// Why the built-in profile is shown: 0, or one of the `GLOWSILL_STATUS_PROFILE_...`.
//
// # Safety
// A storage that is not null must be all 0 or last written by this interface.
glowsill_status glowsill_profile_problem(glowsill_storage *storage);

// Forgets everything but the configuration: the next frame is the first one. An open frame is dropped.
//
// # Safety
// As `glowsill_profile_problem`.
glowsill_status glowsill_reset(glowsill_storage *storage);

// Begins a frame. `GLOWSILL_STATUS_FRAME_ABANDONED` if the one before was not ended.
//
// # Safety
// As `glowsill_profile_problem`.
glowsill_status glowsill_begin_frame(glowsill_storage *storage);

// Begins a frame of a sensor that numbers its frames: an equal number is `GLOWSILL_HEALTH_STALE`.
//
// # Safety
// As `glowsill_profile_problem`.
glowsill_status glowsill_begin_numbered_frame(glowsill_storage *storage, uint32_t number);

// Ends the frame: decides the next one's scale and gain state, and writes the record (may be NULL).
//
// `GLOWSILL_STATUS_INCOMPLETE` when rows are missing: the frame is over, the record not written.
//
// # Safety
// As `glowsill_profile_problem`; a record that is not null must be writable.
glowsill_status glowsill_end_frame(glowsill_storage *storage, glowsill_record *record);

// Takes the next row of samples and draws it in 5-6-5 bits, `out_len` words.
//
// A state that the profile does not use may be NULL with length 0. Nothing may overlap `out`.
//
// # Safety
// A storage that is not null must be all 0 or last written by this interface; other pointers that
// are not null must lead to buffers of the lengths given.
glowsill_status glowsill_row_rgb565(glowsill_storage *storage,
                                    const uint16_t *high,
                                    size_t high_len,
                                    const uint16_t *low,
                                    size_t low_len,
                                    uint16_t *out,
                                    size_t out_len);

// As `glowsill_row_rgb565`, with the 4x4 ordered dither.
//
// # Safety
// A storage that is not null must be all 0 or last written by this interface; other pointers that
// are not null must lead to buffers of the lengths given.
glowsill_status glowsill_row_rgb565_dithered(glowsill_storage *storage,
                                             const uint16_t *high,
                                             size_t high_len,
                                             const uint16_t *low,
                                             size_t low_len,
                                             uint16_t *out,
                                             size_t out_len);

// As `glowsill_row_rgb565`, in red, green and blue bytes: `out_bytes` is three times the width.
//
// # Safety
// A storage that is not null must be all 0 or last written by this interface; other pointers that
// are not null must lead to buffers of the lengths given.
glowsill_status glowsill_row_rgb888(glowsill_storage *storage,
                                    const uint16_t *high,
                                    size_t high_len,
                                    const uint16_t *low,
                                    size_t low_len,
                                    uint8_t *out,
                                    size_t out_bytes);

// Draws a whole frame in 5-6-5 bits: `glowsill_begin_frame`, every row, `glowsill_end_frame`.
//
// Planes are in row order, width times height elements. `record` may be NULL.
//
// # Safety
// A storage that is not null must be all 0 or last written by this interface; other pointers that
// are not null must lead to buffers of the lengths given; a record that is not null must be writable.
glowsill_status glowsill_frame_rgb565(glowsill_storage *storage,
                                      const uint16_t *high,
                                      size_t high_len,
                                      const uint16_t *low,
                                      size_t low_len,
                                      uint16_t *out,
                                      size_t out_len,
                                      glowsill_record *record);

// As `glowsill_frame_rgb565`, with the 4x4 ordered dither.
//
// # Safety
// A storage that is not null must be all 0 or last written by this interface; other pointers that
// are not null must lead to buffers of the lengths given; a record that is not null must be writable.
glowsill_status glowsill_frame_rgb565_dithered(glowsill_storage *storage,
                                               const uint16_t *high,
                                               size_t high_len,
                                               const uint16_t *low,
                                               size_t low_len,
                                               uint16_t *out,
                                               size_t out_len,
                                               glowsill_record *record);

// As `glowsill_frame_rgb565`, in red, green and blue bytes: `out_bytes` is three times the pixels.
//
// # Safety
// A storage that is not null must be all 0 or last written by this interface; other pointers that
// are not null must lead to buffers of the lengths given; a record that is not null must be writable.
glowsill_status glowsill_frame_rgb888(glowsill_storage *storage,
                                      const uint16_t *high,
                                      size_t high_len,
                                      const uint16_t *low,
                                      size_t low_len,
                                      uint8_t *out,
                                      size_t out_bytes,
                                      glowsill_record *record);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

/* Layouts that the library was built with. */
#define GLOWSILL_STATIC_ASSERT(name, holds) typedef char glowsill_assert_##name[(holds) ? 1 : -1]
typedef struct {
  char one;
  glowsill_storage storage;
} glowsill_alignment_probe;
typedef struct {
  char one;
  glowsill_tables tables;
} glowsill_tables_probe;
GLOWSILL_STATIC_ASSERT(storage_size, sizeof(glowsill_storage) == GLOWSILL_STORAGE_BYTES);
GLOWSILL_STATIC_ASSERT(storage_align, offsetof(glowsill_alignment_probe, storage) == GLOWSILL_STORAGE_ALIGN);
GLOWSILL_STATIC_ASSERT(tables_size, sizeof(glowsill_tables) == GLOWSILL_TABLES_BYTES);
GLOWSILL_STATIC_ASSERT(tables_align, offsetof(glowsill_tables_probe, tables) == GLOWSILL_STORAGE_ALIGN);
GLOWSILL_STATIC_ASSERT(record_size, sizeof(glowsill_record) == 84);
GLOWSILL_STATIC_ASSERT(spot_size, sizeof(glowsill_spot) == 6);
GLOWSILL_STATIC_ASSERT(health_size, sizeof(glowsill_health_limits) == 16);
GLOWSILL_STATIC_ASSERT(calibration_size, sizeof(glowsill_calibration) == 518);
GLOWSILL_STATIC_ASSERT(config_size, sizeof(glowsill_config) == (sizeof(void *) == 8 ? 176 : 96));
GLOWSILL_STATIC_ASSERT(record_health, offsetof(glowsill_record, health) == 80);

#endif /* GLOWSILL_H */
