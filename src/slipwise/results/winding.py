"""A winding for two speeds as plain data: coils, which way their current flows at each speed, terminals to feed and to join."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilGroup:
    """Coils of one phase side by side, in series.

    name: e.g. "U1"; phase: 0, 1, 2. half: 0 or 1; the current of half 1 is the one that is reversed.
    slots: of the leading coil sides, counted from 0; each coil returns `pitch` slots further on.
    """

    name: str
    phase: int
    half: int
    slots: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WindingSpeed:
    """How the winding stands at one speed.

    directions: +1 or -1 for each group of the diagram, the sense of its current while its phase's current is positive.
    connection: in words, "series delta". fed, joined: terminals at the supply and those bridged.
    swapped: two phases are exchanged so that the field turns the same way as at the other speed.
    factor: winding factor at these poles. turns: series turns of the star equivalent per unit of the winding all in series.
    flux_density: of the air gap at the same voltage, per unit of that of the reference (see `WindingDiagram`).
    """

    name: str
    poles: int
    connection: str
    directions: tuple[int, ...]
    fed: tuple[str, ...]
    joined: tuple[str, ...]
    swapped: bool
    factor: float
    turns: float
    flux_density: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WindingDiagram:
    """One winding. slots: of the stator; pitch: of every coil, in slots; speeds: one for each pole number it can make.

    reference: name of the speed that stands for the plate; flux density 1 is its own with the turns of the plate.
    """

    name: str
    slots: int
    pitch: int
    reference: str
    groups: tuple[CoilGroup, ...]
    speeds: tuple[WindingSpeed, ...]
