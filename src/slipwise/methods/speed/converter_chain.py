"""The converter between line and motor at one state of the motor: link voltage, losses of every part, line current."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil, log2, sqrt

from slipwise.methods.speed.voltage_law import Met
from slipwise.model.converter.dc_link import Choke, LineSide, LinkState, draw
from slipwise.model.converter.harmonics import HarmonicLoss, motor_harmonics
from slipwise.model.converter.inverter import Modulation, greatest_ratio, typical_valves, valve_loss
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import DomainError
from slipwise.solve import network
from slipwise.solve.plan import Drive


@dataclass(frozen=True, slots=True, kw_only=True)
class Converter:
    """Rectifier, link and inverter behind one supply path. current: rated output, rms A. switching_frequency: Hz."""

    line: LineSide
    modulation: Modulation
    switching_frequency: float
    current: float

    @classmethod
    def on(
        cls,
        drive: Drive,
        *,
        voltage: float,
        current: float,
        modulation: str,
        switching_frequency: float,
        choke: str,
        choke_size: float,
    ) -> Converter:
        """A converter at the drive's terminals, rated for `voltage` (line, V) and `current` (A) at its output."""
        emf, impedance = network.thevenin(drive.supply)
        line = LineSide(
            emf=abs(emf) * sqrt(3),
            supply=complex(impedance),
            frequency=drive.supply.frequency,
            choke=Choke(choke),
            choke_size=choke_size,
            rating=sqrt(3) * voltage * current,
        )
        return cls(
            line=line,
            modulation=Modulation(modulation),
            switching_frequency=switching_frequency,
            current=current,
        )

    def top(self, link: float) -> float:
        """Greatest output voltage per phase at a link voltage (V). [V]"""
        return greatest_ratio(self.modulation) * link / sqrt(3)

    def link_at(self, power: float) -> float:
        """Link voltage when it delivers `power` (W); that without load when the supply cannot carry it. [V]"""
        try:
            return draw(self.line, max(power, 0.0)).voltage
        except DomainError:
            return self.line.emf * sqrt(2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChainState:
    """One state of the whole chain. link: line side; harmonic: in the motor; inverter, control, brake: W.

    ratio: output line voltage over link voltage. carried: False when the supply cannot carry the power; the line side is
    then that of a supply without impedance.
    """

    met: Met
    link: LinkState
    harmonic: HarmonicLoss
    inverter: float
    control: float
    brake: float
    ratio: float
    carried: bool


def settle(
    converter: Converter, motor: Motor, circuit: Circuit, solve: Callable[[float], Met], top: float
) -> ChainState:
    """Motor and converter at one demand, the link voltage found by repetition.

    solve: the motor's state for a greatest voltage per phase (V). top: greatest voltage the motor is given, V per phase.
    """
    link = 1.32 * converter.line.emf
    met: Met | None = None
    before: tuple[float, float] | None = None
    for _ in range(15):
        limit = min(top, converter.top(link))
        if met is None or bool(met.fed.limited[0]) or float(met.fed.voltage[0]) > limit or not met.reached:
            met = solve(limit)
        state = _state(converter, motor, circuit, met, link)
        excess = state.link.voltage - link
        if abs(excess) < 3e-6 * link:
            break
        # more link voltage draws more power, which lowers it: a secant on the difference, which falls all the way
        slope = -1.0 if before is None else (excess - before[1]) / (link - before[0])
        before = link, excess
        link -= excess / min(slope, -1.0)
    return state


def _state(converter: Converter, motor: Motor, circuit: Circuit, met: Met, link: float) -> ChainState:
    volts, current = float(met.fed.voltage[0]), float(met.fed.current[0])
    ratio = sqrt(3) * volts / link
    power = float(met.fed.point.input_power[0].real)
    apparent = 3 * volts * current
    harmonic = motor_harmonics(
        circuit,
        frequency=float(met.fed.frequency[0]),
        ratio=ratio,
        dc_voltage=link,
        switching_frequency=converter.switching_frequency,
        modulation=converter.modulation,
        power=motor.rating.power,
    )
    lost = float(
        valve_loss(
            typical_valves(converter.current),
            current,
            power / apparent if apparent else 0.0,
            ratio,
            link,
            converter.switching_frequency,
        )
    )
    control = converter.line.control_power
    needed = power + harmonic.total + lost + control
    side, carried = _line_side(converter.line, max(needed, 0.0))
    return ChainState(
        met=met,
        link=side,
        harmonic=harmonic,
        inverter=lost,
        control=control,
        brake=max(-needed, 0.0),
        ratio=ratio,
        carried=carried,
    )


def _line_side(line: LineSide, power: float) -> tuple[LinkState, bool]:
    try:
        return draw(line, power), True
    except DomainError:
        steps = ceil(log2(max(power / line.rating, 1.0)))  # doubled, so that the bridge is the same at the next turn
        strong = replace(line, supply=0j, choke=Choke.NONE, rating=line.rating * 2.0**steps)
        return draw(strong, power), False
