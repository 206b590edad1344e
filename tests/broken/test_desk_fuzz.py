"""A sample of the hostile requests that `python -m benchmarks.desk_fuzz` sends to the desk by the ten thousand."""

from __future__ import annotations

import asyncio

from benchmarks.desk_fuzz import hostile
from benchmarks.desk_server import running


def test_hostile_requests_get_documented_answers():
    """No answer is undocumented, none shows a traceback, no process is lost, and each answers in the end."""
    with running() as server:
        found = asyncio.run(hostile(server, 100, seed=3))
    assert found.bad == []
    assert found.restarts == 0
    assert {200, 422} <= set(found.statuses)
