"""For every headline number: which formula, which inputs with their origin, which source, or which integration."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from slipwise.limits.current import PEAK_TORQUE, peak_torque
from slipwise.limits.heat import SHARE, equivalent_stall, locked_rotor
from slipwise.limits.torque_margin import MARGIN
from slipwise.limits.voltage import DIP, TERMINAL
from slipwise.model.machine.formulas import (
    RATED_SLIP,
    RATED_TORQUE,
    SYNCHRONOUS_SPEED,
    circuit_values,
    locked_rotor_current,
    locked_rotor_torque,
)
from slipwise.model.machine.saturated import is_saturable, saturated_point
from slipwise.quantity.formula import Formula
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion
from slipwise.results.study import Explanation, Input, Setting
from slipwise.study.judging import Evidence
from slipwise.study.model import Study

_MOTION = "equation of motion J dw/dt = T - T_load, Dormand-Prince 5(4) on the steady torque"
_TEXTBOOK = "Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 2 and 6"
_STEADY = "equivalent circuit and supply path solved together at each speed of the start; the extreme is taken"
_TRANSIENT = (
    "space-vector equations integrated through every switching, over the switching angle; peaks on the dense output"
)


def explain_motor(study: Study) -> tuple[Explanation, ...]:
    """Synchronous speed, rated torque and slip, locked-rotor current and torque of the study's motor."""
    rating, circuit = study.motor.rating, study.motor.circuit
    say = Speaker(study.inputs)
    synchronous = ("motor.synchronous_speed", rating.synchronous_speed)
    speed, volts = ("motor.rated_speed", rating.speed), ("motor.rated_voltage", rating.voltage)
    turning = {"f": ("motor.rated_frequency", rating.frequency), "poles": ("motor.poles", float(rating.poles))}
    found = [
        say.by(SYNCHRONOUS_SPEED, "motor.synchronous_speed", turning),
        say.by(RATED_TORQUE, "motor.torque", {"P_n": ("motor.rated_power", rating.power), "omega_n": speed}),
        say.by(RATED_SLIP, "motor.slip", {"omega_s": synchronous, "omega_n": speed}),
    ]
    if circuit is None:
        return tuple(found)
    at_rest = saturated_point(circuit, 1.0, rating.phase_voltage, rating.frequency, rating.synchronous_speed).circuit
    where = "reactances as they hold at the standstill current" if is_saturable(circuit) else ""
    values = {name: (f"motor.circuit.{name}", float(value)) for name, value in circuit_values(at_rest).items()}
    with_volts = {"U": volts, **values}
    found.append(say.by(locked_rotor_current(at_rest), "motor.locked_rotor_current", with_volts, where))
    torque = locked_rotor_torque(at_rest)
    found.append(say.by(torque, "motor.locked_rotor_torque", {**with_volts, "omega_s": synchronous}, where))
    return tuple(found)


def explain_way(
    key: str, evidence: Evidence, rows: Sequence[Criterion], settings: Sequence[Setting]
) -> tuple[Explanation, ...]:
    """One explanation for each setting and each criterion of one way, named `way.setting` and `way.criterion`."""
    found = [_setting(key, setting) for setting in settings if setting.value is not None]
    found += [_criterion(key, row, evidence) for row in rows if row.value is not None]
    return tuple(found)


class Speaker:
    """Builds explanations with the origin of each input as the study has it."""

    def __init__(self, inputs: Iterable[Sourced]) -> None:
        self._known: Mapping[str, Sourced] = {row.name: row for row in inputs}

    def by(self, formula: Formula, name: str, inputs: Mapping[str, tuple[str, float]], method: str = "") -> Explanation:
        """The formula evaluated with its inputs: symbol to (dotted name, value in SI)."""
        rows = tuple(
            self.input(symbol, place, value, formula.units[symbol]) for symbol, (place, value) in inputs.items()
        )
        value = formula.evaluate(**{row.symbol: row.value for row in rows})
        return Explanation(
            name=name,
            title=formula.title,
            value=float(value.real),
            unit=formula.result_unit,
            formula=formula.key,
            expression=formula.expression,
            inputs=rows,
            source=formula.source,
            method=method,
            symbol=formula.symbol,
        )

    def input(self, symbol: str, place: str, value: float, unit: str) -> Input:
        """One input; derived unless the study's own list says otherwise."""
        known = self._known.get(place)
        same = known is not None and known.value is not None and np.isclose(known.value, value, rtol=1e-9)
        if known is None or not same:
            return Input(symbol=symbol, name=place, value=value, unit=unit, origin=Origin.DERIVED.value)
        return Input(symbol=symbol, name=place, value=value, unit=unit, origin=known.origin.value, text=known.text)


def _setting(key: str, setting: Setting) -> Explanation:
    return Explanation(
        name=f"{key}.{setting.key}",
        title=setting.title,
        value=float(setting.value or 0.0),
        unit=setting.unit,
        formula="",
        expression="",
        inputs=(),
        source=setting.origin,
        method=setting.why,
    )


