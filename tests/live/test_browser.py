"""The page in a real Chromium: what it shows, who can use it, and that nothing leaves."""

from __future__ import annotations

import re
from urllib.parse import urlparse

import pytest

from coilward.desk.live.serving import Listening
from tests.live.browser import DESK, PHONE, chromium, needs_browser, opened, said, until
from tests.live.server import serving

pytestmark = needs_browser


@pytest.fixture(scope="module")
def browser():
    with chromium() as made:
        yield made


@pytest.fixture
def bench():
    with serving() as made:
        made.tick(120.0)
        with made.going_on():
            yield made


def text(page, selector):
    return page.locator(selector).first.inner_text()


def test_it_shows_what_the_rules_say(browser, bench):
    with opened(browser, bench) as seen:
        page = seen.page
        assert "Running well." in text(page, "#sentence-text")
        assert text(page, "#tone") == "RUNNING WELL"
        assert "Yes" in text(page, "#wood .word")
        assert "No" in text(page, "#bed .word")
        assert page.locator("#margins article").count() == 3
        outlet = page.locator('svg.lying [data-reading="outlet_a"]')
        assert re.fullmatch(r"coil outlet A60\.[01] °C✓ fresh", outlet.text_content())
        assert "fans" in page.locator('[data-output="fans"]').first.text_content()
        assert seen.complaints == []


def test_a_trip_takes_the_whole_page(browser, bench):
    with opened(browser, bench) as seen:
        page = seen.page
        bench.rig.stop_water()
        bench.tick(4.0)
        said(page, "GET BACK. The water stands.")
        assert page.locator("html").get_attribute("data-tone") == "back"
        first = page.locator("#alarm-list li").first
        assert "this began it at 0:0" in first.inner_text()
        assert "Machine:" in first.inner_text()
        assert "You:" in first.inner_text()
        assert "not known" in text(page, "#margins article .value")
        bench.tick(60.0)
        said(page, "Coil may be dry and red hot")
        assert "suppressed" in text(page, "#quiet-alarms summary")
        assert page.title().startswith("GET BACK: GET BACK. Coil may be dry")


def test_no_request_leaves_the_machine(browser, bench):
    with opened(browser, bench) as seen:
        seen.page.locator('[data-view="hour"]').click()
        seen.page.locator('[data-ask="silence"]').click()
        said(seen.page, "asked to be quiet", "#said")
        hosts = {urlparse(each).netloc for each in seen.requests if not each.startswith("data:")}
        assert hosts == {bench.host}
        assert len(seen.requests) > 8
        assert seen.complaints == []
    assert bench.pipe.getvalue() == "silence\n"


def test_a_script_that_came_from_elsewhere_would_not_run(browser, bench):
    """The policy is in force: what the page itself did not bring is refused by the browser."""
    with opened(browser, bench) as seen:
        tried = """() => new Promise((done) => {
          document.addEventListener("securitypolicyviolation", (e) => done(e.effectiveDirective));
          const script = document.createElement("script");
          script.textContent = "window.ran = true";
          document.body.append(script);
          setTimeout(() => done("nothing"), 2000);
        })"""
        assert seen.page.evaluate(tried).startswith("script-src")
        assert seen.page.evaluate("window.ran === undefined")


def test_it_says_within_two_seconds_that_it_is_stale(browser):
    with serving() as bench:
        bench.tick(120.0)
        with opened(browser, bench) as seen:
            page = seen.page
            said(page, "The board has said nothing", "#stale")
            assert page.locator("#stale strong").bounding_box()["height"] >= 44
            assert "stale" in page.locator('svg.lying [data-reading="tank"]').text_content()
            bench.tick(1.0)
            until(page, "document.getElementById('stale').hidden")


def test_a_stream_that_breaks_is_seen_by_the_page_itself(browser, bench):
    with opened(browser, bench) as seen:
        page = seen.page
        page.evaluate(WHEN_STALE)
        bench.running.should_exit = True
        until(page, "window.stopped !== null")
        assert page.evaluate("window.stopped") < 2500


WHEN_STALE = """() => {
  window.stopped = null;
  document.addEventListener("told", () => { window.since = performance.now(); });
  const box = document.getElementById("stale");
  new MutationObserver(() => {
    if (!box.hidden && window.stopped === null) window.stopped = performance.now() - window.since;
  }).observe(box, { attributes: true });
}"""


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_the_sentence_can_be_read_from_afar(browser, bench, size):
    with opened(browser, bench, size=size) as seen:
        px = seen.page.evaluate(
            "parseFloat(getComputedStyle(document.getElementById('sentence-text')).fontSize)"
        )
        assert px >= max(30, 0.05 * size["width"] - 0.01)
        wide = seen.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size["width"]
        shown = "svg.standing" if size == PHONE else "svg.lying"
        assert seen.page.locator(shown).is_visible()


def luminance(colour):
    parts = [int(each) / 255 for each in re.findall(r"\d+", colour)[:3]]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("look", ["dark", "light"])
