"""The door: who may ask, from which page, how much and how often. Everything else is refused.

An ASGI application around another one. It reads bodies itself, so that nothing behind it ever
sees one that is too large or too slow.
"""

from __future__ import annotations

import asyncio
import hmac
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LONGEST_BODY: Final = 512
LONGEST_QUERY: Final = 200
BODY_S: Final = 5.0
SESSIONS: Final = 32
SESSION_S: Final = 12 * 3600
COOKIE: Final = "coilward_viewer"
OPEN_PATHS: Final = ("/enter", "/page.css", "/icon.svg")
"""What somebody without a token may see."""

HEADERS: Final = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Without any referrer a form would come with the origin "null", and be turned away.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


def policy(nonce: str) -> str:
    """Own scripts and own data only; styles from files, and those that carry the nonce."""
    return (
        "default-src 'none'; script-src 'self'; connect-src 'self'; img-src 'self' data:; "
        f"style-src 'self' 'nonce-{nonce}'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'none'"
    )


@dataclass
class Bucket:
    """So many at once, and then so many a second."""

    per_s: float
    most: float
    left: float = -1.0
    at_s: float = 0.0

    def take(self, now_s: float) -> bool:
        """One more; False where there were too many."""
        if self.left < 0.0:
            self.left = self.most
        self.left = min(self.most, self.left + self.per_s * (now_s - self.at_s))
        self.at_s = now_s
        if self.left < 1.0:
            return False
        self.left -= 1.0
        return True


@dataclass
class Sessions:
    """Who has shown the token. Kept in memory alone; the oldest is forgotten first."""

    token: str
    """Empty where none is asked for."""
    clock_s: Callable[[], float] = time.monotonic
    _known: OrderedDict[str, float] = field(default_factory=OrderedDict)

    def enter(self, token: str) -> str | None:
        """A new session for the right token."""
        if not self.token or not hmac.compare_digest(token.encode(), self.token.encode()):
            return None
        name = secrets.token_urlsafe(32)
        self._known[name] = self.clock_s()
        while len(self._known) > SESSIONS:
            self._known.popitem(last=False)
        return name

    def knows(self, name: str) -> bool:
        """Whether a cookie is one of ours, and young enough."""
        since_s = self._known.get(name)
        return not self.token or (
            since_s is not None and self.clock_s() - since_s < SESSION_S
        )


class Refused(Exception):  # noqa: N818 - an answer, not an error of the program
    """A request that goes no further, with its status."""

    def __init__(self, status: int, words: str) -> None:
        super().__init__(words)
        self.status, self.words = status, words


class Guard:
    """Checks every request before the pages see it."""

    def __init__(self, inner: ASGIApp, hosts: frozenset[str], sessions: Sessions) -> None:
        self._inner, self._hosts, self.sessions = inner, hosts, sessions
        self._asks: OrderedDict[str, Bucket] = OrderedDict()
        self._presses = Bucket(per_s=1.0, most=6.0)
        self._tries = Bucket(per_s=0.1, most=5.0)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request, or the server's own start and end."""
        if scope["type"] == "lifespan":
            await self._inner(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        nonce = secrets.token_urlsafe(16)
        scope["state"] = {**scope.get("state", {}), "nonce": nonce}

        async def dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], *_headers(nonce)]
            await send(message)

        try:
            self._check(scope, Headers(scope=scope))
            body = await _body(receive) if scope["method"] == "POST" else b""
        except Refused as refused:
            answer = PlainTextResponse(
                refused.words, refused.status, headers={"Connection": "close"}
            )
            await answer(scope, receive, dressed)
            return
        if self._must_enter(scope):
            await Response(status_code=303, headers={"Location": "/enter"})(scope, receive, dressed)
            return
        await self._inner(scope, _Replay(body, receive), dressed)

    def _check(self, scope: Scope, headers: Headers) -> None:
        """The rules in order; raises Refused."""
        now_s, path = time.monotonic(), scope["path"]
        if not self._bucket(scope).take(now_s):
            raise Refused(429, "too many requests")
        if scope["method"] not in ("GET", "HEAD", "POST"):
            raise Refused(405, "not here")
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            raise Refused(421, "this page has another address")
        own = f"http://{hosts[0].lower()}"
        origin = headers.get("origin")
        if (origin is not None and origin != own) or (origin is None and scope["method"] == "POST"):
            raise Refused(403, "this comes from another page")
        came = headers.get("sec-fetch-site", "none")
        if came not in ("none", "same-origin") and not (path == "/" and scope["method"] == "GET"):
            raise Refused(403, "this comes from another page")
        if len(scope["query_string"]) > LONGEST_QUERY or len(path) > LONGEST_QUERY:
            raise Refused(414, "too long")
        if path not in (*OPEN_PATHS, "/") and not self.sessions.knows(_cookie(headers)):
            raise Refused(401, "show the token first")
        if scope["method"] == "POST":
            self._check_post(headers, path, now_s)

    def _check_post(self, headers: Headers, path: str, now_s: float) -> None:
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length) > LONGEST_BODY:
            raise Refused(413, "too much")
        bucket = self._tries if path == "/enter" else self._presses
        if not bucket.take(now_s):
            raise Refused(429, "too often")

    def _must_enter(self, scope: Scope) -> bool:
        known = self.sessions.knows(_cookie(Headers(scope=scope)))
        return bool(scope["path"] == "/" and not known)

    def _bucket(self, scope: Scope) -> Bucket:
        who = scope["client"][0] if scope.get("client") else ""
        bucket = self._asks.pop(who, None) or Bucket(per_s=60.0, most=240.0)
        self._asks[who] = bucket
        while len(self._asks) > SESSIONS:
            self._asks.popitem(last=False)
        return bucket


class _Replay:
    """A body that was read already, then whatever else comes."""

    def __init__(self, body: bytes, receive: Receive) -> None:
        self._body: bytes | None = body
        self._receive = receive

    async def __call__(self) -> Message:
        if self._body is None:
            return await self._receive()
        body, self._body = self._body, None
        return {"type": "http.request", "body": body, "more_body": False}


async def _body(receive: Receive) -> bytes:
    """The whole body; raises Refused for one that is too large, too slow, or breaks off."""
    body = b""
    try:
        async with asyncio.timeout(BODY_S):
            while True:
                message = await receive()
                if message["type"] != "http.request":
                    raise Refused(400, "broken off")
                body += bytes(message.get("body", b""))
                if len(body) > LONGEST_BODY:
                    raise Refused(413, "too much")
                if not message.get("more_body", False):
                    return body
    except TimeoutError:
        raise Refused(408, "too slow") from None


def _cookie(headers: Headers) -> str:
    for part in headers.get("cookie", "").split(";"):
        name, _, value = part.strip().partition("=")
        if name == COOKIE:
            return value
    return ""


def _headers(nonce: str) -> list[tuple[bytes, bytes]]:
    every: dict[str, Any] = {**HEADERS, "Content-Security-Policy": policy(nonce)}
    return [(name.lower().encode(), value.encode()) for name, value in every.items()]
