"""A winding as it stands at one speed, and its diagram as plain data: groups of coils, directions, terminals."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from slipwise.model.machine.windings import (
    SQUARED_TURNS,
    Coil,
    Connection,
    Rewound,
    turns_backwards,
    winding_factor,
)
from slipwise.results.winding import CoilGroup, WindingDiagram, WindingSpeed

PHASES = ("U", "V", "W")
LOW, HIGH = "12"  # first figure of the terminals: the lower speed has the lower figure (IEC 60034-8, from memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A winding at one speed. name: "low" or "high"; coils: with the direction of their current at this speed."""

    name: str
    poles: int
    connection: Connection
    coils: tuple[Coil, ...]
    slots: int
    pitch: int

    @property
    def factor(self) -> float:
        """Winding factor at these poles. [1]"""
        return winding_factor(self.coils, self.slots, self.pitch, self.poles // 2)

    @property
    def backwards(self) -> bool:
        """Whether the field runs against the slot numbers with the phases in their order."""
        return turns_backwards(self.coils, self.slots, self.pitch, self.poles // 2)

    def against(self, plate: Standing, ring_share: float, turns: float = 1.0) -> Rewound:
        """How this standing differs from that of the plate; `turns` of its coils per unit of the plate's."""
        return Rewound(
            squared_turns=turns**2 * SQUARED_TURNS[self.connection] / SQUARED_TURNS[plate.connection],
            factor=self.factor / plate.factor,
            poles=self.poles / plate.poles,
            ring_share=ring_share,
        )


def diagram(name: str, standings: tuple[Standing, ...], plate: Standing, turns: float = 1.0) -> WindingDiagram:
    """The winding with all its speeds; two phases are swapped wherever the field would turn the other way than at the plate."""
    first = standings[0]
    groups = _groups(standings[-1].coils)
    return WindingDiagram(
        name=name,
        slots=first.slots,
        pitch=first.pitch,
        reference=plate.name,
        groups=groups,
        speeds=tuple(_speed(standing, plate, groups, turns) for standing in standings),
    )


def _groups(coils: tuple[Coil, ...]) -> tuple[CoilGroup, ...]:
    """Neighbouring coils of one phase and half, numbered along the stator."""
    seen = dict.fromkeys(PHASES, 0)
    groups = []
    for (phase, half), members in groupby(coils, key=lambda c: (c.phase, c.half)):
        letter = PHASES[phase]
        seen[letter] += 1
        slots = tuple(coil.slot for coil in members)
        groups.append(CoilGroup(name=f"{letter}{seen[letter]}", phase=phase, half=half, slots=slots))
    return tuple(groups)


def _speed(standing: Standing, plate: Standing, groups: tuple[CoilGroup, ...], turns: float) -> WindingSpeed:
    sign = {coil.slot: coil.sign for coil in standing.coils}
    own = LOW if standing.name == "low" else HIGH
    other = HIGH if own == LOW else LOW
    double = standing.connection is Connection.DOUBLE_STAR
    return WindingSpeed(
        name=standing.name,
        poles=standing.poles,
        connection=standing.connection.value,
        directions=tuple(sign[group.slots[0]] for group in groups),
        fed=tuple(own + letter for letter in PHASES),
        joined=tuple(other + letter for letter in PHASES) if double else (),
        swapped=standing.backwards != plate.backwards,
        factor=standing.factor,
        turns=turns * SQUARED_TURNS[standing.connection] ** 0.5,
        flux_density=standing.against(plate, 0.0, turns).flux_density,
    )
