"""Why the numbers of a stop are what they are."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from slipwise.limits.current import PEAK_TORQUE, peak_torque
from slipwise.limits.voltage import DIP
from slipwise.methods.stopping.braking_resistor import OHMS, BrakingResistor
from slipwise.methods.stopping.plugging import HEAT, Plugging
from slipwise.model.machine.direct_current import TORQUE
from slipwise.quantity.formula import Formula
from slipwise.results.criteria import Criterion
from slipwise.results.stopping import Stop, StopRate, StopWayResult
from slipwise.results.study import Explanation
from slipwise.study.cases import NOMINAL
from slipwise.study.explain import Speaker
from slipwise.study.model import Study
from slipwise.study.stopping.way import StopAnswer

KINETIC = Formula(
    key="stopping.kinetic",
    title="Energy of motion before the stop",
    symbol="W_k",
    expression="J * omega**2 / 2",
    units={"J": "kg m2", "omega": "rad/s"},
    source="definition",
    validity="rigid shaft",
    result_unit="J",
)
BALANCE = Formula(
    key="stopping.balance",
    title="Stops an hour from the heat balance",
    symbol="z",
    expression="3600 * P_v / (W_stop + W_start)",
    units={"P_v": "W", "W_stop": "J", "W_start": "J"},
    source="Pillai, A First Course on Electrical Drives, ch. 5",
    validity="cooling at rated load, no running heat",
    result_unit="1/h",
)
_MOTION = "equation of motion J dw/dt = T - T_load on the steady braking torque, from the running point"
_SOURCE = "Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 2, 5 and 6"
_TRANSIENT = "space-vector equations from the running motor through every switching; peaks on the dense output"


def explain_stop(study: Study, found: StopAnswer) -> tuple[Explanation, ...]:
    """Explanations named `stopping.way.number`; none of a way that this motor cannot have."""
    if found.way is None or not found.result.stops:
        return ()
    return tuple(_way(Speaker(study.inputs), study, found))


def _way(say: Speaker, study: Study, found: StopAnswer) -> Iterator[Explanation]:
    result = found.result
    name, nominal = f"stopping.{result.key}", result.stops[0]
    inertia = study.motor.inertia + study.load.inertia
    moving = {"J": ("inertia of rotor and load", inertia), "omega": ("running speed", nominal.begin_speed)}
    yield say.by(KINETIC, f"{name}.kinetic", moving, "nominal case")
    for setting in result.settings:
        if setting.value is not None:
            yield _plain(f"{name}.{setting.key}", setting.title, setting.value, setting.unit, setting.why)
    for row in result.verdict.criteria:
        if row.value is not None and isfinite(row.value):
            yield _criterion(say, study, f"{name}.{row.key}", row, result)
    yield _integrated(say, f"{name}.rotor_heat", "Rotor heat of one stop", nominal.rotor_heat, nominal, inertia)
    if isinstance(found.way, Plugging):
        synchronous = {"J": ("inertia of rotor and load", inertia)}
        synchronous["omega_s"] = ("motor.synchronous_speed", study.motor.rating.synchronous_speed)
        yield say.by(HEAT, f"{name}.unloaded_heat", synchronous, "without load and without resistors; for comparison")
    if result.rate is not None and isfinite(result.rate.balance):
        yield _balance(say, f"{name}.balance", result.rate)
    if isinstance(found.way, BrakingResistor) and nominal.returned_power > 0:
        power = {"U_d": ("link voltage", found.way.link_voltage), "P_max": ("power returned", nominal.returned_power)}
        yield say.by(OHMS, f"{name}.greatest_resistance", power, "nominal case")
    if result.key == "dc_injection" and study.motor.circuit is not None:
        yield _dc_torque(say, study, f"{name}.torque_at_begin", result)


def _balance(say: Speaker, name: str, rate: StopRate) -> Explanation:
    inputs = {
        "P_v": ("losses at rated load", rate.rated_loss),
        "W_stop": ("heat of one stop in the motor", rate.heat),
        "W_start": (f"heat of one start, {rate.start or 'not counted'}", rate.start_heat),
    }
    return say.by(BALANCE, name, inputs, "nominal case")


def _dc_torque(say: Speaker, study: Study, name: str, result: StopWayResult) -> Explanation:
    """The formula of one cage at the begin of the braking; with several branches or saturation it is an approximation."""
    circuit, nominal = study.motor.circuit, result.stops[0]
    assert circuit is not None
    begin = nominal.run.stages[0].end_speed
    direct = next(curve for curve in result.curves if curve.stage == "direct current")
    synchronous = study.motor.rating.synchronous_speed
    winding = float(direct.winding_current[-1])
    equivalent = winding * (3**0.5 if study.motor.rating.connection == "delta" else 1.0)
    inputs = {
        "I_e": ("equivalent rms current of the direct current", equivalent),
        "X_m": ("motor.circuit.Xm", circuit.Xm),
        "R2": ("motor.circuit.R2", circuit.rotor[0].R),
        "X2": ("motor.circuit.X2", circuit.rotor[0].X),
        "S": ("speed over synchronous speed", begin / synchronous),
        "omega_s": ("motor.synchronous_speed", synchronous),
    }
    words = "when the direct current comes on; the first rotor branch alone, without saturation"
    return say.by(TORQUE, name, inputs, words)


def _criterion(say: Speaker, study: Study, name: str, row: Criterion, result: StopWayResult) -> Explanation:
    stop = next(found for found in result.stops if found.case == row.case)
    if row.key.startswith("dip:"):
        return _dip(say, name, row, stop)
    if row.key == "shaft_torque" and result.band is not None and row.case == NOMINAL:
        peak = {
            "T_peak": ("peak air-gap torque", peak_torque(result.band)),
            "T_n": ("motor.torque", study.motor.rating.torque),
        }
        return say.by(PEAK_TORQUE, name, peak, f"{_TRANSIENT}; nominal case")
    how = _TRANSIENT if row.key in ("shaft_torque", "peak_current") else _MOTION
    if row.key in ("stops_per_hour", "held", "resistor", "heat"):
        how = row.condition or row.source
    return _plain(name, row.title, float(row.value or 0.0), row.unit, f"{how}; {row.case} case", _SOURCE)


def _dip(say: Speaker, name: str, row: Criterion, stop: Stop) -> Explanation:
    place = stop.run.busbars.index(row.key.partition(":")[2])
    inputs = {
        "U_0": ("voltage without the motor", float(stop.run.prestart_voltage[place])),
        "U_min": ("least voltage during the stop", float(stop.run.busbar_voltage[place].min())),
    }
    return say.by(DIP, name, inputs, f"{row.case} case")


def _integrated(say: Speaker, name: str, title: str, value: float, stop: Stop, inertia: float) -> Explanation:
    return Explanation(
        name=name,
        title=title,
        value=value,
        unit="J",
        formula="",
        expression="",
        inputs=(
            say.input("J", "inertia of rotor and load", inertia, "kg m2"),
            say.input("omega", "running speed", stop.begin_speed, "rad/s"),
        ),
        source=_SOURCE,
        method=f"{_MOTION}; integral of the rotor loss, {stop.case} case",
    )


def _plain(name: str, title: str, value: float, unit: str, how: str, source: str = "see method") -> Explanation:
    return Explanation(
        name=name, title=title, value=value, unit=unit, formula="", expression="", inputs=(), source=source, method=how
    )
