/* The copying of memory, which a board's C library brings: by eight words while both stand on words. */
#include <stddef.h>
#include <stdint.h>

typedef struct __attribute__((may_alias)) {
    uint32_t word[8];
} Eight;

void *memcpy(void *restrict to, const void *restrict from, size_t size);

__attribute__((used, no_builtin("memcpy"))) void *memcpy(
    void *restrict to, const void *restrict from, size_t size)
{
    unsigned char *next = to;
    const unsigned char *source = from;
    if ((((uintptr_t)next | (uintptr_t)source) & 3U) == 0U) {
        for (; size >= sizeof(Eight); size -= sizeof(Eight)) {
            *(Eight *)(void *)next = *(const Eight *)(const void *)source;
            next += sizeof(Eight);
            source += sizeof(Eight);
        }
    }
    for (; size > 0U; size--) {
        *next = *source;
        next++;
        source++;
    }
    return to;
}
