#include "frames.h"

#include "bits.h"
#include "bytes.h"
#include "crc32.h"
#include "decimal.h"

enum { LONGEST_WORD = 40, CHECKSUM = 9 };

/* What is left to read of a line. */
typedef struct {
    const char *at;
    const char *end;
} Rest;

static bool digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

static bool take(Rest *rest, char wanted)
{
    if (rest->at == rest->end || *rest->at != wanted) {
        return false;
    }
    rest->at++;
    return true;
}

/* Up to `most` digits; gives how many there were. */
static int take_digits(Rest *rest, int most)
{
    int count = 0;
    while (count < most && rest->at < rest->end && digit(*rest->at)) {
        rest->at++;
        count++;
    }
    return count;
}

/* 0, or up to `most` digits of which the first is not 0, after a minus where there may be one. */
static bool take_whole(Rest *rest, int most, bool signed_too, int64_t *found)
{
    bool negative = signed_too && take(rest, '-');
    const char *from = rest->at;
    int count = take_digits(rest, most);
    if (count == 0 || (*from == '0' && (negative || count > 1))) {
        return false;
    }
    uint64_t value = 0;
    for (const char *at = from; at < rest->at; at++) {
        value = 10 * value + (uint64_t)(*at - '0');
    }
    if (value > (uint64_t)LARGEST_WHOLE) {
        return false;
    }
    *found = negative ? -(int64_t)value : (int64_t)value;
    return true;
}

/* So many hexadecimal digits; `ten` is the letter that stands for ten. */
static bool take_hex(Rest *rest, int count, char ten, uint32_t *found)
{
    uint32_t value = 0;
    for (; count > 0; count--) {
        if (rest->at == rest->end) {
            return false;
        }
        char byte = *rest->at++;
        if (digit(byte)) {
            value = (value << 4) | (uint32_t)(byte - '0');
        } else if (byte >= ten && byte < ten + 6) {
            value = (value << 4) | (uint32_t)(byte - ten + 10);
        } else {
            return false;
        }
    }
    *found = value;
    return true;
}

static bool is_number(Rest rest)
{
    (void)take(&rest, '-');
    if (take(&rest, 'i')) {
        return take(&rest, 'n') && take(&rest, 'f') && rest.at == rest.end;
    }
    if (take_digits(&rest, 20) == 0 || (take(&rest, '.') && take_digits(&rest, 20) == 0)) {
        return false;
    }
    if (take(&rest, 'e')) {
        (void)(take(&rest, '+') || take(&rest, '-'));
        if (take_digits(&rest, 3) == 0) {
            return false;
        }
    }
    return rest.at == rest.end;
}

static bool is_word(Rest rest)
{
    for (; rest.at < rest.end; rest.at++) {
        char byte = *rest.at;
        bool letter = (byte >= 'A' && byte <= 'Z') || (byte >= 'a' && byte <= 'z');
        if (!letter && !digit(byte) && byte != '.' && byte != '+' && byte != '-') {
            return false;
        }
    }
    return true;
}

static bool take_value(int kind, Rest text, Value *value)
{
    size_t length = (size_t)(text.end - text.at);
    if (length == 0 || length > LONGEST_WORD) {
        return false;
    }
    if (kind == KIND_FLOAT) {
        if (!is_number(text)) {
            return false;
        }
        value->number = decimal_read(text.at, length);
        return true;
    }
    if (kind == KIND_WORD) {
        value->word.text = text.at;
        value->word.length = length;
        return is_word(text);
    }
    return take_whole(&text, 19, true, &value->whole) && text.at == text.end
         && (kind != KIND_FLAG || value->whole == 0 || value->whole == 1);
}

static bool same(const char *text, size_t length, const char *name)
{
    return text_length(name) == length && same_bytes(text, name, length);
}

/* Place of a field by its name, looked for from `from` on, where the next one most likely is. */
static int place_of(const Message *message, const char *text, size_t length, int from)
{
    for (int step = 0; step < message->count; step++) {
        int place = (from + step) % message->count;
        if (same(text, length, message->fields[place].name)) {
            return place;
        }
    }
    return -1;
}

static bool take_fields(Rest *rest, const Message *message, Frame *frame)
{
    int place = -1;
    while (take(rest, ' ')) {
        const char *name = rest->at;
        while (rest->at < rest->end && *rest->at != '=') {
            rest->at++;
        }
        place = place_of(message, name, (size_t)(rest->at - name), place + 1);
        if (place < 0 || (frame->known & (UINT32_C(1) << place)) != 0 || !take(rest, '=')) {
            return false;
        }
        Rest text = {rest->at, rest->at};
        while (text.end < rest->end && *text.end != ' ') {
            text.end++;
        }
        if (!take_value(message->fields[place].kind, text, &frame->values[place])) {
            return false;
        }
        frame->known |= UINT32_C(1) << place;
        rest->at = text.end;
    }
    for (place = 0; place < message->count; place++) {
        if (message->fields[place].needed && (frame->known & (UINT32_C(1) << place)) == 0) {
            return false;
        }
    }
    return rest->at == rest->end;
}

static bool sound(const char *line, size_t length)
{
    uint32_t told;
    Rest rest = {line + length - CHECKSUM, line + length};
    return take(&rest, '*') && take_hex(&rest, 8, 'A', &told)
         && told == crc32_end(crc32_add(CRC32_START, line, length - CHECKSUM));
}

static bool take_message(Rest *rest, Frame *frame)
{
    const char *name = rest->at;
    while (rest->at < rest->end && *rest->at != ' ') {
        rest->at++;
    }
    for (int message = 0; message < MSG_COUNT; message++) {
        if (same(name, (size_t)(rest->at - name), MESSAGES[message].name)) {
            frame->message = (uint8_t)message;
            return true;
        }
    }
    return false;
}

bool frame_decode(const char *line, size_t length, Frame *frame)
{
    static const char FIRST[] = WIRE_VERSION " ";
    size_t first = sizeof FIRST - 1;
    if (length < first + CHECKSUM || !same_bytes(line, FIRST, first) || !sound(line, length)) {
        return false;
    }
    Rest rest = {line + first, line + length - CHECKSUM};
    uint32_t session;
    if (!take_hex(&rest, 4, 'a', &session) || !take(&rest, ' ') || !take_message(&rest, frame)
            || !take(&rest, ' ') || !take_whole(&rest, 10, false, &frame->sequence)
            || !take(&rest, ' ') || !take_whole(&rest, 10, true, &frame->tick)) {
        return false;
    }
    frame->session = (uint16_t)session;
    frame->known = 0;
    return take_fields(&rest, &MESSAGES[frame->message], frame);
}

double frame_number(const Frame *frame, int field)
{
    int kind = MESSAGES[frame->message].fields[field].kind;
    if ((frame->known & (UINT32_C(1) << field)) == 0 || kind == KIND_WORD) {
        return of_bits(NAN_BITS);
    }
    return kind == KIND_FLOAT ? frame->values[field].number : (double)frame->values[field].whole;
}

bool frame_is(const Frame *frame, int field, const char *word)
{
    return (frame->known & (UINT32_C(1) << field)) != 0
         && same(frame->values[field].word.text, frame->values[field].word.length, word);
}
