"""Opens the port, says where the page is, and serves until it is interrupted."""

from __future__ import annotations

import ipaddress
import re
import socket
import sys
import threading
import webbrowser
from contextlib import suppress

import uvicorn

from slipwise.doors.desk.app import application
from slipwise.quantity.errors import InputError

HERE = "127.0.0.1"
TRIED = 20  # ports after the one asked for
_NAME = re.compile(
    r"(?=.{1,253}\Z)[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?(\.[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?)*\Z"
)
CAUTION = (
    "Caution: anyone who reaches this address can use the page and this machine's computing time; there is no password and "
    "no encryption. Share it in a network you trust, and end it when the lecture is over."
)


def serve(*, port: int, host: str | None, browser: bool) -> None:
    """Serves the page.

    Args:
        port: to listen on; when it is taken, one of the next; 0 for any.
        host: address or name to listen on and to answer to; None for this machine alone.
        browser: open it.

    Raises:
        InputError: the port or host cannot be had.
    """
    listening = _bound(port, host)
    taken = listening.getsockname()[1]
    name = host or HERE
    shown = f"[{name}]" if ":" in name else name
    address = f"http://{shown}:{taken}/"
    config = uvicorn.Config(
        application(() if host is None else (shown,)),
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=False,
        timeout_keep_alive=65,
        timeout_graceful_shutdown=2,
        limit_concurrency=512,
        http="h11",  # the quicker parser sets no bound to the size of headers
        h11_max_incomplete_event_size=65536,
        ws="none",
    )
    if host is not None:
        print(CAUTION, file=sys.stderr)
    print(f"slipwise desk: {address}  (Ctrl+C ends it)", flush=True)
    if browser:
        threading.Timer(0.2, webbrowser.open, (address,)).start()
    with suppress(KeyboardInterrupt):  # the way it is ended
        uvicorn.Server(config).run(sockets=[listening])


def _bound(port: int, host: str | None) -> socket.socket:
    """A socket that listens already, so that a browser that is quicker than the server waits."""
    if not 0 <= port <= 65535:
        raise InputError.of("--port", port, "it is no port", "give one from 1024 to 65535, or 0 for any")
    address = _checked(host)
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    reason = ""
    for tried in range(port, min(port + TRIED, 65535) + 1) if port else (0,):
        # the protocol is named, else small answers wait 40 ms for an echo
        made = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            made.bind((address, tried))
            made.listen(256)
            return made
        except OSError as error:
            made.close()
            reason = error.strerror or str(error)
    field, value = ("--port", str(port)) if host is None else ("--host", host)
    raise InputError.of(field, value, f"nothing can be served there ({reason})", "give another one")


def _checked(host: str | None) -> str:
    if host is None:
        return HERE
    try:
        return str(ipaddress.ip_address(host.strip("[]")))
    except ValueError:
        if _NAME.match(host):
            return host
    raise InputError.of("--host", host[:80], "it is no address and no name", 'write one such as "192.168.1.20"')
