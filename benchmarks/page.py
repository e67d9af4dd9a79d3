"""The live page in a real Chromium: drawing, updates, trips, memory, and a flood beside a control.

    python -m benchmarks.page [--hours 24]

Draws eight hours of fifteen signals; sends updates; trips with ten viewers, from the tick
to the frame on a screen; a simulated day, with the server's and the browser's memory
at six moments; and the lateness of a control's ticks while the page is asked 200 times a second.
The server is a process of its own, as it always is. Times are read from one clock: server, source
and browser run on this machine.
"""

from __future__ import annotations

import argparse
import json
import math
import multiprocessing
import os
import subprocess
import sys
import time
from multiprocessing.connection import Connection

import psutil

from coilward.controller.interlocks import INDEX, bit
from coilward.desk.live.buttons import Buttons
from coilward.desk.live.serving import Listening, server, step_back
from coilward.desk.live.watching import Watching
from tests.controller.rig import Rig
from tests.live.browser import chromium, until
from tests.live.scenes import place, tick_of
from tests.live.server import free_port
from tests.live.test_hostile import FLOOD

TICK_S = 0.25
TRIPS = 100
VIEWERS = 10
FLOODS = 3
"""One alone waits for each answer and so does not reach 200 a second on a busy machine."""


class FedSource:
    """Ticks that another process sends: (seconds to pass, whether a row counts)."""

    live, kind = False, "a benchmark"

    def __init__(self, orders: Connection):
        self.place, self._orders = place(), orders
        self._rig, self._number = Rig().settle(1.0), 0

    def new(self):
        while self._orders.poll():
            ticks, trips = self._orders.recv()
            for _ in range(ticks):
                yield self._tick(trips)
            self._orders.send(self._number)

    def _tick(self, trips):
        tick = tick_of(self._rig, self._number)
        time_s = self._number * TICK_S
        wave_k = 2.0 * math.sin(time_s / 300.0)
        readings = tick.readings._replace(
            time_s=time_s, tank_c=22.0 + wave_k, coil_outlet_a_c=60.0 + wave_k,
            flue_c=250.0 + 20.0 * wave_k, room_c=8.0 + 0.2 * wave_k,
        )
        mode = tick.state.mode._replace(first_out=INDEX["C33"] if trips else -1)
        state = tick.state._replace(raised=bit("C33") if trips else 0, mode=mode)
        self._number += 1
        return tick._replace(readings=readings, state=state)

    def over(self):
        return False


def serve(port, orders):
    """The server's process."""
    step_back()
    watching = Watching(FedSource(orders), Buttons(None, "a benchmark"))
    server(watching, Listening("127.0.0.1", port, "")).run()


class Feed:
    """The other end of a fed source."""

    def __init__(self):
        self.port = free_port()
        self._wire, theirs = multiprocessing.Pipe()
        self.process = multiprocessing.get_context("spawn").Process(
            target=serve, args=(self.port, theirs), daemon=True
        )
        self.process.start()
        self.send(4)

    def send(self, ticks, trips=False):
        """Ticks, and wait until they have been taken."""
        self._wire.send((ticks, trips))
        return self._wire.recv()

    @property
    def megabytes(self):
        return psutil.Process(self.process.pid).memory_info().rss / 1e6


WATCH_SCRIPT = """
window.draws = []; window.shown = [];
const keep = (list, one) => { list.push(one); if (list.length > 50) list.shift(); };
document.addEventListener("drawn", (e) => keep(draws, e.detail));
document.addEventListener("told", (e) => {
  const heard = performance.timeOrigin + performance.now();
  requestAnimationFrame(() => setTimeout(() => keep(shown,
    [e.detail.number, (e.detail.alarms || []).length, heard,
     performance.timeOrigin + performance.now()]), 0));
});
"""


def opened(browser, feed):
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.add_init_script(WATCH_SCRIPT)
    page.goto(f"http://127.0.0.1:{feed.port}/")
    until(page, "draws.length > 0", within_s=30)
    return page


