"""A thermal network for a cage or slip-ring motor from its losses, its insulation class and its stall times.

Rises at rated load share out the conductances; stall times and usual current densities give the heat capacities. Every
figure that was not given comes with its range; ranges are common practice, no source, unless said.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from slipwise.data import table
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import Point, operating_point
from slipwise.model.machine.typical import Typical
from slipwise.model.thermal.network import Body, Path, ThermalNetwork
from slipwise.quantity.errors import DomainError

WINDING, CAGE, IRON, FRAME = "stator winding", "rotor", "iron", "frame"
_PRACTICE = "common practice, no source"

# Between rest and rated speed the fan's part goes with speed to the power FAN_EXPONENT: a motor with its own fan then gives
# about half of rated torque for good at standstill, four fifths at a quarter of speed, nearly all at half.
STANDING_SHARE = Typical(value=0.30, low=0.16, high=0.40, source=f"own fan at rest, {_PRACTICE}")
FAN_EXPONENT = 0.45
IRON_RISE = Typical(value=0.75, low=0.65, high=0.85, source=f"share of the winding's rise, {_PRACTICE}")
FRAME_RISE = Typical(value=0.55, low=0.4, high=0.7, source=f"share of the winding's rise, {_PRACTICE}")
ROTOR_RISE = Typical(value=1.3, low=1.0, high=1.7, source=f"share of the winding's rise, {_PRACTICE}")
WOUND_RISE = Typical(
    value=1.0, low=0.8, high=1.3, source=f"wound rotor, share of the stator winding's rise, {_PRACTICE}"
)
# Copper at 4 to 8 A/mm2 warms by 0.1 to 0.4 K/s without cooling.
WARMING = Typical(value=0.2, low=0.1, high=0.4, source=f"winding at rated current without cooling, {_PRACTICE}")
# Bars of a cage may reach this in a stall; brazed and cast cages differ.
CAGE_LIMIT = Typical(value=300.0, low=250.0, high=350.0, source=f"bars at the end of a permitted stall, {_PRACTICE}")
WINDING_LIMIT = Typical(value=185.0, low=170.0, high=200.0, source=f"class F winding for a short time, {_PRACTICE}")
HOT_STALL = Typical(value=12.0, low=6.0, high=20.0, source=f"safe stall time from hot, {_PRACTICE}")
FRAME_CONSTANT = Typical(
    value=2400.0, low=1200.0, high=4800.0, source=f"heating time constant of the whole motor, {_PRACTICE}"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedLosses:
    """Losses at rated voltage, frequency and slip, three-phase. [W]"""

    stator: float
    rotor: float
    core: float
    other: float  # friction, windage, stray

    @property
    def total(self) -> float:
        return self.stator + self.rotor + self.core + self.other


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What the user knows; None where not. rise: of the winding at rated load [K]; constant: of the whole motor [s]."""

    insulation: str = "F"
    rise: float | None = None
    constant: float | None = None
    ambient: float = 40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One figure behind the network: dotted name, its typical value with range, in `unit`."""

    name: str
    typical: Typical
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalMotor:
    """The network, the losses it was built on, and what had to be estimated."""

    network: ThermalNetwork
    losses: RatedLosses
    estimates: tuple[Estimate, ...]
    wound: bool = False

    @property
    def limit_sources(self) -> dict[str, str]:
        """Where the limit of each body comes from."""
        rotor = WINDING_LIMIT if self.wound else CAGE_LIMIT
        return {WINDING: WINDING_LIMIT.source, CAGE: rotor.source}


def rated_losses(motor: Motor) -> RatedLosses:
    """Losses of the circuit at rated slip, with friction and stray loss.

    Raises:
        DomainError: the motor is known by its curves only.
    """
    rating, circuit = motor.rating, motor.circuit
    if circuit is None:
        raise DomainError.of(
            "motor.circuit", "", "heat needs losses, and curves do not tell them", "give a circuit or plate"
        )
    at = operating_point(circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    friction = float(motor.mechanical_torque(rating.speed)) * rating.speed
    return RatedLosses(
        stator=float(at.stator_loss), rotor=float(at.rotor_loss), core=float(at.core_loss), other=friction + motor.stray
    )


def class_rise(insulation: str, power: float) -> float:
    """Permitted rise of an insulation class by resistance. [K] Source: IEC 60034-1, Table 8.

    Raises:
        DomainError: the class is not in the table.
    """
    row = table("temperature_rise").find(**{"class": insulation})
    if row is None:
        known = ", ".join(r["class"] for r in table("temperature_rise").rows)
        raise DomainError.of("thermal.insulation", insulation, "there is no such class", f"write one of {known}")
    return float(row["rise_to_600W_K"] if power <= 600 else row["rise_K"])


def thermal_motor(motor: Motor, given: Given) -> ThermalMotor:
    """Network of stator winding, rotor, iron and frame that shows the rated rises, stall times and time constant.

    A cage stores heat as its stall time tells; a wound rotor is a winding like that of the stator, with its limit.

    Raises:
        DomainError: no circuit, or an unknown insulation class.

    Source: heat balance at rated load; adiabatic heating at standstill (IEEE 620 on thermal limits, from memory).
    """
    losses = rated_losses(motor)
    rise, rise_estimate = _rise(given, motor.rating.power)
    wound = motor.wound_ratio is not None
    share = WOUND_RISE if wound else ROTOR_RISE
    iron, frame, rotor = (part.value * rise for part in (IRON_RISE, FRAME_RISE, share))
    shed = losses.total / frame
    paths = (
        _path(WINDING, IRON, losses.stator / (rise - iron)),
        _path(CAGE, IRON, losses.rotor / (rotor - iron), standing=0.5),
        _path(IRON, FRAME, (losses.total - losses.other) / (iron - frame)),
        _path(FRAME, "", shed, standing=STANDING_SHARE.value),
    )
    winding_heat = _winding_capacity(motor, losses, rise + given.ambient)
    if wound:
        rotor_limit, stall_estimates = WINDING_LIMIT, list[Estimate]()
        rotor_heat = _stalling(motor, losses.rotor, float(_standstill(motor).rotor_loss), rotor + given.ambient)
    else:
        rotor_limit = CAGE_LIMIT
        rotor_heat, stall_estimates = _cage_capacity(motor, rotor + given.ambient)
    rest = max((given.constant or FRAME_CONSTANT.value) * shed - winding_heat - rotor_heat, 0.2 * winding_heat)
    bodies = (
        Body(name=WINDING, heat_capacity=winding_heat, limit=WINDING_LIMIT.value),
        Body(name=CAGE, heat_capacity=rotor_heat, limit=rotor_limit.value),
        Body(name=IRON, heat_capacity=0.7 * rest),
        Body(name=FRAME, heat_capacity=0.3 * rest),
    )
    estimates = [*rise_estimate, *stall_estimates, *_always(share)]
    if given.constant is None:
        estimates.append(Estimate(name="thermal.time_constant", typical=FRAME_CONSTANT, unit="s"))
    network = ThermalNetwork(bodies=bodies, paths=paths)
    return ThermalMotor(network=network, losses=losses, estimates=tuple(estimates), wound=wound)


def _rise(given: Given, power: float) -> tuple[float, list[Estimate]]:
    if given.rise is not None:
        return given.rise, []
    usual = class_rise("B" if given.insulation in ("F", "H") else given.insulation, power)
    most = class_rise(given.insulation, power)
    source = (
        f"class {given.insulation} insulation used at the rise of the class below, {_PRACTICE}; IEC 60034-1, Table 8"
    )
    typical = Typical(value=usual, low=0.75 * usual, high=most, source=source)
    return usual, [Estimate(name="thermal.winding_rise", typical=typical, unit="K")]


def _path(begin: str, to: str, running: float, standing: float = 1.0) -> Path:
    return Path(begin=begin, to=to, running=running, standing=running * standing)


def _winding_capacity(motor: Motor, losses: RatedLosses, hot: float) -> float:
    """Heat capacity of the stator winding [J/K], see `_stalling`."""
    return _stalling(motor, losses.stator, float(_standstill(motor).stator_loss), hot)


def _stalling(motor: Motor, rated: float, standing: float, hot: float) -> float:
    """Heat capacity of a winding with the losses `rated` and `standing` (W, at rated slip and at standstill). [J/K]

    Large enough that a stated hot stall time does not take it from `hot` (degC) past its limit.
    """
    usual = rated / WARMING.value
    if motor.stall.hot is None:
        return usual
    return max(usual, standing * motor.stall.hot / max(WINDING_LIMIT.value - hot, 20.0))


def _standstill(motor: Motor) -> Point:
    """The circuit at standstill and rated voltage."""
    rating, circuit = motor.rating, motor.circuit
    assert circuit is not None
    return operating_point(circuit, 1.0, rating.phase_voltage, rating.frequency, rating.synchronous_speed)


def _cage_capacity(motor: Motor, hot: float) -> tuple[float, list[Estimate]]:
    """Heat capacity that brings the rotor from `hot` (degC) to its limit in the hot stall time. [J/K]"""
    loss = float(_standstill(motor).rotor_loss)
    known = motor.stall.hot
    estimates = [Estimate(name="thermal.rotor_limit", typical=CAGE_LIMIT, unit="degC")]
    if known is None and motor.stall.cold is not None:
        return loss * motor.stall.cold / (CAGE_LIMIT.value - 20.0), estimates
    if known is None:
        estimates.append(Estimate(name="motor.stall_time_hot", typical=HOT_STALL, unit="s"))
    return loss * (known or HOT_STALL.value) / max(CAGE_LIMIT.value - hot, 50.0), estimates


def _always(rotor: Typical) -> list[Estimate]:
    return [
        Estimate(name="thermal.standing_cooling", typical=STANDING_SHARE, unit="pu"),
        Estimate(name="thermal.iron_rise_share", typical=IRON_RISE, unit="pu"),
        Estimate(name="thermal.frame_rise_share", typical=FRAME_RISE, unit="pu"),
        Estimate(name="thermal.rotor_rise_share", typical=rotor, unit="pu"),
        Estimate(name="thermal.winding_warming", typical=WARMING, unit="K/s"),
        Estimate(name="thermal.winding_limit", typical=WINDING_LIMIT, unit="degC"),
    ]


def fan_cooling(speed: float) -> float:
    """Share of the fan's own part of the cooling at a speed per unit of rated: 0 at rest, 1 from rated speed on. [1]

    Source: see FAN_EXPONENT, common practice, no source.
    """
    return float(min(max(abs(speed), 0.0), 1.0) ** FAN_EXPONENT)


def adiabatic_stall_time(limit: float, begin: float, heat_capacity: float, loss: float) -> float:
    """Seconds of standstill from `begin` to `limit` (degC) at `loss` (W) without cooling; infinite without loss. [s]

    Source: heat balance of one body; the loss goes with the square of the voltage, the time with its inverse.
    """
    return inf if loss <= 0 else max(limit - begin, 0.0) * heat_capacity / loss


def cage_rise(energy: float, mass: float, specific_heat: float = 900.0) -> float:
    """Adiabatic rise of a cage of `mass` (kg) that takes `energy` (J). [K] Specific heat of aluminium by default, J/kg K."""
    return energy / (mass * specific_heat)
