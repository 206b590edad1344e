"""The values of a study's motor under the symbols of the formulas, and what the whole computation says of some of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isfinite
from typing import Any

import numpy as np

from slipwise.model.machine.temperature import temperature_constant
from slipwise.quantity.provenance import Origin
from slipwise.results.start import Outcome
from slipwise.solve import network
from slipwise.solve.plan import Stage, settled
from slipwise.solve.run_up import run_up
from slipwise.solve.steady import solve
from slipwise.study.model import Study
from slipwise.study.points import RUNNING, drive_of
from slipwise.teach.claims.at_rest import STAR
from slipwise.teach.claims.motor import Machine, machine_of
from slipwise.teach.formulas.build import unit_of
from slipwise.teach.steps import Known

CHOSEN = "chosen for the example"
_RELATIVE = 1e-7
_RATED = ", as it holds at rated slip"
_REST = ", as it holds at standstill"


def values(study: Study) -> dict[str, Known]:
    """What is known of the study, by symbol. Values that were entered keep their text.

    The rotor stands as one resistance and one reactance, which hold at rated slip (R2, X2) and at standstill (R2_l, X2_l): with
    one cage and constant reactances both are those of the circuit.

    Raises:
        InputError: the motor is known by typed curves only.
    """
    machine = machine_of(study)
    found = (*_plate(study), *_circuit(machine), *_starting(study, machine), *_load(study))
    return {item.symbol: item for item in found}


def _known(symbol: str, value: Any, name: str, text: str = "", unit: str | None = None) -> Known:
    number = complex(value) if np.iscomplexobj(value) else float(value)
    return Known(symbol=symbol, value=number, unit=unit_of(symbol) if unit is None else unit, name=name, text=text)


def _plate(study: Study) -> Iterator[Known]:
    said: Mapping[str, str] = {row.name: row.text for row in study.inputs if row.origin is Origin.GIVEN}
    rating = study.motor.rating
    for symbol, key, value, name in (
        ("U", "rated_voltage", rating.voltage, "rated voltage"),
        ("f", "rated_frequency", rating.frequency, "rated frequency"),
        ("poles", "poles", rating.poles, "number of poles"),
        ("P_n", "rated_power", rating.power, "rated power"),
        ("omega_n", "rated_speed", rating.speed, "rated speed"),
        ("I_n", "rated_current", rating.current, "rated current"),
    ):
        yield _known(symbol, value, name, said.get(f"motor.{key}", ""))
    yield _known("omega_s", rating.synchronous_speed, "synchronous speed")
    yield _known("U_p", rating.phase_voltage, "phase voltage of the star equivalent")
    yield _known("s_n", rating.slip, "rated slip")
    yield _known("T_n", rating.torque, "rated torque")


def _circuit(machine: Machine) -> Iterator[Known]:
    rating = machine.motor.rating
    for slip, mark, words in ((rating.slip, "", _RATED), (1.0, "_l", _REST)):
        solved = machine.solved(slip)
        rotor = slip / solved.circuit.rotor_admittance(slip, rating.frequency)
        yield _known(f"X1{mark}", solved.circuit.X1, f"stator leakage reactance{words}")
        yield _known(f"R2{mark}", rotor.real, f"rotor resistance{words}")
        yield _known(f"X2{mark}", rotor.imag / slip, f"rotor reactance{words}")
        if not mark:
            yield _known("Xm", solved.circuit.Xm, "magnetising reactance")
            yield _known("I_1", solved.point.stator_current, "stator current at rated slip")
            yield _known("E", solved.point.gap_voltage, "voltage behind the stator impedance")
    yield _known("R1", machine.circuit.R1, "stator resistance")
    if isfinite(machine.circuit.Rfe):
        yield _known("Rfe", machine.circuit.Rfe, "core-loss resistance")
    mechanical = float(machine.motor.mechanical_torque(rating.speed)) * rating.speed
    stray = float(machine.motor.stray_torque(rating.speed, rating.current)) * rating.speed
    yield _known("P_fw", mechanical + stray, "friction, windage and stray loss")
    if machine.motor.wound_ratio is not None:
        yield _known("a", machine.motor.wound_ratio, "stator over rotor voltage at open rings")
        yield _known("n_m", 1 / machine.motor.wound_ratio, "rotor over stator voltage at open rings")
    metal = machine.motor.stator_conductor
    yield _known("t_m", machine.motor.stator_temperature, "temperature at which R1 holds", unit="degC")
    yield _known("k_t", temperature_constant(metal), f"constant of {metal}", unit="degC")


def _starting(study: Study, machine: Machine) -> Iterator[Known]:
    """Standstill by the whole circuit, and the supply as the motor sees it."""
    rest, rating = machine.point(1.0), machine.motor.rating
    slip, torque = machine.breakdown_torque()
    impedance = rating.phase_voltage / rest.stator_current
    yield _known("I_l", abs(rest.stator_current), "line current at rest, rated voltage")
    yield _known("T_l", rest.torque, "torque at rest, rated voltage")
    yield _known("T_b", torque, "breakdown torque")
    yield _known("s_b", slip, "breakdown slip")
    yield _known("Z_M", impedance, "impedance of the motor at rest")
    yield _known("R_k", impedance.real, "resistance of the motor at rest")
    yield _known("X_k", impedance.imag, "reactance of the motor at rest")
    _, behind = network.thevenin(study.supply.nominal)
    if abs(behind) > 0:
        yield _known("Z_S", behind, "impedance of the supply at the terminals")
        yield _known("S_k", rating.voltage**2 / abs(behind), "fault level at the terminals")


def _load(study: Study) -> Iterator[Known]:
    drive = drive_of(study)
    speeds = np.linspace(0.0, study.motor.rating.speed, 201)
    yield _known("J", drive.inertia, "inertia of rotor and load")
    yield _known("T_L", float(np.mean(drive.load.torque(speeds))), "load torque, mean over the run-up")


def whole(study: Study, known: Mapping[str, Known]) -> dict[str, float]:
    """What the whole computation gives where formulas shorten it, by the symbols of the recipes. [SI]"""
    machine, rating = machine_of(study), study.motor.rating
    stiff, supplied = drive_of(study, stiff=True), drive_of(study)
    running = solve(stiff, RUNNING, rating.speed)
    star = solve(stiff, STAR, 0.0)
    before = abs(network.prestart(study.supply.nominal).terminals)
    rest = solve(supplied, RUNNING, 0.0)
    direct = (Stage(name="direct", until=settled()),)
    start = run_up(direct, stiff, relative=_RELATIVE)
    half = machine.breakdown_torque(0.5, 0.5)[1]
    found = {
        "I_1": abs(complex(known["I_1"].value)),
        "P_2": float(running.torque) * rating.speed,
        "eta": float(running.torque) * rating.speed / float(running.power),
        "T_b": float(known["T_b"].value.real),
        "s_b": float(known["s_b"].value.real),
        "I_Y": float(star.line),
        "T_Y": float(star.electromagnetic),
        "d": 1 - float(abs(rest.busbars[-1])) / float(before),
        "T_f": half,
    }
    if start.outcome is Outcome.ARRIVED and start.run_up_time is not None:
        found |= {"t_a": start.run_up_time, "W_2": start.rotor_heat}
    return found
