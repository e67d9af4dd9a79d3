"""A real Chromium on the page, driven from the tests; absent where there is none."""

from __future__ import annotations

import contextlib
import shutil
import time

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("google-chrome")
needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="needs a browser")
DESK = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}


class Seen:
    """What a page did beside what it showed."""

    def __init__(self, page):
        self.page, self.requests, self.complaints = page, [], []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", self._said)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _said(self, message):
        if message.type == "error" or "Content Security Policy" in message.text:
            self.complaints.append(message.text)


def until(page, script, argument=None, within_s=10.0):
    """Ask the page again and again: its policy lets no script wait in it on our behalf."""
    until_s = time.monotonic() + within_s
    while not (answer := page.evaluate(script, argument)):
        assert time.monotonic() < until_s, script
        page.wait_for_timeout(20)
    return answer


def said(page, words, selector="#sentence-text"):
    """Wait for words in a part of the page."""
    until(
        page,
        "([where, words]) => (document.querySelector(where)?.innerText || '').includes(words)",
        [selector, words],
    )


@contextlib.contextmanager
def chromium():
    """One browser."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()


@contextlib.contextmanager
def opened(browser, bench, *, size=DESK, look="dark", wait="Running well", **more):
    """The page of a bench, with its first words said and its charts drawn."""
    context = browser.new_context(viewport=size, color_scheme=look, **more)
    page = context.new_page()
    seen = Seen(page)
    page.add_init_script(
        "window.draws = []; document.addEventListener('drawn', (e) => draws.push(e.detail));"
    )
    page.goto(bench.url)
    said(page, wait)
    until(page, "draws.length > 0")
    try:
        yield seen
    finally:
        context.close()
