"""A plate of which not even poles, frequency or connection need be known, completed: what follows, what is likely."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor, pi

import numpy as np

from slipwise.data import Row, table
from slipwise.identify.ensemble import Ensemble, Member, draw
from slipwise.identify.plate import fit_plate
from slipwise.identify.plate_checks import RPM, fault
from slipwise.identify.plate_ensemble import MEMBERS, IdentifiedPlate, ranges_of
from slipwise.identify.records import Plate
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin, Sourced

_PRACTICE = "common practice, no source"
_STAR_BELOW = 3e3  # W, the size below which a 50 Hz motor for 380 to 415 V is usually wound for star
_HIGH_VOLTAGE = 1000.0  # V
_MOST_SLIP = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class PartialPlate:
    """Plate data of which only power (W) and line voltage (V) are certain to be there; the rest as in Plate."""

    power: float
    voltage: float
    frequency: float | None = None
    poles: int | None = None
    connection: str | None = None
    speed: float | None = None
    current: float | None = None
    power_factor: float | None = None
    efficiency: float | None = None
    locked_rotor_current_ratio: float | None = None
    locked_rotor_torque_ratio: float | None = None
    breakdown_torque_ratio: float | None = None
    pull_up_torque_ratio: float | None = None
    inertia: float | None = None
    design: str | None = None
    code_letter: str | None = None
    mechanical_loss: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One combination of frequency (Hz) and poles that the plate allows, and how likely it is. share: 0 to 1."""

    frequency: float
    poles: int
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WholePlate:
    """The likeliest complete plate, where its frame came from, and every frame that the partial plate allows."""

    plate: Plate
    filled: tuple[Sourced, ...]
    frames: tuple[Frame, ...]


def whole_plate(partial: PartialPlate) -> WholePlate:
    """Poles from speed and frequency where both are there, else the likeliest by what is in use; all others kept.

    Raises:
        InputError: no number of poles and no frequency at hand turns at the speed given.
    """
    frames = _frames(partial)
    if not frames:
        text = f"{(partial.speed or 0.0) * RPM:.5g} r/min"
        reason = "no even number of poles at the frequency turns a little faster than this"
        raise InputError(fault("rated_speed", text, reason, "check speed, poles and frequency"))
    likely = max(frames, key=lambda frame: frame.share)
    connection, why = _connection(partial, likely.frequency)
    filled = [
        *_frame_rows(partial, frames, likely),
        *([] if partial.connection else [_word("connection", connection, why)]),
    ]
    return WholePlate(plate=_plate(partial, likely, connection), filled=tuple(filled), frames=frames)


def identify_partial(partial: PartialPlate, members: int = MEMBERS, seed: int = 1) -> IdentifiedPlate:
    """As `identify_plate`, the ensemble running over every frame that the partial plate allows, by its likelihood.

    Raises:
        InputError: as `whole_plate` and `fit_plate`.
    """
    whole = whole_plate(partial)
    fit = fit_plate(whole.plate)
    shares = np.random.default_rng(seed).multinomial(members, [frame.share for frame in whole.frames])
    drawn: list[Member] = []
    missing: tuple[str, ...] = ()
    tried = 0
    for n, (frame, count) in enumerate(zip(whole.frames, shares.tolist(), strict=True)):
        if not count:
            continue
        plate = _plate(partial, frame, whole.plate.connection)
        try:
            part = draw(plate, count, seed + n)
        except InputError:  # this frame contradicts what is given
            continue
        values = {"motor.poles": float(frame.poles), "motor.rated_frequency": frame.frequency}
        drawn += [replace(member, drawn=member.drawn | values) for member in part.members]
        missing, tried = part.missing, tried + part.tried
    frame_names = tuple(
        f"motor.{name}"
        for name, values in (
            ("poles", {f.poles for f in whole.frames}),
            ("rated_frequency", {f.frequency for f in whole.frames}),
        )
        if len(values) > 1
    )
    found = Ensemble(members=tuple(drawn), missing=(*frame_names, *missing), tried=tried)
    fit = replace(fit, estimated=(*whole.filled, *fit.estimated))
    return IdentifiedPlate(fit=fit, ensemble=found, ranges=ranges_of(whole.plate, found, seed))


