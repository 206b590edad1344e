"""A recorder of running rms values, put behind the model: it shows the mean over the last cycle, and switching lies between.

The length of a balanced current's space vector does not depend on the switching angle, so that its mean square over a cycle
can be compared with what the recorder kept, direct current of the first cycles included.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil
from typing import Any

import numpy as np

from slipwise.identify import start_fit_kernel as k
from slipwise.results.series import Array

PER_CYCLE = 24  # model samples in a cycle at least


def fine_parts(step: float, frequency: float) -> int:
    """How many model samples stand for one of the recording. step: of the recording [s]; frequency [Hz]."""
    return max(1, ceil(step * frequency * PER_CYCLE))


def as_recorded(run: Callable[[Any, float], Any], voltage: Array, step: float, frequency: float, delay: Any) -> Any:
    """The model's answer as an rms recorder shows it: current in the d column, q zero; shape (n, 5).

    Args:
        run: the model over a voltage (complex, finely sampled) with its step [s]; gives shape (m, 5).
        voltage: rms as recorded, as peak phase value, shape (n,).   step: between its samples. [s]   frequency: [Hz]
        delay: from the first sample to switching on [s]; may carry a small imaginary part.

    The recorder's window ends at each sample; the voltage it shows belongs to the middle of the window.
    """
    count, many, cycle = voltage.size, fine_parts(step, frequency), 1 / frequency
    fine = step / many
    time = fine * np.arange((count - 1) * many + 1)
    shown = np.clip(time + 0.5 * cycle, cycle + step, None)
    out = run(np.interp(shown, step * np.arange(count), voltage).astype(complex), fine)
    square = out[:, k.CURRENT_D] ** 2 + out[:, k.CURRENT_Q] ** 2
    total = np.concatenate([[0.0], np.cumsum(0.5 * fine * (square[1:] + square[:-1]))])
    when = step * np.arange(count) - delay
    mean = (_at(total, when / fine) - _at(total, (when - cycle) / fine)) / cycle
    recorded = np.zeros((count, k.COLUMNS), dtype=complex)
    recorded[:, k.CURRENT_D] = np.sqrt(np.where(mean.real > 0, mean, 0.0))
    for column in (k.AT_SPEED, k.TORQUE, k.SLOPE):
        recorded[:, column] = _at(out[:, column], when / fine)
    return recorded


def _at(values: Any, place: Any) -> Any:
    """Straight lines between samples, held outside; place counted in samples, with its imaginary part carried along."""
    first = np.clip(np.floor(place.real), 0, values.size - 2).astype(int)
    share = np.where(place.real < 0, 0.0, np.where(place.real > values.size - 1, 1.0, place - first))
    return values[first] + share * (values[first + 1] - values[first])
