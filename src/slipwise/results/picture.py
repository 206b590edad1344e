"""The steady picture of all ways at one glance: curves, the points that matter on them, and the dip at each busbar."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from slipwise.results.series import Array
from slipwise.results.setting import Setting
from slipwise.results.start import Curves
from slipwise.results.wiring import Wiring


class PointKind(StrEnum):
    """What a marked point of a characteristic is."""

    STANDSTILL = "standstill"
    BREAKDOWN = "breakdown"
    OPERATING = "operating"  # where the last stage settles with the load, at or above its last torque peak
    CRAWL = "crawl"  # another stable balance of torques, below where the stage is left or runs
    CHANGEOVER = "changeover"


@dataclass(frozen=True, slots=True, kw_only=True)
class PicturePoint:
    """A point of one stage: speed rad/s, torque N m, line current A; stage counts from 0."""

    kind: PointKind
    stage: int
    speed: float
    torque: float
    current: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BusbarDip:
    """Greatest dip of a busbar over the stages in use, nominal case, per unit of its voltage before the start.

    limit: that of the busbar, same unit; None without one.
    """

    busbar: str
    dip: float
    limit: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WayPicture:
    """One way: settings as held or designed, a characteristic and the contacts closed for each stage, points, dips.

    used: speeds over which each stage is in use, rad/s. reason: why the way does not apply; "" when it does.
    held: the settings by key, to be handed in again; empty when the way does not apply.
    """

    key: str
    title: str
    reason: str = ""
    settings: tuple[Setting, ...] = ()
    held: dict[str, float | str] = field(default_factory=dict)
    curves: tuple[Curves, ...] = ()
    contacts: tuple[tuple[str, ...], ...] = ()
    used: tuple[tuple[float, float], ...] = ()
    points: tuple[PicturePoint, ...] = ()
    dips: tuple[BusbarDip, ...] = ()
    wiring: Wiring | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """All ways of one study on common axes. speed: shape (n,) [rad/s], the abscissa of every curve; loads: torque of each
    state of the load, shape (n,) [N m], under its name ("" when there is one only)."""

    speed: Array
    loads: tuple[tuple[str, Array], ...]
    ways: tuple[WayPicture, ...]