@pytest.mark.parametrize("tone", ["well", "rest", "care", "act", "back"])
def test_the_sentence_has_the_contrast_of_large_print_many_times(browser, bench, look, tone):
    """WCAG 2.2, 1.4.6: 7 to 1, for any size of type (ratio as in its definition)."""
    with opened(browser, bench, look=look) as seen:
        pairs = seen.page.evaluate(
            """(tone) => {
              document.documentElement.dataset.tone = tone;
              const ground = getComputedStyle(document.getElementById("sentence")).backgroundColor;
              return ["sentence-text", "tone", "shape"].map((id) =>
                [getComputedStyle(document.getElementById(id)).color, ground]);
            }""",
            tone,
        )
        for ink, ground in pairs:
            low, high = sorted([luminance(ink), luminance(ground)])
            assert (high + 0.05) / (low + 0.05) >= 7.0, (ink, ground)


@pytest.mark.parametrize("look", ["dark", "light"])
@pytest.mark.parametrize("trouble", [False, True])
def test_a_checker_for_accessibility_finds_nothing_serious(browser, bench, look, trouble):
    from axe_playwright_python.sync_playwright import Axe

    with opened(browser, bench, look=look) as seen:
        if trouble:
            bench.rig.stop_water()
            bench.tick(60.0)
            said(seen.page, "Coil may be dry")
        found = Axe().run(seen.page).response
        grave = [
            (each["id"], each["impact"], [node["html"][:120] for node in each["nodes"]])
            for each in found["violations"] if each["impact"] in ("serious", "critical")
        ]  # fmt: skip
        assert grave == []
        assert len(found["passes"]) > 15


def test_it_can_be_used_with_the_keyboard_alone(browser, bench):
    with opened(browser, bench) as seen:
        page, reached = seen.page, []
        for _ in range(30):
            page.keyboard.press("Tab")
            reached.append(page.evaluate(
                "document.activeElement.dataset.view || document.activeElement.dataset.ask || ''"
            ))  # fmt: skip
        for name in ("earlier", "closer", "night", "now", "silence", "horn", "finish"):
            assert name in reached
        page.locator('[data-ask="finish"]').focus()
        page.keyboard.press("Enter")
        said(page, "last load", "#said")
        page.locator('[data-view="closer"]').focus()
        page.keyboard.press("Space")
        until(page, "document.getElementById('span').textContent.length > 0")
    assert bench.pipe.getvalue() == "finish\n"


def test_what_changes_is_told_to_a_screen_reader(browser, bench):
    with opened(browser, bench) as seen:
        page = seen.page
        assert page.locator("#sentence-text").get_attribute("aria-live") == "assertive"
        assert page.locator("#alarm-list").get_attribute("aria-live") == "polite"
        assert page.locator("#said").get_attribute("role") == "status"
        assert page.locator("#stale").get_attribute("role") == "alert"
        tree = page.locator("body").aria_snapshot()
        for words in ("May I add wood?", "Running well.", "Test the horn", "coil outlet A"):
            assert words in tree


def test_zoom_pan_and_follow(browser, bench):
    with opened(browser, bench) as seen:
        page = seen.page
        spans = [text(page, "#span")]
        for name in ("closer", "earlier", "wider", "night"):
            page.locator(f'[data-view="{name}"]').click()
            until(page, "(was) => document.getElementById('span').textContent !== was", spans[-1])
            spans.append(text(page, "#span"))
        assert page.locator('[data-view="now"]').get_attribute("aria-pressed") == "true"
        page.evaluate("document.getElementById('strips').scrollIntoView()")
        box = page.locator("#strips").bounding_box()
        page.mouse.move(box["x"] + 400, box["y"] + 120)
        page.mouse.down()
        page.mouse.move(box["x"] + 560, box["y"] + 120, steps=4)
        page.mouse.up()
        until(page, "document.querySelector('[data-view=now]').ariaPressed === 'false'")
        page.locator('[data-view="now"]').click()
        assert page.locator('[data-view="now"]').get_attribute("aria-pressed") == "true"


def test_who_wants_no_motion_gets_none(browser, bench):
    with opened(browser, bench, reduced_motion="reduce") as seen:
        moving = seen.page.evaluate(
            "getComputedStyle(document.querySelector('.water')).animationName"
        )
        assert moving == "none"


def test_with_a_token_it_is_a_form_and_then_the_page(browser):
    token = "correct-horse-battery-staple-42"
    with serving(token=token) as bench:
        bench.tick(120.0)
        context = browser.new_context()
        page = context.new_page()
        page.goto(bench.url)
        assert page.url.endswith("/enter")
        page.fill("#token", token)
        page.keyboard.press("Enter")
        page.wait_for_url(f"{bench.url}/")
        said(page, "Running well.")
        assert token not in page.url
        assert page.evaluate("document.cookie") == ""
        context.close()
    assert Listening("127.0.0.1", 8420, token).url == "http://127.0.0.1:8420/"
