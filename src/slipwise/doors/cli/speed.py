"""`slipwise speed`: every way of speed control over the year's duty, in the terminal only."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Either, Strict

WAY = "Show one way in full, demand by demand, such as volts_per_hertz."


def speed(file: Either, /, *, way: Annotated[str, Parameter(help=WAY)] = "", strict: Strict = False) -> int:
    """Judge every way of speed control in FILE over its year of demands; nothing is written."""
    from slipwise.doors.cli.app import Exit
    from slipwise.doors.cli.session import computed
    from slipwise.present.terminal import print_speed
    from slipwise.quantity.errors import InputError

    result = computed(file, transients=False, part="speed")
    assert result.speed is not None
    known = [found.key for found in result.speed.ways]
    if way and way not in known:
        raise InputError.of("--way", way, "this study has no such way", f"ask for one of {', '.join(known)}")
    print_speed(result, way)
    failing = strict and result.speed.recommendation.way is None
    return Exit.FAILING_VERDICT if failing else Exit.COMPUTED
