"""What a recorded start is fitted with: the unknowns, what is thought of them beforehand, and the model's answer to them."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log, pi, sqrt
from typing import Any

import numpy as np

from slipwise.identify import start_fit_kernel as k
from slipwise.identify.recording_clean import Cleaned
from slipwise.identify.start_fit_rms import as_recorded
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.results.series import Array

STEP = 1e-30  # of the complex step: as small as one likes, nothing is subtracted
LARGEST_TURN = 0.25  # radians of the line's turn in one Runge-Kutta step


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """One unknown: before the recording it is normal about `centre` with `spread`, of the logarithm where `log`.

    unit "" and log False for load terms and fluxes, which are per unit of rated torque and rated flux.
    """

    name: str
    symbol: str
    unit: str
    centre: float
    spread: float
    log: bool
    scale: float = 1.0  # SI worth of one


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StartModel:
    """Motor equations driven by the recorded voltage. `unknowns` fixes the order of the vector x everywhere.

    exponents: of the load terms against speed over synchronous speed.
    """

    data: Cleaned
    rating: Rating
    cages: int
    exponents: tuple[float, ...]
    unknowns: tuple[Unknown, ...]
    begin_speed: float

    @property
    def centre(self) -> Array:
        return np.array([unknown.centre for unknown in self.unknowns])

    @property
    def spread(self) -> Array:
        return np.array([unknown.spread for unknown in self.unknowns])

    def values(self, x: Any) -> Any:
        """SI values of the unknowns: exp(x) or x, times their scale."""
        x = np.asarray(x)
        logs = np.array([unknown.log for unknown in self.unknowns])
        scale = np.array([unknown.scale for unknown in self.unknowns])
        return np.where(logs, np.exp(np.where(logs, x, 0.0)), x) * scale

    def place(self, symbol: str) -> int:
        """Where an unknown stands in x."""
        return [unknown.symbol for unknown in self.unknowns].index(symbol)

    def answer(self, x: Any, voltage: Any = None) -> Any:
        """Current (d, q), speed, torque, acceleration at the samples: shape (n, 5), complex when x is.

        voltage: in place of the recorded one.
        """
        u = self.data.voltage if voltage is None else voltage
        packed = self._packed(np.asarray(x, dtype=complex))

        def run(driven: Any, step: float) -> Any:
            parts = max(1, ceil(2 * pi * self.rating.frequency * step / LARGEST_TURN))
            out = np.empty((driven.size, k.COLUMNS), dtype=complex)
            real, imaginary = np.ascontiguousarray(driven.real), np.ascontiguousarray(driven.imag)
            omega = 2 * pi * self.data.frequency
            k.compiled()(packed, len(self.exponents), self.cages, real, imaginary, omega, step, parts, out)
            return out

        if self.data.waveform:
            return run(u, self.data.step)
        return as_recorded(run, u.real, self.data.step, self.data.frequency, np.asarray(x)[self.place("delay")])

    def sensitivities(self, x: Array, voltage: Any = None) -> tuple[Array, Array]:
        """Answer, shape (n, 5), and its derivatives by x, shape (len(x), n, 5), exact to rounding."""
        found = []
        for j in range(x.size):
            moved = x.astype(complex)
            moved[j] += 1j * STEP
            found.append(self.answer(moved, voltage))
        return found[0].real, np.array([out.imag / STEP for out in found])

    def _packed(self, x: Any) -> Any:
        """The kernel's vector."""
        v = dict(zip([unknown.symbol for unknown in self.unknowns], self.values(x), strict=True))
        w = 2 * pi * self.rating.frequency
        head = [
            v["R1"], w / v["X1"], w / v["Xm"], 1 / v["Rfe"], v["J"], self.rating.poles / 2,
            self.rating.synchronous_speed, v["flux d"], v["flux q"], self.begin_speed,
            v["Ps"] / 2 / (self.rating.current * self.rating.speed) ** 2,
        ]  # fmt: skip
        terms = [number for i, e in enumerate(self.exponents) for number in (v[f"T{i}"], e)]
        cages = [number for r, x in CAGES[: self.cages] for number in (v[r], w / v[x])]
        return np.array([*head, *terms, *cages], dtype=complex)

    def circuit(self, x: Array) -> Circuit:
        """Circuit values of an x."""
        v = dict(zip([unknown.symbol for unknown in self.unknowns], self.values(x), strict=True))
        rotor = tuple(RotorBranch(R=float(v[r]), X=float(v[c])) for r, c in CAGES[: self.cages])
        return Circuit(
            frequency=self.rating.frequency,
            R1=float(v["R1"]),
            X1=float(v["X1"]),
            Xm=float(v["Xm"]),
            Rfe=float(v["Rfe"]),
            rotor=rotor,
        )

    def load_rows(self, speed: Array) -> Array:
        """Resisting torque at `speed` is load_rows @ x[load places]; shape (len(speed), terms). [N m]"""
        ratio = np.asarray(speed) / self.rating.synchronous_speed
        return self.rating.torque * np.array([ratio**e if e else np.ones_like(ratio) for e in self.exponents]).T

    @property
    def load_places(self) -> list[int]:
        return [self.place(f"T{i}") for i in range(len(self.exponents))]


