"""A power circuit as plain data, and the table of contacts per stage; `present/diagrams` draws it."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.winding import WindingDiagram


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """One device in the power circuit.

    kind: "isolator" | "fuse" | "breaker" | "contactor" | "overload" | "autotransformer" | "reactor" | "resistor" |
    "thyristors" | "inverter" | "motor", and for speed control "variable transformer" | "rectifier" | "choke" | "chopper" |
    "thyristor bridge" | "transformer" | "rotor converter" | "line converter" (the last
    two with switched valves).  label: as shown, e.g. "Q1", "K1 line", "K2 star".
    after: label of the device it follows on the way from the supply ("" for the supply itself).
    branch: "main" for the vertical trunk, or a branch name ("star", "delta", "bypass") drawn beside it.
    carries: the current in it: "line" | "motor" | "winding" | "star point" | "rotor".  share: of it, per unit, while
    others with a share are closed beside it.
    """

    kind: str
    label: str
    after: str
    branch: str = "main"
    note: str = ""
    carries: str = "line"
    share: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiring:
    """The power circuit of a way: devices, stages in order, and which contacts are closed in each."""

    devices: tuple[Device, ...]
    stages: tuple[str, ...]
    closed: tuple[tuple[str, ...], ...]
    motor_leads: int = 3  # 6 when both winding ends are brought out
    notes: tuple[str, ...] = ()
    windings: tuple[WindingDiagram, ...] = ()  # of a motor for several speeds