def _frames(partial: PartialPlate) -> tuple[Frame, ...]:
    """Frequencies by the voltage and poles by use, those kept whose synchronous speed the plate's speed allows."""
    weights: dict[tuple[float, int], float] = {}
    for frequency, likely in _frequencies(partial).items():
        for poles, share in _pole_numbers(partial, frequency).items():
            weights[frequency, poles] = likely * share
    total = sum(weights.values())
    return tuple(Frame(frequency=f, poles=p, share=w / total) for (f, p), w in weights.items() if w > 0)


def _frequencies(partial: PartialPlate) -> dict[float, float]:
    """Likelihood of each frequency: equal for those at which the voltage is common, else for all."""
    if partial.frequency is not None:
        return {partial.frequency: 1.0}
    rows = table("typical_frequencies").rows
    common = [row for row in rows if any(abs(partial.voltage / v - 1) < 0.005 for v in row["voltages"])]
    return {float(row["frequency_Hz"]): 1.0 for row in common or rows}


def _pole_numbers(partial: PartialPlate, frequency: float) -> dict[int, float]:
    """Likelihood of each number of poles at a frequency; one alone where the speed tells it."""
    if partial.poles is not None:
        poles = partial.poles
        fits = partial.speed is None or partial.frequency is not None or _slip(partial.speed, frequency, poles) > 0
        return {poles: 1.0} if fits else {}
    rows: tuple[Row, ...] = table("typical_poles").rows
    if partial.speed is None:
        return {int(row["poles"]): float(row["share"]) for row in rows}
    poles = 2 * floor(2 * pi * frequency / partial.speed)
    if poles < 2:
        return {}
    slip = _slip(partial.speed, frequency, poles)
    if not 0 < slip < _MOST_SLIP:
        return {}
    return {poles: _nearness(slip, partial.power)}


def _slip(speed: float, frequency: float, poles: int) -> float:
    return 1 - speed * poles / (4 * pi * frequency)


def _nearness(slip: float, power: float) -> float:
    """Weight of a slip among the usual ones of the size, normal in the logarithm, so that two frequencies compare."""
    from slipwise.model.machine.typical import typical_slip

    usual = typical_slip(power, 4)
    width = np.log(usual.high / usual.low) / 2 / 1.645
    return float(np.exp(-0.5 * (np.log(slip / usual.value) / width) ** 2)) + 1e-9


def _connection(partial: PartialPlate, frequency: float) -> tuple[str, str]:
    if partial.connection is not None:
        return partial.connection, ""
    if partial.voltage > _HIGH_VOLTAGE:
        return "star", f"usual above {_HIGH_VOLTAGE:.0f} V; {_PRACTICE}"
    if frequency == 50.0 and partial.power > _STAR_BELOW:
        return "delta", f"usual above {_STAR_BELOW / 1e3:.0f} kW at 50 Hz; {_PRACTICE}"
    if frequency == 50.0:
        return "star", f"usual up to {_STAR_BELOW / 1e3:.0f} kW at 50 Hz; {_PRACTICE}"
    return "delta", f"usual for low voltage at {frequency:g} Hz; {_PRACTICE}"


def _frame_rows(partial: PartialPlate, frames: tuple[Frame, ...], likely: Frame) -> list[Sourced]:
    """Where poles and frequency came from, with the others that would do."""
    rows = []
    if partial.frequency is None:
        values = sorted({frame.frequency for frame in frames})
        rows.append(_number("rated_frequency", likely.frequency, "Hz", values, f"voltage common at it; {_PRACTICE}"))
    if partial.poles is None:
        values = sorted({float(frame.poles) for frame in frames})
        why = "speed just below synchronous" if partial.speed is not None else f"the most in use; {_PRACTICE}"
        rows.append(_number("poles", float(likely.poles), "", values, why))
    return rows


def _number(name: str, value: float, unit: str, values: list[float], why: str) -> Sourced:
    sure = len(values) == 1
    origin = Origin.DERIVED if sure else Origin.ESTIMATED
    low, high = values[0], values[-1]
    return Sourced(name=f"motor.{name}", value=value, unit=unit, origin=origin, low=low, high=high, why=why)


def _word(name: str, text: str, why: str) -> Sourced:
    return Sourced(name=f"motor.{name}", value=None, unit="", origin=Origin.ASSUMED, text=text, why=why)


def _plate(partial: PartialPlate, frame: Frame, connection: str) -> Plate:
    kept = {
        name: getattr(partial, name)
        for name in PartialPlate.__dataclass_fields__
        if name not in {"frequency", "poles", "connection"}
    }
    return Plate(**kept, frequency=frame.frequency, poles=frame.poles, connection=connection)
