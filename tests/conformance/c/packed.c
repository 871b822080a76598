/* Section 10: the packed profile. */
#include <string.h>

#include "port.h"

uint32_t crc_start(void) {
#if DEFECT == 28
    return 0;
#else
    return 0xFFFFFFFFu;
#endif
}

uint32_t crc_byte(uint32_t crc, uint32_t byte) {
    int k;
    crc ^= byte & 255;
    for (k = 0; k < 8; k++)
        crc = (crc & 1) ? (crc >> 1) ^ 0xEDB88320u : crc >> 1;
    return crc;
}

uint32_t crc_end(uint32_t crc) {
    return crc ^ 0xFFFFFFFFu;
}

enum { NAME, GAIN, SCALE, COLOUR, OVERLAY };
enum { GOOD, CUT_OFF, NO_PROFILE, OTHER_VERSION, DAMAGED, NO_BODY };

/* Which fields behind a choice are one byte. */
static int gain_is_byte(int32_t choice, int32_t field) {
    return choice == WHOLE_FRAME && (field == 2 || field == 5 || field == 6);
}

static int scale_is_byte(int32_t field) {
    return field == 2 || field == 3 || field == 5;
}

static int32_t shares_of(int32_t law) {
    return law == PERCENTILE ? 2 : law == PLATEAU ? 4 : 0;
}

static int32_t *put(int32_t *at, int32_t n, int is_byte) {
    if (!is_byte) {
        while (n >= 128) {
            *at++ = n % 128 + 128;
            n /= 128;
        }
    }
    *at++ = n;
    return at;
}

int32_t pack(const lists_t *lists, int32_t *bytes) {
    const int32_t *from = lists->list[GAIN];
    int32_t *at = bytes + 7, i, n, length;
    uint32_t crc = crc_start();
    at = put(at, lists->length[NAME], 0);
    for (i = 0; i < lists->length[NAME]; i++)
        *at++ = lists->list[NAME][i];
    at = put(at, from[0], 0);
    for (i = 1; i < lists->length[GAIN]; i++)
        at = put(at, from[i], gain_is_byte(from[0], i - 1));
    from = lists->list[SCALE];
    at = put(at, from[0], 0);
    for (i = 0; i < shares_of(from[0]); i++)
        at = put(at, from[1 + i], 0);
    for (i = 0; i < 6; i++)
        at = put(at, from[5 + i], scale_is_byte(i));
    from = lists->list[COLOUR];
    at = put(at, from[0], 0);
    if (from[0] == 1) {
        int32_t hysteresis = from[1], bands = from[2];
        from += 3;
        at = put(at, bands, 0);
        for (i = 0; i < bands; i++, from += 5) {
            at = put(at, from[0], 0);
            for (n = 1; n < 5; n++)
                *at++ = from[n];
        }
        at = put(at, hysteresis, 0);
        for (i = 0; i < 2; i++) {
            *at++ = *from;
            if (*from++) {
                at = put(at, *from++, 0);
                for (n = 0; n < 3; n++)
                    *at++ = *from++;
            }
        }
    } else if (from[0] == 2) {
        at = put(at, from[1], 0);
        for (i = 0; i < 3 * from[1]; i++)
            *at++ = from[2 + i];
    }
    for (i = 0; i < lists->length[OVERLAY]; i++)
        *at++ = lists->list[OVERLAY][i];
    length = (int32_t)(at - bytes) - 7;
    memcpy(bytes, ((int32_t[]){'g', 's', 'i', 'l', 1}), 5 * sizeof *bytes);
    bytes[5] = length % 256;
    bytes[6] = length / 256;
    for (i = 0; i < 7 + length; i++)
        crc = crc_byte(crc, (uint32_t)bytes[i]);
    crc = crc_end(crc);
    for (i = 0; i < 4; i++)
        *at++ = (int32_t)((crc >> (8 * i)) & 255);
    return (int32_t)(at - bytes);
}

typedef struct {
    const int32_t *at, *end;
    int bad;
} body_t;

static int32_t take(body_t *body) {
    if (body->at == body->end) {
        body->bad = 1;
        return 0;
    }
    return *body->at++;
}

