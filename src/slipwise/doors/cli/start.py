"""`slipwise start`: every way of starting judged, in the terminal only."""

from __future__ import annotations

from pathlib import Path


def start(file: Path, *, transients: bool = True, strict: bool = False) -> int:
    """Judge every way of starting in FILE; nothing is written.

    Parameters
    ----------
    file
        The study file.
    transients
        Compute the electrical transient over the switching angle as well: peak torque and peak current.
    strict
        Exit code 3 when no way passes.
    """
    from slipwise.doors.cli.session import computed, verdict_code
    from slipwise.present.terminal import print_result

    result = computed(file, transients=transients)
    print_result(result)
    return verdict_code(result, strict=strict)
