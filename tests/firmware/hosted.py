"""The wire's C sources as a library of this machine."""

from __future__ import annotations

import ctypes
import subprocess
import sys
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from coilward.hil import firmware
from coilward.hil.firmware.writing import longest_sent
from coilward.hil.frames import Frame
from coilward.hil.messages import LONGEST, MESSAGES

SOURCES = Path(firmware.__file__).parent
WIRE = ("big", "crc32", "decimal_read", "decimal_write", "frames", "lines", "messages", "writer")
FLAGS = ("-std=c99", "-Wall", "-Wextra", "-Wconversion", "-Werror", "-ffp-contract=off", "-O2")
ZIG = (sys.executable, "-m", "ziglang", "cc")
MOST_FIELDS = max(len(message.fields) for message in MESSAGES.values())
NAMES = tuple(MESSAGES)


def compiled(compiler, *arguments):
    """Compile; whatever the compiler has to say fails the test."""
    done = subprocess.run(
        [*compiler, *FLAGS, *arguments], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert not done.stderr, done.stderr


@cache
def library():
    """The line protocol, compiled once a process."""
    out = Path(mkdtemp()) / "wire.so"
    sources = [str(SOURCES / f"{name}.c") for name in WIRE]
    compiled(ZIG, "-shared", "-fPIC", *sources, "-o", str(out))
    lib = ctypes.CDLL(str(out))
    lib.decimal_read.restype = ctypes.c_double
    lib.decimal_read.argtypes = [ctypes.c_char_p, ctypes.c_size_t]
    lib.decimal_write.restype = ctypes.c_size_t
    lib.decimal_write.argtypes = [ctypes.c_double, ctypes.c_char_p]
    lib.frame_decode.restype = ctypes.c_bool
    lib.frame_decode.argtypes = [ctypes.c_char_p, ctypes.c_size_t, ctypes.POINTER(CFrame)]
    lib.lines_take.restype = ctypes.c_bool
    lib.lines_take.argtypes = [ctypes.POINTER(CLines), ctypes.c_char, ctypes.POINTER(CFrame)]
    lib.writer_begin.argtypes = [
        ctypes.POINTER(CWriter), ctypes.c_uint16, ctypes.c_int, ctypes.c_uint32, ctypes.c_int64,
    ]
    lib.writer_float.argtypes = [ctypes.POINTER(CWriter), ctypes.c_int, ctypes.c_double]
    lib.writer_whole.argtypes = [ctypes.POINTER(CWriter), ctypes.c_int, ctypes.c_int64]
    lib.writer_word.argtypes = [ctypes.POINTER(CWriter), ctypes.c_int, ctypes.c_char_p]
    lib.writer_end.argtypes = [ctypes.POINTER(CWriter)]
    return lib


class CWord(ctypes.Structure):
    _fields_ = [("text", ctypes.c_void_p), ("length", ctypes.c_size_t)]


class CValue(ctypes.Union):
    _fields_ = [("number", ctypes.c_double), ("whole", ctypes.c_int64), ("word", CWord)]


class CFrame(ctypes.Structure):
    _fields_ = [
        ("session", ctypes.c_uint16), ("message", ctypes.c_uint8), ("sequence", ctypes.c_int64),
        ("tick", ctypes.c_int64), ("known", ctypes.c_uint32), ("values", CValue * MOST_FIELDS),
    ]

    def told(self) -> Frame:
        """As Python has it."""
        name = NAMES[self.message]
        values = {}
        for place, field in enumerate(MESSAGES[name].fields):
            if self.known >> place & 1:
                value = self.values[place]
                if field.kind == "word":
                    word = ctypes.string_at(value.word.text, value.word.length)
                    values[field.name] = word.decode()
                else:
                    values[field.name] = value.number if field.kind == "float" else value.whole
        return Frame(self.session, name, self.sequence, self.tick, values)


class CLines(ctypes.Structure):
    _fields_ = [
        ("bytes", ctypes.c_char * LONGEST), ("count", ctypes.c_size_t), ("good", ctypes.c_uint32),
        ("bad", ctypes.c_uint32),
    ]


class CWriter(ctypes.Structure):
    _fields_ = [
        ("bytes", ctypes.c_char * longest_sent()), ("count", ctypes.c_size_t),
        ("message", ctypes.c_void_p),
    ]


def read(text: str) -> float:
    """A decimal number as the C reads it."""
    return library().decimal_read(text.encode(), len(text))


def write(value: float) -> str:
    """A double as the C writes it."""
    text = ctypes.create_string_buffer(25)
    size = library().decimal_write(value, text)
    return text.raw[:size].decode()


def decoded(line: bytes) -> Frame | None:
    """A line as the C understands it."""
    frame = CFrame()
    return frame.told() if library().frame_decode(line, len(line), frame) else None


def encoded(session, name, sequence, tick, values) -> bytes:
    """A line as the C writes it; only those that a logic sends have room."""
    lib, writer = library(), CWriter()
    places = {field.name: place for place, field in enumerate(MESSAGES[name].fields)}
    lib.writer_begin(writer, session, NAMES.index(name), sequence, tick)
    for key, value in values.items():
        kind = MESSAGES[name].by_name[key].kind
        if kind == "word":
            lib.writer_word(writer, places[key], value.encode())
        elif kind == "float":
            lib.writer_float(writer, places[key], value)
        else:
            lib.writer_whole(writer, places[key], value)
    lib.writer_end(writer)
    return bytes(writer.bytes[: writer.count])
