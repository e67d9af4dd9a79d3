#include "lines.h"

static bool end_line(Lines *lines, Frame *frame)
{
    size_t length = lines->count;
    lines->count = 0;
    while (length > 0 && lines->bytes[length - 1] == '\r') {
        length--;
    }
    if (length == 0) {
        return false;
    }
    bool understood = frame_decode(lines->bytes, length, frame);
    lines->good += understood ? 1 : 0;
    lines->bad += understood ? 0 : 1;
    return understood;
}

bool lines_take(Lines *lines, char byte, Frame *frame)
{
    if (byte == '\n') {
        return end_line(lines, frame);
    }
    if (lines->count == LONGEST_LINE) {
        lines->count = 0;
        lines->bad++;
        return false;
    }
    lines->bytes[lines->count++] = byte;
    return false;
}
