"""`slipwise stop`: every way of stopping, in the terminal only."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Either, Strict, Transients

WAY = "Show one way in full, case by case, such as plugging."


def stop(
    file: Either,
    /,
    *,
    way: Annotated[str, Parameter(help=WAY)] = "",
    transients: Transients = True,
    strict: Strict = False,
) -> int:
    """Judge every way of stopping that FILE asks for under [stopping]; nothing is written."""
    from slipwise.doors.cli.app import Exit
    from slipwise.doors.cli.session import computed
    from slipwise.present.terminal import print_stopping
    from slipwise.quantity.errors import InputError

    result = computed(file, transients=transients, part="stopping")
    assert result.stopping is not None
    known = [found.key for found in result.stopping.ways]
    if way and way not in known:
        raise InputError.of("--way", way, "this study has no such way", f"ask for one of {', '.join(known)}")
    print_stopping(result, way)
    failing = strict and result.stopping.recommendation.way is None
    return Exit.FAILING_VERDICT if failing else Exit.COMPUTED
