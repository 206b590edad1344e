"""`slipwise desk` from the command line: what it refuses, what it says, and how it ends."""

from __future__ import annotations

import contextlib
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from slipwise.doors.cli.app import main


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--port", "70000"], "--port: 70000: it is no port; give one from 1024 to 65535, or 0 for any"),
        (["--host", "not a name!"], "--host: not a name!: it is no address and no name"),
        (
            ["--host", "203.0.113.7"],
            "--host: 203.0.113.7: nothing can be served there",
        ),  # not an address of this machine
    ],
)
def test_what_cannot_be_served_is_bad_input(words, told, capsys):
    """A port or host that cannot be had is told by name, and nothing is started."""
    assert main(["desk", "--no-browser", *words]) == 2
    assert told in capsys.readouterr().err


def test_a_missing_package_is_told_with_what_to_install(monkeypatch, capsys):
    """Without the web packages the command says how to get them."""
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    monkeypatch.delitem(sys.modules, "slipwise.doors.desk.serve", raising=False)
    assert main(["desk", "--no-browser"]) == 2
    assert 'pip install "slipwise[desk]"' in capsys.readouterr().err


def endless_header(port: int) -> bytes:
    """How the answer begins to a request whose header never ends; nothing when the server hung up."""
    with socket.create_connection(("127.0.0.1", port), timeout=10) as client:
        client.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Endless: ")
        with contextlib.suppress(ConnectionError):
            for _ in range(30):
                client.sendall(b"a" * 10_000)
            return client.recv(12)
    return b""


def test_shared_desk_says_so_and_ends_quietly():
    """`--host` prints a caution; the address answers; an endless header is refused; an interrupt ends it with code 0 and
    takes its processes along."""
    command = [sys.executable, "-m", "slipwise", "desk", "--no-browser", "--port", "0", "--host", "127.0.0.1"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        address = process.stdout.readline().partition("http")[2].split()[0]
        with urllib.request.urlopen(f"http{address}api/v1/studies", timeout=30) as answer:
            assert answer.status == 200
        assert endless_header(int(address.rpartition(":")[2].strip("/"))) in {b"HTTP/1.1 400", b""}
        children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=30) == 0
        errors = process.stderr.read()
    assert "Caution" in errors
    assert "Traceback" not in errors
    assert children
    assert not any(Path(f"/proc/{child}/cmdline").exists() for child in children)


def test_taken_port_gives_the_next():
    """Two desks beside each other: the second takes the next port."""
    from slipwise.doors.desk import serve

    first = serve._bound(0, None)
    taken = first.getsockname()[1]
    second = serve._bound(taken, None)
    assert taken < second.getsockname()[1] <= taken + serve.TRIED
    for made in (first, second):
        made.close()
