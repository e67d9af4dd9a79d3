#ifndef CRC32_H
#define CRC32_H

#include <stddef.h>
#include <stdint.h>

/* CRC-32 (IEEE 802.3, reflected). Begin with CRC32_START, add bytes, end with crc32_end. */
#define CRC32_START UINT32_C(0xFFFFFFFF)

uint32_t crc32_add(uint32_t crc, const void *bytes, size_t size);
uint32_t crc32_end(uint32_t crc);

#endif
