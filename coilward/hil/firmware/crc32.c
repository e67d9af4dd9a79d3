#include "crc32.h"

/* Of every half byte: 64 bytes of flash instead of a kilobyte. */
static const uint32_t NIBBLES[16] = {
    0x00000000, 0x1DB71064, 0x3B6E20C8, 0x26D930AC, 0x76DC4190, 0x6B6B51F4, 0x4DB26158, 0x5005713C,
    0xEDB88320, 0xF00F9344, 0xD6D6A3E8, 0xCB61B38C, 0x9B64C2B0, 0x86D3D2D4, 0xA00AE278, 0xBDBDF21C,
};

uint32_t crc32_add(uint32_t crc, const void *bytes, size_t size)
{
    const uint8_t *byte = bytes;
    for (size_t place = 0; place < size; place++) {
        crc ^= byte[place];
        crc = NIBBLES[crc & 15] ^ (crc >> 4);
        crc = NIBBLES[crc & 15] ^ (crc >> 4);
    }
    return crc;
}

uint32_t crc32_end(uint32_t crc)
{
    return ~crc;
}
