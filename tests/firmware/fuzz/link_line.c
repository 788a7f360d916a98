#include "link_line.h"

uint16_t line_check(const uint8_t *bytes, int count)
{
    uint32_t crc = 0xFFFF;
    for (int bit = 0; bit < count * 8; bit++) {
        uint32_t next = (uint32_t)(bytes[bit / 8] >> (7 - bit % 8)) & 1u;
        crc = ((crc >> 15) ^ next) & 1u ? (crc << 1) ^ 0x1021u : crc << 1;
        crc &= 0xFFFF;
    }
    return (uint16_t)crc;
}

int line_stuff(const uint8_t *body, int count, uint8_t *stuffed)
{
    int code_at = 0;
    int length = 1;
    for (int i = 0; i < count; i++) {
        if (body[i] == 0) {
            stuffed[code_at] = (uint8_t)(length - code_at);
            code_at = length;
        } else {
            stuffed[length] = body[i];
        }
        length++;
    }
    stuffed[code_at] = (uint8_t)(length - code_at);
    stuffed[length++] = 0;
    return length;
}

int line_unstuff(const uint8_t *stuffed, int count, uint8_t *body)
{
    int length = 0;
    int i = 0;
    while (i < count) {
        int code = stuffed[i++];
        if (i + code - 1 > count) {
            return -1;
        }
        for (int left = code - 1; left > 0; left--) {
            body[length++] = stuffed[i++];
        }
        if (code != 255 && i < count) {
            body[length++] = 0;
        }
    }
    return length;
}

int line_is_whole(const uint8_t *body, int count)
{
    if (count < 5 || count > BODY_MOST) {
        return 0;
    }
    uint16_t check = line_check(body, count - 2);
    return body[count - 2] == (uint8_t)check && body[count - 1] == (uint8_t)(check >> 8);
}
