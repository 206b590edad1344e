"""Arrays with a name and a unit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Series:
    """Values over a common abscissa (time, speed) held by the owner. values: shape (n,), in `unit` (SI)."""

    name: str
    unit: str
    values: Array
