"""A motor as a few bodies that store heat and pass it on, with other conductances while running than at standstill."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slipwise.quantity.errors import DomainError

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """One body at one temperature. heat_capacity [J/K]; limit [degC], None where none is known."""

    name: str
    heat_capacity: float
    limit: float | None = None

    def __post_init__(self) -> None:
        """Refuses a body that stores nothing."""
        if not self.heat_capacity > 0:
            raise DomainError.of(
                f"thermal.{self.name}.heat_capacity", self.heat_capacity, "must be above zero", "give it in J/K"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A way heat takes between two bodies, or from a body to the ambient (`to` empty). conductance [W/K]."""

    begin: str
    to: str
    running: float
    standing: float

    def at(self, cooling: float) -> float:
        """Conductance at a cooling share: 0 as at standstill, 1 as at rated speed. [W/K]"""
        return self.standing + (self.running - self.standing) * cooling


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalNetwork:
    """Bodies and the paths between them."""

    bodies: tuple[Body, ...]
    paths: tuple[Path, ...]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(body.name for body in self.bodies)

    def capacities(self) -> Array:
        """Heat capacity of each body, shape (n,). [J/K]"""
        return np.array([body.heat_capacity for body in self.bodies])

    def conductances(self, cooling: float) -> Array:
        """Symmetric conductance matrix, shape (n, n), at a cooling share: heat leaving = matrix @ rise. [W/K]

        Raises:
            DomainError: a path names a body that is not there.
        """
        place = {name: i for i, name in enumerate(self.names)}
        matrix = np.zeros((len(place),) * 2)
        for path in self.paths:
            g = path.at(cooling)
            for name in (path.begin, path.to):
                if name and name not in place:
                    raise DomainError.of(
                        "thermal.path", name, "there is no such body", f"name one of {', '.join(place)}"
                    )
            i = place[path.begin]
            matrix[i, i] += g
            if path.to:
                j = place[path.to]
                matrix[j, j] += g
                matrix[i, j] -= g
                matrix[j, i] -= g
        return matrix

    def to_ambient(self, cooling: float) -> Array:
        """Conductance from each body straight to the ambient, shape (n,). [W/K]"""
        out = np.zeros(len(self.bodies))
        for path in self.paths:
            if not path.to:
                out[self.names.index(path.begin)] += path.at(cooling)
        return out
