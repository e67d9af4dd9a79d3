#include "writer.h"

#include "bytes.h"
#include "crc32.h"
#include "decimal.h"

static void put_byte(Writer *writer, char byte)
{
    if (writer->count < sizeof writer->bytes) {
        writer->bytes[writer->count++] = byte;
    }
}

static void put(Writer *writer, const char *text, size_t length)
{
    for (size_t place = 0; place < length; place++) {
        put_byte(writer, text[place]);
    }
}

static void put_whole(Writer *writer, int64_t value)
{
    char back[20];
    size_t count = 0;
    uint64_t rest = value < 0 ? (uint64_t)0 - (uint64_t)value : (uint64_t)value;
    do {
        back[count++] = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest != 0);
    if (value < 0) {
        put_byte(writer, '-');
    }
    while (count > 0) {
        put_byte(writer, back[--count]);
    }
}

static void put_hex(Writer *writer, uint32_t value, int digits, const char *letters)
{
    for (int digit = digits - 1; digit >= 0; digit--) {
        put_byte(writer, letters[(value >> (4 * digit)) & 15]);
    }
}

static void put_name(Writer *writer, int field)
{
    const char *name = writer->message->fields[field].name;
    put_byte(writer, ' ');
    put(writer, name, text_length(name));
    put_byte(writer, '=');
}

void writer_begin(Writer *writer, uint16_t session, int message, uint32_t sequence, int64_t tick)
{
    writer->count = 0;
    writer->message = &MESSAGES[message];
    put(writer, WIRE_VERSION " ", sizeof WIRE_VERSION);
    put_hex(writer, session, 4, "0123456789abcdef");
    put_byte(writer, ' ');
    put(writer, writer->message->name, text_length(writer->message->name));
    put_byte(writer, ' ');
    put_whole(writer, sequence);
    put_byte(writer, ' ');
    put_whole(writer, tick);
}

void writer_float(Writer *writer, int field, double value)
{
    char text[DECIMAL_LONGEST];
    if (value == value) {
        put_name(writer, field);
        put(writer, text, decimal_write(value, text));
    }
}

void writer_whole(Writer *writer, int field, int64_t value)
{
    put_name(writer, field);
    put_whole(writer, value);
}

void writer_word(Writer *writer, int field, const char *word)
{
    put_name(writer, field);
    put(writer, word, text_length(word));
}

void writer_end(Writer *writer)
{
    uint32_t checksum = crc32_end(crc32_add(CRC32_START, writer->bytes, writer->count));
    put_byte(writer, '*');
    put_hex(writer, checksum, 8, "0123456789ABCDEF");
    put_byte(writer, '\n');
}