static int32_t take_varint(body_t *body) {
    int32_t n = 0, group;
    for (group = 0; group < 3; group++) {
        int32_t byte = take(body);
#if DEFECT == 29
        n = n * 128 + byte % 128;
#else
        n += (byte % 128) * ((int32_t)1 << (7 * group));
#endif
        if (byte < 128) {
            if (n > 65535)
                body->bad = 1;
            return n;
        }
    }
    body->bad = 1;
    return 0;
}

static int32_t take_choice(body_t *body, int32_t most) {
    int32_t choice = take_varint(body);
    if (choice > most) {
        body->bad = 1;
        return 0;
    }
    return choice;
}

static void add(lists_t *lists, int which, int32_t n) {
    lists->list[which][lists->length[which]++] = n;
}

static void take_colour(body_t *body, lists_t *lists) {
    int32_t kind = take_choice(body, 2), i, c, n;
    add(lists, COLOUR, kind);
    if (kind == 2) {
        n = take_choice(body, 12);
        add(lists, COLOUR, n);
        for (i = 0; i < 3 * n; i++)
            add(lists, COLOUR, take(body));
    } else if (kind == 1) {
        int32_t hysteresis_at = lists->length[COLOUR];
        add(lists, COLOUR, 0);
        n = take_choice(body, 6);
        add(lists, COLOUR, n);
        for (i = 0; i < n; i++) {
            add(lists, COLOUR, take_varint(body));
            for (c = 0; c < 3; c++)
                add(lists, COLOUR, take(body));
            add(lists, COLOUR, take_choice(body, 1));
        }
        lists->list[COLOUR][hysteresis_at] = take_varint(body);
        for (i = 0; i < 2; i++) {
            int32_t present = take_choice(body, 1);
            add(lists, COLOUR, present);
            if (!present)
                continue;
            add(lists, COLOUR, take_varint(body));
            for (c = 0; c < 3; c++)
                add(lists, COLOUR, take(body));
        }
    }
}

int32_t unpack(const int32_t *bytes, int32_t length, lists_t *lists) {
    static const int32_t mark[4] = {'g', 's', 'i', 'l'}, fields[4] = {3, 7, 0, 0};
    uint32_t crc = crc_start(), stored = 0;
    int32_t size, i, n;
    body_t body;
    memset(lists, 0, sizeof *lists);
    if (length < 7)
        return CUT_OFF;
    if (memcmp(bytes, mark, sizeof mark) != 0)
        return NO_PROFILE;
    if (bytes[4] != 1)
        return OTHER_VERSION;
    size = bytes[5] + 256 * bytes[6];
    if (length < 7 + size + 4)
        return CUT_OFF;
    for (i = 0; i < 7 + size; i++)
        crc = crc_byte(crc, (uint32_t)bytes[i]);
    for (i = 0; i < 4; i++)
        stored |= (uint32_t)bytes[7 + size + i] << (8 * i);
#if DEFECT != 30
    if (stored != crc_end(crc))
        return DAMAGED;
#endif
    body.at = bytes + 7;
    body.end = body.at + size;
    body.bad = 0;
    n = take_choice(&body, 32);
    for (i = 0; i < n; i++)
        add(lists, NAME, take(&body));
    n = take_choice(&body, 3);
    add(lists, GAIN, n);
    for (i = 0; i < fields[n]; i++)
        add(lists, GAIN, gain_is_byte(n, i) ? take(&body) : take_varint(&body));
    n = take_choice(&body, 3);
    add(lists, SCALE, n);
    for (i = 0; i < 4; i++)
        add(lists, SCALE, i < shares_of(n) ? take_varint(&body) : 0);
    for (i = 0; i < 6; i++)
        add(lists, SCALE, scale_is_byte(i) ? take(&body) : take_varint(&body));
    take_colour(&body, lists);
    n = take_choice(&body, 2);
    add(lists, OVERLAY, n);
    for (i = 0; i < n; i++)
        add(lists, OVERLAY, take(&body));
    if (body.bad) {
        memset(lists, 0, sizeof *lists);
        return NO_BODY;
    }
    return GOOD;
}
