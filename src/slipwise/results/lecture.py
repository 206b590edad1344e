"""What a lecture shows of one motor: charts, power flows, currents inside bars, circuits; plain data, drawn by `present`."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from slipwise.results.series import Array
from slipwise.results.start import RunUp
from slipwise.results.study import Explanation
from slipwise.results.table import Table
from slipwise.results.winding import WindingDiagram
from slipwise.results.wiring import Wiring


class Role(StrEnum):
    """What a line of a chart stands for."""

    CURVE = "curve"  # one of those that are compared
    LOAD = "load"
    BOUND = "bound"  # a limit or an ideal, drawn dotted
    AID = "aid"  # construction lines of a diagram, thin


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What an axis measures: words as shown, SI unit ("" for a pure number). per_unit: shown as a number, not in per cent."""

    words: str
    unit: str = ""
    per_unit: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """One line of a chart. label: on the line, "" for none; x, y: shape (n,), in the units of the panel's axes.

    tone: number of its colour and dash pattern among the curves; alike in the panels of one chart for the same thing.
    prefer: where along the line its label best stands, 0 left to 1 right; None to let it be found.
    """

    label: str
    x: Array
    y: Array
    role: Role = Role.CURVE
    tone: int = 0
    prefer: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """A marked point. words: beside it, "" for none; hollow: an unstable or a merely reached point."""

    x: float
    y: float
    words: str = ""
    tone: int = 0
    hollow: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Panel:
    """One pair of axes. top, bottom: where the vertical axis is cut, None to show all; whole: one scale on both axes.

    synchronous: speed at which a speed axis ends, rad/s; None for other axes.
    """

    x: Measure
    y: Measure
    lines: tuple[Line, ...]
    dots: tuple[Dot, ...] = ()
    title: str = ""
    top: float | None = None
    bottom: float | None = None
    whole: bool = False
    synchronous: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chart:
    """Panels side by side, or one above the other with a common abscissa (stacked).

    caption: what to see in it, with numbers. note: assumptions, under the title.
    """

    key: str
    title: str
    caption: str
    panels: tuple[Panel, ...]
    note: str = ""
    stacked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BarCurrent:
    """Current over the depth of one rotor bar at one slip.

    density: against depth from the top of the bar, per unit of its mean, shape (n,). depth: 0 at the top, 1 at the bottom.
    resistance, reactance: of the bar over those without displacement. [1]
    """

    words: str
    slip: float
    depth: Array
    density: Array
    resistance: float
    reactance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CageShare:
    """How two cages divide the rotor current at one slip. outer, inner: magnitudes per unit of the sum of both phasors."""

    words: str
    slip: float
    outer: float
    inner: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BarPicture:
    """Bars drawn as deep as they are, shaded by their current. height: of the bar. [m]"""

    key: str
    title: str
    caption: str
    height: float
    bars: tuple[BarCurrent, ...]
    cages: tuple[CageShare, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """Power on its way from the line to the shaft in one state. supplied, shaft: W; lost: name and W, in the order of the way."""

    words: str
    supplied: float
    lost: tuple[tuple[str, float], ...]
    shaft: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowPicture:
    """Power flows of one motor to one scale."""

    key: str
    title: str
    caption: str
    flows: tuple[Flow, ...]
    note: str = ""


Picture = Chart | BarPicture | FlowPicture


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitPicture:
    """The power circuit of one way, stage by stage. kind: "starting", "speed control" or "stopping"; note: whose motor it is."""

    key: str
    title: str
    kind: str
    wiring: Wiring
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WindingPicture:
    """One winding at its speeds."""

    key: str
    title: str
    caption: str
    winding: WindingDiagram


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Motion:
    """A start that is shown moving: the run, the torque of each stage over its speeds, the load.

    speeds rad/s, shape (n,); torques, one a stage, and load N m, shape (n,); stages: their names. synchronous: rad/s.
    """

    key: str
    title: str
    caption: str
    run: RunUp
    speeds: Array
    torques: tuple[Array, ...]
    stages: tuple[str, ...]
    load: Array
    synchronous: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Topic:
    """A part of the lecture: its pictures in order. points: sentences for its first slide, from the numbers.

    steps: numbers of the motor with formula and inputs.
    """

    key: str
    title: str
    points: tuple[str, ...]
    pictures: tuple[Picture | WindingPicture | CircuitPicture, ...]
    tables: tuple[Table, ...] = ()
    steps: tuple[Explanation, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lecture:
    """Everything one lecture shows. motor: its rating in words. assumed: what was taken without being given.

    left_out: pictures that this motor does not allow, each with the reason.
    """

    title: str
    motor: str
    topics: tuple[Topic, ...]
    motions: tuple[Motion, ...]
    assumed: tuple[str, ...]
    left_out: tuple[str, ...]
    cautions: tuple[str, ...]
    slipwise_version: str
    file: str = ""
