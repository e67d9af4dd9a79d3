"""A hostile client: nothing that it sends moves or leaks anything, and others are still told."""

from __future__ import annotations

import contextlib
import json
import socket
import subprocess
import sys
import time

import pytest

from coilward.desk.live import guard, serving
from coilward.desk.live.guard import COOKIE, Bucket, Sessions
from coilward.loop.errors import InputRefused
from tests.live.server import serving as served

TOKEN = "correct-horse-battery-staple-42"


@pytest.fixture(scope="module")
def bench():
    with served() as made:
        made.tick(5.0)
        yield made
        assert made.pipe.getvalue() == "", "something moved"


@pytest.mark.parametrize("host", [
    "evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1:1", "127.0.0.1.evil.example:8420",
    "", "[::1]:8420", None,
])  # fmt: skip
def test_a_forged_host_is_turned_away(bench, host):
    for method, path in (("GET", "/"), ("GET", "/stream"), ("POST", "/ask/finish")):
        assert bench.ask(method, path, headers={"Host": host})[0] in (400, 421)


def test_two_hosts_are_turned_away(bench):
    answer = bench.raw(
        f"GET / HTTP/1.1\r\nHost: {bench.host}\r\nHost: evil.example\r\n\r\n".encode()
    )
    assert answer.split()[1] in (b"400", b"421")


@pytest.mark.parametrize("origin", [
    "http://evil.example", "null", "https://{host}", "http://{host}.evil.example", "http://localhost",
    "", "http://{host}/", None,
])  # fmt: skip
def test_a_forged_or_missing_origin_asks_for_nothing(bench, origin):
    said = origin.format(host=bench.host) if origin else origin
    assert bench.ask("POST", "/ask/silence", headers={"Origin": said})[0] == 403


def test_a_foreign_page_may_not_even_read(bench):
    assert bench.ask(path="/stream", headers={"Origin": "http://evil.example"})[0] == 403
    cross = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}
    assert bench.ask(path="/history?from=0&to=1", headers=cross)[0] == 403
    assert bench.ask(headers=cross | {"Sec-Fetch-Mode": "navigate"})[0] == 200
    assert "access-control-allow-origin" not in bench.ask()[1]


@pytest.mark.parametrize("method", [
    "PUT", "DELETE", "OPTIONS", "TRACE", "PATCH", "CONNECT", "BREW",
])  # fmt: skip
def test_other_methods_are_not_here(bench, method):
    assert bench.ask(method, "/ask/silence")[0] in (400, 405)


@pytest.mark.parametrize("path", [
    "/ask/reset", "/ask/emergency", "/ask/declare_out", "/ask/hand_pump", "/ask/prepare",
    "/ask/lit", "/ask/key", "/ask/", "/ask/silence/now", "/ask/Silence", "/ask/silence%0Areset",
    "/reset",
])  # fmt: skip
def test_nothing_toward_the_unsafe_side_has_an_address(bench, path):
    assert bench.ask("POST", path)[0] in (404, 405, 429)


@pytest.mark.parametrize(("headers", "body"), [
    ({"Content-Length": "100000000"}, b""), ({"Content-Length": str(guard.LONGEST_BODY + 1)},
                                             b"x" * (guard.LONGEST_BODY + 1)),
    ({"Content-Length": "-1"}, b""), ({"Content-Length": "1e3"}, b""),
    ({"Content-Length": "\u0661".encode().decode("latin-1")}, b""),
])  # fmt: skip
def test_a_body_that_is_too_large_or_lies_about_it_is_not_read(bench, headers, body):
    assert bench.ask("POST", "/ask/silence", body=body, headers=headers)[0] in (400, 413)


def test_a_body_in_endless_pieces_is_cut_off(bench):
    head = (
        f"POST /ask/silence HTTP/1.1\r\nHost: {bench.host}\r\nOrigin: {bench.url}\r\n"
        "Transfer-Encoding: chunked\r\n\r\n"
    )
    pieces = b"100\r\n" + b"x" * 256 + b"\r\n" + b"1000\r\n" + b"y" * 4096
    answer = bench.raw(head.encode() + pieces)
    assert answer.split()[1] in (b"413", b"429")