def spread(values, unit="ms"):
    ordered = sorted(values)
    p99 = ordered[min(len(ordered) - 1, math.ceil(0.99 * len(ordered)) - 1)]
    middle = ordered[len(ordered) // 2]
    return f"median {middle:.0f}, p99 {p99:.0f}, worst {ordered[-1]:.0f} {unit} of {len(ordered)}"


def drawing(browser, feed):
    """Eight hours at once: from asking for the data to the frame that shows it."""
    feed.send(8 * 3600 * 4)
    page = opened(browser, feed)
    times = []
    for _ in range(20):
        page.evaluate("draws.length = 0; document.querySelector('[data-view=night]').click()")
        times.append(until(page, "draws.length ? draws[0].ms : 0"))
        page.wait_for_timeout(100)
    first = page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd")
    print(f"8 h of 15 signals, asked for, thinned, sent and drawn: {spread(times)}")
    print(f"page with its scripts loaded: {first:.0f} ms")
    page.context.close()


def updating(browser, feed):
    """One tick: from the source to the frame that shows it, charts redrawn meanwhile."""
    page = opened(browser, feed)
    times = []
    for _ in range(80):
        began_ms = 1e3 * time.time()
        number = feed.send(1) - 1
        drawn_ms = until(page, f"shown.filter((s) => s[0] >= {number}).map((s) => s[3])[0] || 0")
        times.append(drawn_ms - began_ms)
        page.wait_for_timeout(170 + 7 * (len(times) % 13))
    print(f"an update, tick to screen: {spread(times)}")
    page.context.close()


READERS = """
import http.client, sys, threading, time
def read(host):
    wire = http.client.HTTPConnection(host)
    wire.request("GET", "/stream")
    answer = wire.getresponse()
    while answer.readline():
        pass
def ask(host):
    while True:
        wire = http.client.HTTPConnection(host)
        wire.request("GET", "/history?from=0&to=28800")
        wire.getresponse().read()
        time.sleep(2.0)
for part in (read, ask) * int(sys.argv[2]):
    threading.Thread(target=part, args=(sys.argv[1],), daemon=True).start()
sys.stdin.read()
"""
"""Viewers without a screen, in a process of their own: they read the stream and ask for the night
every two seconds, as a page does."""


def tripping(browser, feed):
    """A row that begins to count, on the screen of one of ten viewers.

    The other nine have no screen: ten browsers on this machine would measure the machine.
    """
    others = subprocess.Popen(
        [sys.executable, "-c", READERS, f"127.0.0.1:{feed.port}", str(VIEWERS - 1)],
        stdin=subprocess.PIPE,
    )
    page = opened(browser, feed)
    page.wait_for_timeout(2000)
    times = []
    for _ in range(TRIPS):
        page.evaluate("shown.length = 0")
        began_ms = 1e3 * time.time()
        feed.send(1, trips=True)
        seen_ms = until(page, "shown.filter((s) => s[1] > 0).map((s) => s[3])[0] || 0")
        times.append(seen_ms - began_ms)
        feed.send(1)
        page.wait_for_timeout(300 + 11 * (len(times) % 17))
    print(f"trip to screen with {VIEWERS} viewers: {spread(times)}")
    others.kill()
    others.wait()
    page.context.close()


def remembering(browser, feed, hours):
    """A simulated day, as fast as it goes, with one viewer that follows."""
    page = opened(browser, feed)
    wire = page.context.new_cdp_session(page)
    print(f"{hours} h, server's memory in MB and the browser's heap after collecting:")
    for part in range(7):
        for _ in range(60 if part else 0):
            feed.send(round(hours * 3600 * 4 / 6 / 60))
            page.wait_for_timeout(50)
        page.wait_for_timeout(1500)
        wire.send("HeapProfiler.collectGarbage")
        heap = wire.send("Runtime.getHeapUsage")["usedSize"] / 1e6
        nodes = page.evaluate("document.getElementsByTagName('*').length")
        print(f"  after {part * hours / 6:4.0f} h: server {feed.megabytes:6.1f}, "
              f"browser {heap:5.1f}, {nodes} elements")
    page.context.close()


def flooding(feed):
    """Ticks of a control in this process, with and without 200 requests a second to the page."""
    quiet = lateness(20.0)
    floods = [
        subprocess.Popen(
            [sys.executable, "-c", FLOOD, f"127.0.0.1:{feed.port}", "20"], stdout=subprocess.PIPE
        )
        for _ in range(FLOODS)
    ]
    loud = lateness(20.0)
    statuses = [each for flood in floods for each in json.loads(flood.communicate()[0])]
    print(f"lateness of 0.25 s ticks alone: {spread(quiet)}")
    print(f"the same while the page is asked {len(statuses) / 20:.0f} times a second, "
          f"{statuses.count(429)} of them refused: {spread(loud)}")


def lateness(lasts_s):
    """Milliseconds that each tick of a rig came after its due time."""
    rig, late_ms, began_s = Rig(), [], time.monotonic()
    while (due_s := began_s + TICK_S * (len(late_ms) + 1)) < began_s + lasts_s:
        time.sleep(max(0.0, due_s - time.monotonic()))
        late_ms.append(1e3 * (time.monotonic() - due_s))
        rig.tick()
    return late_ms


def main():
    """Everything, one after the other."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=24.0)
    hours = parser.parse_args().hours
    print(f"{os.cpu_count()} processors; load before {os.getloadavg()[0]:.1f}")
    feed = Feed()
    with chromium() as browser:
        drawing(browser, feed)
        updating(browser, feed)
        tripping(browser, feed)
    flooding(feed)
    fresh = Feed()
    with chromium() as browser:
        remembering(browser, fresh, hours)


if __name__ == "__main__":
    main()
