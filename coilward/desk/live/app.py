"""The few addresses of the page: what each answers, and nothing beside them."""

from __future__ import annotations

import asyncio
import contextlib
import math
from collections.abc import AsyncIterator
from functools import cache
from html import escape
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any, Final
from urllib.parse import parse_qs

import bokeh
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import Receive, Scope, Send

from coilward.desk.cautions import CAUTIONS
from coilward.desk.live.buttons import ACTS, WORDS, Act, Buttons
from coilward.desk.live.guard import COOKIE, Guard, Sessions
from coilward.desk.live.hub import Hub
from coilward.desk.live.picture import pictures
from coilward.desk.live.strips import LOOKS, legend, strips
from coilward.desk.live.watching import Watching
from coilward.loop.document import loop_id

KINDS: Final = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}
FILES: Final = ("page.css", "page.js", "charts.js", "styles.js", "icon.svg")
CHARTS_FILE: Final = "bokeh.min.js"
FRESH: Final = {"Cache-Control": "no-store"}
KEPT: Final = {"Cache-Control": "private, max-age=86400"}


@cache
def text_of(name: str) -> str:
    """One of the page's own files."""
    return (files(__package__) / "static" / name).read_text(encoding="utf-8")


@cache
def chart_library() -> bytes:
    """The chart library's own script, from where it is installed."""
    folder = Path(bokeh.__file__).parent / "server" / "static" / "js"
    return (folder / CHARTS_FILE).read_bytes()


class Pages:
    """Answers for one hub."""

    def __init__(self, hub: Hub, buttons: Buttons, sessions: Sessions) -> None:
        self.hub, self.buttons, self.sessions = hub, buttons, sessions
        place = hub.watching.source.place
        self._strips = {look: strips(place, look) for look in LOOKS}

    def routes(self) -> list[Route]:
        """Every address."""
        own = [Route(f"/{name}", self.file, methods=["GET"]) for name in FILES]
        return [
            Route("/", self.page, methods=["GET"]),
            Route(f"/bokeh-{bokeh.__version__}.js", self.library, methods=["GET"]),
            Route("/strips", self.charts, methods=["GET"]),
            Route("/history", self.history, methods=["GET"]),
            Route("/stream", Stream(self.hub), methods=["GET"]),
            Route("/ask/{act}", self.ask, methods=["POST"]),
            Route("/enter", self.door, methods=["GET"]),
            Route("/enter", self.enter, methods=["POST"]),
            *own,
        ]

    async def page(self, request: Request) -> Response:
        """The page itself, empty: the stream fills it."""
        place = self.hub.watching.source.place
        filled = {
            "nonce": request.state.nonce,
            "title": f"{place.loop.name}: live",
            "loop": place.loop.name,
            "kind": self.hub.watching.source.kind,
            "bokeh": bokeh.__version__,
            "footer": f"Loop {loop_id(place.loop)}, coilward {version('coilward')}.",
            "cautions": " ".join(CAUTIONS),
        }
        text = text_of("page.html")
        for name, value in filled.items():
            text = text.replace("{{" + name + "}}", escape(value))
        text = text.replace("{{pictures}}", pictures(place)).replace("{{legend}}", legend(place))
        text = text.replace("{{buttons}}", _buttons())
        return Response(text, media_type="text/html", headers=FRESH)

    async def file(self, request: Request) -> Response:
        """One of the page's own files."""
        name = request.url.path[1:]
        return Response(text_of(name), media_type=KINDS[name.rpartition(".")[2]], headers=FRESH)

    async def library(self, _: Request) -> Response:
        """The chart library."""
        return Response(chart_library(), media_type=KINDS["js"], headers=KEPT)

    async def charts(self, request: Request) -> Response:
        """The charts without their data, for a dark or a light page."""
        look = request.query_params.get("look", "")
        if look not in self._strips:
            return PlainTextResponse("look is dark or light", 400)
        return Response(self._strips[look], media_type="application/json", headers=FRESH)

    async def history(self, request: Request) -> Response:
        """The signals of a stretch of the night."""
        span = [_number(request.query_params.get(name, "")) for name in ("from", "to")]
        if any(math.isnan(each) for each in span) or span[0] > span[1]:
            return PlainTextResponse("from and to are seconds, in this order", 400)
        body = self.hub.watching.history(span[0], span[1])
        return Response(body, media_type="application/octet-stream", headers=FRESH)

    async def ask(self, request: Request) -> Response:
        """Hand a request on. There are three, and they carry nothing."""
        act: Any = request.path_params["act"]
        if act not in ACTS:
            return PlainTextResponse("there is no such request", 404)
        if await request.body():
            return PlainTextResponse("a request carries nothing", 400)
        said: Act = act
        if not self.buttons.press(said):
            return PlainTextResponse(self.buttons.why_none, 409)
        return JSONResponse({"said": WORDS[said][1]}, headers=FRESH)

    async def door(self, _: Request) -> Response:
        """Where the token is asked for."""
        return Response(text_of("enter.html"), media_type="text/html", headers=FRESH)

    async def enter(self, request: Request) -> Response:
        """A token that was typed; the cookie that it earns is no token."""
        try:
            typed = parse_qs((await request.body()).decode("ascii"), strict_parsing=True)
        except ValueError:
            return PlainTextResponse("a form with a token is wanted", 400)
        session = self.sessions.enter(typed.get("token", [""])[0])
        if session is None:
            return PlainTextResponse("that is not the token", 403)
        answer = Response(status_code=303, headers={"Location": "/", **FRESH})
        answer.set_cookie(COOKIE, session, httponly=True, samesite="strict")
        return answer


class Stream:
    """Server-sent events: one snapshot an event, until the reader goes."""

    def __init__(self, hub: Hub) -> None:
        self._hub = hub

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One reader."""
        viewer = self._hub.join()
        if viewer is None:
            answer = PlainTextResponse("too many watch already", 503, headers={"Retry-After": "10"})
            await answer(scope, receive, send)
            return
        try:
            await send({
                "type": "http.response.start", "status": 200,
                "headers": [(b"content-type", b"text/event-stream"),
                            (b"cache-control", b"no-store")],
            })  # fmt: skip
            gone = asyncio.ensure_future(_gone(receive))
            try:
                while not gone.done():
                    more = asyncio.ensure_future(viewer.next())
                    await asyncio.wait({more, gone}, return_when=asyncio.FIRST_COMPLETED)
                    if not more.done():
                        more.cancel()
                        break
                    body = b"data: " + more.result() + b"\n\n"
                    await send({"type": "http.response.body", "body": body, "more_body": True})
            finally:
                gone.cancel()
        finally:
            self._hub.leave(viewer)


async def _gone(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


def _number(text: str) -> float:
    """A finite number, or NaN."""
    try:
        number = float(text)
    except ValueError:
        return math.nan
    return number if math.isfinite(number) else math.nan


def _buttons() -> str:
    return "".join(
        f'<button type="button" data-ask="{act}">{escape(WORDS[act][0])}</button>' for act in ACTS
    )


def application(
    watching: Watching, hosts: frozenset[str], sessions: Sessions
) -> tuple[Guard, Hub]:
    """The whole server behind its door, and the hub that it runs."""
    hub = Hub(watching)

    @contextlib.asynccontextmanager
    async def running(_: Starlette) -> AsyncIterator[None]:
        """The hub runs for as long as the server does."""
        task = asyncio.create_task(hub.run())
        try:
            yield
        finally:
            task.cancel()

    pages = Pages(hub, watching.buttons, sessions)
    return Guard(Starlette(routes=pages.routes(), lifespan=running), hosts, sessions), hub