@pytest.mark.parametrize("data", [
    b"\x00\xff\xfe garbage\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n", b"GET /\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost\r\n\r\n", b"GET / HTTP/1.1\r\n" + b"A: b\r\n" * 5000 + b"\r\n",
    b"POST /ask/silence HTTP/1.1\r\nHost: x\r\nContent-Length: 3\r\nContent-Length: 5\r\n\r\nabc",
    b"POST /ask/silence HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
    b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
])  # fmt: skip
def test_what_is_no_request_is_refused_and_the_server_lives(bench, data):
    answer = bench.raw(data, wait_s=7.0)
    assert answer == b"" or answer.split()[1] in (b"400", b"403", b"421", b"431", b"505")
    assert bench.ask()[0] == 200


def test_a_long_address_is_refused(bench):
    assert bench.ask(path="/" + "a" * 300)[0] == 414
    assert bench.ask(path="/history?from=" + "1" * 300)[0] == 414


def test_who_asks_for_nothing_is_cut(bench):
    began_s = time.monotonic()
    assert bench.raw(b"GET / HT", wait_s=serving.ASKS_S + 3) == b""
    assert time.monotonic() - began_s < serving.ASKS_S + 2


def test_who_does_not_send_its_body_is_told_so(bench):
    head = (
        f"POST /ask/horn HTTP/1.1\r\nHost: {bench.host}\r\nOrigin: {bench.url}\r\n"
        "Content-Length: 9\r\n\r\nsil"
    )
    time.sleep(1.0)
    answer = bench.raw(head.encode(), wait_s=guard.BODY_S + 3)
    assert answer.split()[1] in (b"408", b"429")


FLOOD = """
import http.client, json, sys, time
host, lasts_s = sys.argv[1], float(sys.argv[2])
wire, statuses, began_s = http.client.HTTPConnection(host), [], time.monotonic()
paths = ("/", "/history?from=0&to=9", "/page.js", "/nothing")
while time.monotonic() - began_s < lasts_s:
    due_s = began_s + len(statuses) / 250
    time.sleep(max(0.0, due_s - time.monotonic()))
    try:
        wire.request("GET", paths[len(statuses) % 4])
        answer = wire.getresponse()
        answer.read()
        statuses.append(answer.status)
    except (OSError, http.client.HTTPException):
        wire.close()
print(json.dumps(statuses))
"""
"""250 requests a second from a process of its own, for as long as it is told."""


def test_two_hundred_requests_a_second_are_too_many_and_the_others_are_still_told():
    lasts_s = 6.0
    with served() as bench:
        bench.tick(5.0)
        with bench.stream() as heard:
            next(heard)
            flood = subprocess.Popen(
                [sys.executable, "-c", FLOOD, bench.host, str(lasts_s)], stdout=subprocess.PIPE
            )
            gaps_s, was_s = [], time.monotonic()
            while flood.poll() is None:
                bench.tick()
                told = next(heard)
                gaps_s.append(time.monotonic() - was_s)
                was_s = time.monotonic()
                assert "sentence" in told
        statuses = json.loads(flood.communicate()[0])
        assert len(statuses) > 100 * lasts_s
        assert set(statuses) == {200, 404, 429}
        assert len(statuses) - statuses.count(429) <= 240 + 60 * (lasts_s + 1)
        assert max(gaps_s) < 1.5
        assert bench.pipe.getvalue() == ""


def test_presses_are_rare():
    with served() as bench:
        bench.tick()
        statuses = [bench.ask("POST", "/ask/silence")[0] for _ in range(20)]
        assert statuses.count(429) >= 12
        assert bench.pipe.getvalue().count("silence\n") == statuses.count(200) <= 8


def test_a_slow_reader_is_dropped_and_costs_no_memory(monkeypatch):
    monkeypatch.setattr(serving, "STUCK_S", 1.0)
    with served() as bench:
        bench.tick(5.0)
        with socket.socket() as wire:
            wire.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            wire.connect(("127.0.0.1", bench.port))
            library = next(
                line for line in bench.ask()[2].decode().split('"') if line.startswith("/bokeh")
            )
            wire.sendall(f"GET {library} HTTP/1.1\r\nHost: {bench.host}\r\n\r\n".encode())
            time.sleep(2.5)
            wire.settimeout(5.0)
            read = 0
            with contextlib.suppress(ConnectionResetError):
                while more := wire.recv(65536):
                    read += len(more)
        assert 0 < read < 600_000