def _criterion(key: str, row: Criterion, evidence: Evidence) -> Explanation:
    kind, _, which = row.key.partition(":")
    say = Speaker(evidence.study.inputs)
    name = f"{key}.{row.key}"
    build = _BUILDERS.get(kind)
    return build(say, name, row, which, evidence) if build else _integrated(name, row, _STEADY, evidence)


def _dip(say: Speaker, name: str, row: Criterion, busbar: str, evidence: Evidence) -> Explanation:
    run_up = evidence.run_ups[row.case]
    place = run_up.busbars.index(busbar)
    lowest = int(run_up.busbar_voltage[place].argmin())
    where = f"{_STEADY}; lowest {show(float(run_up.time[lowest]), 's')} after switching on, {row.case} case"
    before, least = float(run_up.prestart_voltage[place]), float(run_up.busbar_voltage[place, lowest])
    return say.by(DIP, name, {"U_0": (f"{busbar} before", before), "U_min": (f"{busbar} lowest", least)}, where)


def _terminal(say: Speaker, name: str, row: Criterion, _which: str, evidence: Evidence) -> Explanation:
    run_up = evidence.run_ups[row.case]
    terminals = evidence.study.supply.nominal.busbars[-1]
    inputs = {
        "U_min": (f"{terminals.name} lowest", float(run_up.busbar_voltage[-1].min())),
        "U_bus": (f"{terminals.name} nominal", terminals.nominal * terminals.referral),
        "U_n": ("motor.rated_voltage", evidence.study.motor.rating.voltage),
    }
    return say.by(TERMINAL, name, inputs, f"{_STEADY}; {row.case} case")


def _margin(say: Speaker, name: str, row: Criterion, _which: str, evidence: Evidence) -> Explanation:
    gap = evidence.gaps[row.case]
    inputs = {
        "T": ("motor torque there", gap.motor),
        "T_L": ("load torque there", gap.load),
        "T_n": ("motor.torque", evidence.study.motor.rating.torque),
    }
    return say.by(MARGIN, name, inputs, f"{row.case} case, stage {gap.stage}, at {show(gap.speed, 'rad/s')}")


def _heat(say: Speaker, name: str, row: Criterion, state: str, evidence: Evidence) -> Explanation:
    motor = evidence.cases[row.case].motor
    seconds = equivalent_stall(evidence.run_ups[row.case], locked_rotor(motor).winding_current)
    limit = seconds / float(row.value or 1.0)
    words = f"t_e: integral of (winding current over that at standstill and rated voltage) squared, {row.case} case"
    inputs = {"t_e": ("equivalent stall time", seconds), "t_stall": (f"motor.stall.{state}", limit)}
    return say.by(SHARE, name, inputs, words)


def _peak_torque(say: Speaker, name: str, row: Criterion, _which: str, evidence: Evidence) -> Explanation:
    band = evidence.bands[row.case]
    inputs = {
        "T_peak": ("peak air-gap torque", peak_torque(band)),
        "T_n": ("motor.torque", evidence.study.motor.rating.torque),
    }
    return say.by(PEAK_TORQUE, name, inputs, f"{_TRANSIENT}; {row.case} case")


def _peak_current(_say: Speaker, name: str, row: Criterion, _which: str, evidence: Evidence) -> Explanation:
    return _integrated(name, row, _TRANSIENT, evidence)


def _time(_say: Speaker, name: str, row: Criterion, _which: str, evidence: Evidence) -> Explanation:
    return _integrated(name, row, f"{_MOTION}; time to 99 % of the final speed", evidence)


def _speed(_say: Speaker, name: str, row: Criterion, _which: str, evidence: Evidence) -> Explanation:
    return _integrated(name, row, f"{_MOTION}; speed at its end", evidence)


def _running(_say: Speaker, name: str, row: Criterion, _which: str, evidence: Evidence) -> Explanation:
    return _integrated(name, row, f"{_MOTION}; voltage of the running point at its end", evidence)


def _change(_say: Speaker, name: str, row: Criterion, which: str, evidence: Evidence) -> Explanation:
    return _integrated(name, row, f"{_MOTION}; course of the voltage at {which}", evidence)


_BUILDERS = {
    "running_voltage": _running,
    "steady_change": _change,
    "change_time": _change,
    "dip": _dip,
    "terminal_voltage": _terminal,
    "torque_margin": _margin,
    "heat": _heat,
    "shaft_torque": _peak_torque,
    "peak_current": _peak_current,
    "run_up_time": _time,
    "arrives": _speed,
}


def _integrated(name: str, row: Criterion, method: str, evidence: Evidence) -> Explanation:
    """A number that comes out of an integration or a scan, with the data that weigh most in it."""
    study = evidence.study
    say = Speaker(study.inputs)
    drive = evidence.cases[row.case].drive
    return Explanation(
        name=name,
        title=row.title,
        value=float(row.value or 0.0),
        unit=row.unit,
        formula="",
        expression="",
        inputs=(
            say.input("J", "inertia of rotor and load", study.motor.inertia + study.load.inertia, "kg m2"),
            say.input("U", "source voltage in this case", drive.supply.voltage, "V"),
            say.input("f", "motor.rated_frequency", study.motor.rating.frequency, "Hz"),
        ),
        source=_TEXTBOOK,
        method=f"{method}; {row.case} case",
    )
