"""The cycle that a running motor repeats under the pulses of its load."""

from __future__ import annotations

from slipwise.quantity.errors import InputError
from slipwise.results.duty import DutyCycle
from slipwise.solve.duty import steady_cycle
from slipwise.study.model import Study
from slipwise.study.points import RUNNING, drive_of


def duty_of(study: Study) -> tuple[DutyCycle | None, str]:
    """The steady cycle on the ordinary supply, or none and why; none without a word when the study has no pulses."""
    if not study.pulses:
        return None, ""
    try:
        return steady_cycle(drive_of(study), RUNNING, study.pulses), ""
    except InputError as error:
        return None, f"no steady cycle: {'; '.join(fault.reason for fault in error.faults)}"
