"""A real server on a free port, in a thread of its own, and a client that says anything."""

from __future__ import annotations

import contextlib
import http.client
import io
import json
import socket
import threading
import time

from coilward.controller.types import Requests
from coilward.desk.live.buttons import Buttons
from coilward.desk.live.serving import Listening, server
from coilward.desk.live.source import MemorySource
from coilward.desk.live.watching import Watching
from tests.controller.rig import Rig
from tests.live.scenes import place, tick_of


class Bench:
    """A rig whose ticks are shown by a server."""

    def __init__(self, port, pipe):
        self.port, self.pipe = port, pipe
        self.source = MemorySource(place(), "a bench for tests")
        self.rig = Rig()
        self.number = 0
        self.running = None
        self._lock = threading.Lock()

    @contextlib.contextmanager
    def going_on(self):
        """Ticks come at the pace of the wall clock, until the end of the block."""
        stop = threading.Event()

        def beat():
            while not stop.wait(0.25):
                self.tick()

        beating = threading.Thread(target=beat, daemon=True)
        beating.start()
        try:
            yield
        finally:
            stop.set()
            beating.join()

    @property
    def host(self):
        return f"127.0.0.1:{self.port}"

    @property
    def url(self):
        return f"http://{self.host}"

    def tick(self, seconds=0.25, requests=None):
        """Let time pass at the board."""
        for _ in range(max(1, round(seconds / 0.25))):
            with self._lock:
                self.rig.tick(requests or Requests())
                self.source.put(tick_of(self.rig, self.number, requests))
                self.number += 1

    def ask(self, method="GET", path="/", body=None, headers=None, **more):
        """One request over a connection of its own: (status, headers, body)."""
        given = {"Host": self.host}
        if method == "POST":
            given["Origin"] = self.url
        given |= headers or {}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10, **more)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in given.items():
                if value is not None:
                    connection.putheader(name, value)
            if body is not None and "Content-Length" not in given:
                connection.putheader("Content-Length", str(len(body)))
            elif method == "POST" and "Content-Length" not in given:
                connection.putheader("Content-Length", "0")
            connection.endheaders(body)
            answer = connection.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read()
        finally:
            connection.close()

    def raw(self, data, wait_s=3.0):
        """Bytes as they are, and what comes back until the other end closes."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=wait_s) as wire:
            wire.sendall(data)
            answer = b""
            with contextlib.suppress(TimeoutError, ConnectionResetError):
                while more := wire.recv(65536):
                    answer += more
            return answer

    @contextlib.contextmanager
    def stream(self, headers=None):
        """What the stream tells, one snapshot after the other."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        connection.request("GET", "/stream", headers={"Host": self.host} | (headers or {}))
        answer = connection.getresponse()
        assert answer.status == 200, answer.status

        def told():
            while True:
                line = answer.readline()
                if not line:
                    return
                if line.startswith(b"data: "):
                    yield json.loads(line[6:])

        try:
            yield told()
        finally:
            connection.sock.close() if connection.sock else answer.close()


def free_port():
    with socket.socket() as trying:
        trying.bind(("127.0.0.1", 0))
        return trying.getsockname()[1]


@contextlib.contextmanager
def serving(token="", controlled=True):
    """A bench and its server, until the end of the block."""
    pipe = io.StringIO()
    bench = Bench(free_port(), pipe)
    buttons = Buttons(pipe) if controlled else Buttons(None, "No buttons: nobody controls.")
    where = Listening("127.0.0.1", bench.port, token)
    running = bench.running = server(Watching(bench.source, buttons), where)
    thread = threading.Thread(target=running.run, daemon=True)
    thread.start()
    until_s = time.monotonic() + 20
    while not running.started and time.monotonic() < until_s:
        time.sleep(0.01)
    try:
        yield bench
    finally:
        running.should_exit = True
        thread.join(10)
        assert not thread.is_alive()
