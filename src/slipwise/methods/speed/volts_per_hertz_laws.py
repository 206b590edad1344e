"""The voltage laws by name, and which of them is enough for a duty."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from slipwise.methods.settings import Choice, computed
from slipwise.methods.speed.inverter_point import Arrangement, Outline, outline
from slipwise.methods.speed.voltage_law import ConstantSlip, StraightLaw, VoltageLaw
from slipwise.methods.speed.way import SpeedTask
from slipwise.solve.converter_feed import Feed, Hold

AS_PLATE, IN_DELTA = "as_plate", "delta"
WINDINGS = (AS_PLATE, IN_DELTA)


@dataclass(frozen=True, slots=True, kw_only=True)
class LawSettings:
    """boost: pu of rated voltage at frequency zero; slip_frequency Hz; base: base frequency Hz. Each law takes its own."""

    boost: float
    slip_frequency: float
    base: float


def _plain(feed: Feed, _: LawSettings) -> StraightLaw:
    """Terminal voltage in proportion to frequency."""
    return StraightLaw(hold=Hold.TERMINALS, start=0.0, slope=_rated(feed, feed.motor.rating.phase_voltage))


def _boosted(feed: Feed, dials: LawSettings) -> StraightLaw:
    """A straight line from the boost at frequency zero to the same base point as without."""
    start = dials.boost * feed.motor.rating.phase_voltage
    return StraightLaw(
        hold=Hold.TERMINALS, start=start, slope=_rated(feed, feed.motor.rating.phase_voltage) - start / dials.base
    )


def _stator_drop(feed: Feed, _: LawSettings) -> StraightLaw:
    """What lies behind the stator resistance in proportion to frequency: the drop is added as the current asks."""
    return StraightLaw(hold=Hold.STATOR_FLUX, start=0.0, slope=_rated(feed, feed.stator_voltage))


def _air_gap(feed: Feed, _: LawSettings) -> StraightLaw:
    """Rated air-gap flux at every load."""
    return StraightLaw(hold=Hold.AIR_GAP, start=0.0, slope=_rated(feed, feed.gap_voltage))


def _slip(_: Feed, dials: LawSettings) -> ConstantSlip:
    """Flux follows the torque at a slip frequency held."""
    return ConstantSlip(slip_frequency=dials.slip_frequency)


def _rated(feed: Feed, voltage: float) -> float:
    return voltage / feed.motor.rating.frequency


LAWS: Mapping[str, Callable[[Feed, LawSettings], VoltageLaw]] = {
    "plain": _plain,
    "fixed_boost": _boosted,
    "stator_drop": _stator_drop,
    "air_gap_flux": _air_gap,
    "slip_frequency": _slip,
}
_BY_SIMPLICITY = ("plain", "fixed_boost", "stator_drop", "air_gap_flux")


def gentlest_law(task: SpeedTask, arranged: Callable[[str], Arrangement]) -> Choice:
    """The simplest law under which every demand is held with its reserve and without over-heating."""
    least: tuple[int, str] | None = None
    for name in _BY_SIMPLICITY:
        made = arranged(name)
        top = made.linked_top
        missed = sum(not _good(outline(made, task, duty, top), made.reserve) for duty in task.duty)
        if missed == 0:
            return computed(name, "the simplest that holds the whole duty with its reserve and cool windings")
        if least is None or missed < least[0]:
            least = missed, name
    missed, name = least or (0, "plain")
    return computed(name, f"the simplest of those that miss the fewest points of the duty ({missed})")


def _good(seen: Outline, reserve: float) -> bool:
    return seen.met.reached and seen.stable and seen.heat <= 1 and seen.reserve >= reserve
