"""What every request passes first: host, origin, kind and size of its body; and the headers of every answer."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

from slipwise.doors.desk.messages import request_fault

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LOCAL = ("127.0.0.1", "localhost", "[::1]")
BODY = 33_000_000  # bytes: a study is a page of text, but recordings may come along (24 MB before they are base64)
PATIENCE = 20.0  # s for a body to arrive
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' blob: data:; "
    "connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode("ascii")),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
)


class Guard:
    """Pure ASGI middleware. hosts: names this server answers to, without port, beside those of this machine."""

    def __init__(self, app: App, hosts: tuple[str, ...] = ()) -> None:
        self.app = app
        self.hosts = frozenset((*LOCAL, *(host.lower() for host in hosts)))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refused = self.refusal(scope)
        if refused is not None:
            await _answer(send, *refused)
            return
        await self.app(scope, _Limited(receive, BODY).receive, _with_headers(send, scope["path"]))

    def refusal(self, scope: Scope) -> tuple[int, bytes] | None:
        """Status and body of the refusal; None when the request may pass."""
        headers = {name: value.decode("latin-1") for name, value in scope["headers"]}
        host = headers.get(b"host", "").lower()
        if _name(host) not in self.hosts:
            return 421, request_fault("this name is not one the desk answers to", "open the address that it printed")
        origin = headers.get(b"origin")
        if origin is not None and urlsplit(origin.lower()).netloc != host:
            return 403, request_fault("it comes from another page", "open the desk itself")
        if headers.get(b"sec-fetch-site", "same-origin") not in {"same-origin", "none"} and not _followed(
            scope, headers
        ):
            return 403, request_fault("it comes from another page", "open the desk itself")
        if scope["method"] == "POST":
            return _body_refusal(headers)
        if scope["method"] not in {"GET", "HEAD"}:
            return 405, request_fault("this method is not known here", "use GET or POST")
        return None


def _followed(scope: Scope, headers: dict[bytes, str]) -> bool:
    """Whether someone follows a link to the page itself, as in a mail read in the browser: nothing but that may come so."""
    shown = headers.get(b"sec-fetch-mode") == "navigate" and headers.get(b"sec-fetch-dest") == "document"
    return shown and scope["method"] == "GET" and scope["path"] == "/"


def _body_refusal(headers: dict[bytes, str]) -> tuple[int, bytes] | None:
    kind = headers.get(b"content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        return 415, request_fault("the body must be JSON", "send Content-Type: application/json")
    if headers.get(b"content-encoding", "identity").lower() not in {"", "identity"}:
        return 415, request_fault("the body must not be compressed", "send plain JSON")
    length = headers.get(b"content-length", "0")
    if not length.isdigit() or len(length) > 12:
        return 400, request_fault("its length cannot be read", "send a right Content-Length")
    if int(length) > BODY:
        return 413, request_fault(f"it is larger than {BODY // 1_000_000} MB", "send a smaller study or recording")
    return None


def _name(host: str) -> str:
    """The host without its port."""
    name, mark, port = host.rpartition(":")
    return name if mark and port.isdigit() and not name.endswith(":") else host


class TooLargeError(Exception):
    """The body went on past its limit."""


class _Limited:
    """The body, no longer than its limit and not for ever on its way."""

    def __init__(self, receive: Receive, limit: int) -> None:
        self.inner, self.left, self.whole = receive, limit, False

    async def receive(self) -> Message:
        if self.whole:  # from here on the server waits for the client to leave, however long
            return await self.inner()
        try:
            message = await asyncio.wait_for(self.inner(), PATIENCE)
        except TimeoutError:
            return {"type": "http.disconnect"}
        if message["type"] == "http.request":
            self.left -= len(message.get("body", b""))
            self.whole = not message.get("more_body", False)
            if self.left < 0:
                raise TooLargeError
        return message


def _with_headers(send: Send, path: str) -> Send:
    keep = b"no-store" if path.startswith("/api/") else b"no-cache"

    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = [(name, value) for name, value in message.get("headers", ()) if name.lower() != b"cache-control"]
            message = {**message, "headers": [*own, *HEADERS, (b"cache-control", keep)]}
        await send(message)

    return sender


async def _answer(send: Send, status: int, body: bytes) -> None:
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode("ascii"))]
    await send({"type": "http.response.start", "status": status, "headers": [*headers, *HEADERS]})
    await send({"type": "http.response.body", "body": body})