def test_the_token_opens_and_nothing_else_does():
    with served(token=TOKEN) as bench:
        bench.tick(5.0)
        for path in ("/stream", "/history?from=0&to=1", "/strips?look=dark", "/page.js"):
            assert bench.ask(path=path)[0] == 401
        assert bench.ask("POST", "/ask/silence")[0] == 401
        status, headers, _ = bench.ask()
        assert (status, headers["location"]) == (303, "/enter")
        assert bench.ask(path="/enter")[0] == 200
        assert bench.ask(path=f"/?token={TOKEN}")[0] == 303
        assert bench.ask(headers={"Cookie": f"{COOKIE}={TOKEN}"})[0] == 303
        assert bench.ask("POST", "/enter", body=b"token=wrong")[0] == 403
        assert bench.ask("POST", "/enter", body=b"\xff\xfe")[0] == 400
        status, headers, _ = bench.ask("POST", "/enter", body=f"token={TOKEN}".encode())
        assert status == 303
        cookie = headers["set-cookie"]
        assert "HttpOnly" in cookie
        assert "samesite=strict" in cookie.lower()
        assert TOKEN not in str(headers)
        name = cookie.split(";")[0]
        assert bench.ask(headers={"Cookie": name})[0] == 200
        with bench.stream({"Cookie": name}) as heard:
            assert next(each for each in heard if "sentence" in each)
        assert bench.pipe.getvalue() == ""
        assert bench.ask("POST", "/ask/horn", headers={"Cookie": name})[0] == 200


def test_the_token_can_not_be_guessed_by_trying():
    with served(token=TOKEN) as bench:
        bench.tick()
        statuses = [bench.ask("POST", "/enter", body=b"token=a")[0] for _ in range(10)]
        assert statuses.count(403) == 5
        assert statuses.count(429) == 5


def test_nothing_is_written_about_who_asks(capfd):
    with served(token=TOKEN) as bench:
        bench.tick()
        bench.ask("POST", "/enter", body=f"token={TOKEN}".encode())
        bench.ask(path=f"/?token={TOKEN}")
        bench.raw(b"GARBAGE\r\n\r\n")
    said = capfd.readouterr()
    assert TOKEN not in said.out + said.err
    assert "GET" not in said.out + said.err


def test_sessions_end_and_are_few():
    now_s = [0.0]
    sessions = Sessions(TOKEN, lambda: now_s[0])
    first = sessions.enter(TOKEN)
    assert sessions.enter(TOKEN + "x") is None
    assert sessions.knows(first)
    now_s[0] = guard.SESSION_S + 1.0
    assert not sessions.knows(first)
    many = [sessions.enter(TOKEN) for _ in range(guard.SESSIONS + 1)]
    assert not sessions.knows(many[0])
    assert sessions.knows(many[-1])
    assert not sessions.knows("")
    assert Sessions("").knows("")
    assert Sessions("").enter("") is None


def test_a_bucket_fills_again():
    bucket = Bucket(per_s=2.0, most=3.0)
    assert [bucket.take(0.0) for _ in range(4)] == [True, True, True, False]
    assert bucket.take(0.5)
    assert not bucket.take(0.6)


@pytest.mark.parametrize(("address", "token", "problem"), [
    ("192.168.1.20", None, "asks for a token"), ("0.0.0.0", "file", "every address at once"),
    ("::", "file", "every address at once"), ("home.example", "file", "no address"),
    ("192.168.1.20", "missing", "can't be read"), ("192.168.1.20", "short", "no token"),
    ("192.168.1.20", "blank", "no token"), ("192.168.1.20", "open", "may read it"),
])  # fmt: skip
def test_listening_wider_takes_one_address_and_a_good_token(tmp_path, address, token, problem):
    blank = "two words that are long enough"
    texts = {"file": TOKEN, "short": "abc", "blank": blank, "open": TOKEN}
    for name, text in texts.items():
        (tmp_path / name).write_text(text)
        (tmp_path / name).chmod(0o644 if name == "open" else 0o600)
    with pytest.raises(InputRefused, match=problem):
        serving.listening(address, 8420, None if token is None else str(tmp_path / token))


def test_loopback_is_what_it_listens_on_by_itself(tmp_path):
    here = serving.listening(None, 8420, None)
    assert here.address == "127.0.0.1"
    assert here.hosts == {"127.0.0.1:8420", "localhost:8420"}
    (tmp_path / "token").write_text(TOKEN + "\n")
    (tmp_path / "token").chmod(0o600)
    wide = serving.listening("192.168.1.20", 8420, str(tmp_path / "token"))
    assert wide.hosts == {"192.168.1.20:8420"}
    assert wide.token == TOKEN
    assert serving.listening("::1", 80, None).hosts == {"[::1]:80", "[::1]"}