CAGES = (("R2", "X2"), ("R3", "X3"))
SPREADS = {"R1": 0.5, "X1": 0.4, "Xm": 0.4, "R2": 0.7, "X2": 0.6, "R3": 0.8, "X3": 0.8, "Rfe": 0.7}
"""Standard deviations of the logarithms before the recording: circuit values follow from the plate within a factor of
about exp(2 x spread) either way (common practice, no source)."""
NAMES = {
    "R1": "stator resistance",
    "X1": "stator leakage reactance",
    "Xm": "magnetising reactance",
    "Rfe": "core-loss resistance",
    "Ps": "stray load loss at rated load",
    "R2": "rotor resistance",
    "X2": "rotor leakage reactance",
    "R3": "resistance of the second cage",
    "X3": "leakage reactance of the second cage",
}
STRAY_SPREAD = 0.7  # of its logarithm: allowances and tests differ by such factors (common practice, no source)
LEAST_STRAY = 0.003  # of rated power
INERTIA_SPREAD = 1.5
LOAD_SPREAD = 0.7  # of each load term, per unit of rated torque
FLUX_SPREAD = 0.1  # of the stator flux at the first sample, per unit of rated: switching lies between two samples


def model_of(data: Cleaned, motor: Motor, cages: int, exponents: tuple[float, ...], begin_speed: float) -> StartModel:
    """The model with its unknowns about a motor that is thought likely (as fitted to the plate).

    cages: 1 or 2; one cage is the pair's impedance at slip 0.3.   begin_speed: of the shaft at the first sample. [rad/s]
    """
    rating = motor.rating
    assert motor.circuit is not None
    likely = _likely(motor.circuit, cages)
    unknowns = [
        Unknown(name=NAMES[s], symbol=s, unit="ohm", centre=log(value), spread=SPREADS[s], log=True)
        for s, value in likely.items()
    ]
    unknowns.append(
        Unknown(
            name="inertia of rotor and load",
            symbol="J",
            unit="kg m2",
            centre=log(3 * motor.inertia),
            spread=INERTIA_SPREAD,
            log=True,
        )
    )
    unknowns.append(
        Unknown(
            name=NAMES["Ps"],
            symbol="Ps",
            unit="W",
            centre=log(max(motor.stray, LEAST_STRAY * rating.power)),
            spread=STRAY_SPREAD,
            log=True,
        )
    )
    share = 0.6 / len(exponents)
    for i, e in enumerate(exponents):
        name = "resisting torque, constant part" if e == 0 else f"resisting torque, part with speed^{e:g}"
        unknowns.append(
            Unknown(
                name=f"{name}, at synchronous speed",
                symbol=f"T{i}",
                unit="N m",
                centre=share,
                spread=LOAD_SPREAD,
                log=False,
                scale=rating.torque,
            )
        )
    flux = sqrt(2) * rating.phase_voltage / (2 * pi * rating.frequency)
    for axis in "dq":
        unknowns.append(
            Unknown(
                name=f"stator flux at the first sample, {axis}",
                symbol=f"flux {axis}",
                unit="V s",
                centre=0.0,
                spread=FLUX_SPREAD,
                log=False,
                scale=flux,
            )
        )
    if not data.waveform:
        unknowns.append(
            Unknown(
                name="switching on after the first sample",
                symbol="delay",
                unit="s",
                centre=0.5 * data.step,
                spread=0.5 * data.step,
                log=False,
            )
        )
    return StartModel(
        data=data,
        rating=rating,
        cages=cages,
        exponents=exponents,
        unknowns=tuple(unknowns),
        begin_speed=begin_speed,
    )


def _likely(circuit: Circuit, cages: int) -> dict[str, float]:
    rated = abs(circuit.Xm)
    core = circuit.Rfe if np.isfinite(circuit.Rfe) else 30 * rated
    found = {"R1": circuit.R1, "X1": circuit.X1, "Xm": circuit.Xm, "Rfe": core}
    branches = circuit.rotor[:cages]
    if cages == 1 and len(circuit.rotor) > 1:
        z = 0.3 / circuit.rotor_admittance(0.3, circuit.frequency)
        branches = (RotorBranch(R=float(z.real), X=float(z.imag / 0.3)),)
    if cages > len(branches):
        only = branches[0]
        branches = (RotorBranch(R=3 * only.R, X=0.5 * only.X), RotorBranch(R=1.5 * only.R, X=1.5 * only.X))
    for (r, x), branch in zip(CAGES, branches, strict=False):
        found[r], found[x] = branch.R, max(branch.X, 0.05 * circuit.X1)
    return found
