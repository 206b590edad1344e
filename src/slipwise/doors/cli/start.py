"""`slipwise start`: every way of starting judged, in the terminal only."""

from __future__ import annotations

from slipwise.doors.cli.options import Either, Strict, Transients


def start(file: Either, /, *, transients: Transients = True, strict: Strict = False) -> int:
    """Judge every way of starting in FILE; nothing is written."""
    from slipwise.doors.cli.session import computed, verdict_code
    from slipwise.present.terminal import print_result

    result = computed(file, transients=transients, part="starting")
    print_result(result)
    return verdict_code(result, strict=strict)
