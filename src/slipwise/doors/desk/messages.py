"""What goes over the wire between the server and its computing processes, and out of the door: always UTF-8 JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from pydantic_core import to_json

from slipwise.quantity.errors import Fault

LENGTH = 4  # bytes of the length before each message


class Kind(StrEnum):
    """First letter of a message from a computing process."""

    PROGRESS = "p"  # words and share
    RESULT = "r"  # the answer, ready to be sent on
    FAULTS = "f"  # bad input: faults, and the text after edits
    BROKEN = "b"  # a fault of slipwise itself
    CANCELLED = "c"


def encode(content: Any) -> bytes:
    """JSON without spaces; a number that is not finite becomes null."""
    return to_json(content, inf_nan_mode="null")


def frame(kind: str, content: bytes) -> bytes:
    """One message with its length before it."""
    return (len(content) + 1).to_bytes(LENGTH, "big") + kind.encode("ascii") + content


def faults_json(faults: Iterable[Fault], text: str | None = None) -> bytes:
    """Faults as the page and a script read them; never a path of this machine."""
    found: dict[str, Any] = {"faults": [fault_dict(fault) for fault in faults]}
    if text is not None:
        found["text"] = text
    return json.dumps(found).encode("ascii")


def fault_dict(fault: Fault) -> dict[str, Any]:
    """One fault: field, value, reason, remedy, line, and all of it as one sentence."""
    plain = fault.located(None, None)
    return {
        "field": fault.field[:300],
        "value": fault.value[:300],
        "reason": fault.reason[:600],
        "remedy": fault.remedy[:1200],
        "line": fault.line,
        "message": str(plain)[:2400],
    }


def request_fault(reason: str, remedy: str, value: str = "") -> bytes:
    """A fault of the request itself, not of the study in it."""
    return faults_json([Fault(field="request", value=value, reason=reason, remedy=remedy)])
