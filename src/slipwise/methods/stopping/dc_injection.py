"""Direct current in the stator: a standing field brakes the turning rotor; the supply is not loaded but by the rectifier."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, sqrt
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed
from slipwise.methods.stopping.tools import (
    RUNNING,
    SECTION,
    part,
    refuse_for_a_cage,
    require_circuit,
    ring_devices,
    seconds,
)
from slipwise.methods.stopping.way import StopTask
from slipwise.methods.survey import amount, open_circuit_time_constant, percent
from slipwise.methods.way import Designed, Dial
from slipwise.model.machine.direct_current import FEEDS, DcConnection
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.saturation import MainSaturation
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import DirectCurrent, Drive, Plan, Stage, elapsed
from slipwise.solve.stop import off

TWO, THREE = "two terminals", "three terminals"
# Equivalent current of dc braking, of rated; the hold after rest: common practice, no source.
USUAL, LEAST, MOST = 1.5, 0.8, 2.5
HOLD = 1.2
MIDDLE = (
    0.5  # of synchronous speed, where a resistor on the rings puts the greatest torque (common practice, no source)
)
RESIDUAL = 0.25  # of the voltage, left when the rectifier is put on (common practice, no source)
SHORTEST_DELAY, LONGEST_DELAY = 0.1, 2.0
UNSATURATED, EXPONENT = 1.3, 7.0  # of a main flux that saturates as usual: common practice, no source
LONGEST = 300.0  # s of current at most

CONNECTIONS = {
    ("star", TWO): DcConnection.STAR_TWO,
    ("star", THREE): DcConnection.STAR_THREE,
    ("delta", TWO): DcConnection.DELTA_TWO,
    ("delta", THREE): DcConnection.DELTA_THREE,
}
# Square of the current in the hottest winding over the mean square of the three; from the currents in each winding:
# star two (1, 1, 0), star three (1, 1/2, 1/2), delta two (2/3, 1/3, 1/3), delta three (1/2, 1/2, 0).
HOTTEST = {
    DcConnection.STAR_TWO: 1.5,
    DcConnection.STAR_THREE: 2.0,
    DcConnection.DELTA_TWO: 2.0,
    DcConnection.DELTA_THREE: 1.5,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DcInjection:
    """Off, a delay until the field has died away, direct current for a set time, off.

    The torque is least at speed and greatest near rest, at a slip of the standing field as small as a breakdown slip; at
    rest there is none. Source: `model.machine.direct_current`.
    """

    key: ClassVar[str] = "dc_injection"
    title: ClassVar[str] = "DC injection"
    also: ClassVar[tuple[str, ...]] = ("DC braking", "DC brake", "direct current braking", "dynamic braking")
    summary: ClassVar[str] = (
        "A rectifier puts direct current into the stator after a short delay, and the standing field brakes the rotor. The "
        "rotor takes no more than the energy of motion, without a jerk and without running back; it brakes weakly at full "
        "speed and holds nothing at rest."
    )

    current: Annotated[
        float,
        Dial(
            title="direct current", unit="A", example="300 A", doc="Through the terminals, average.", low=0.01, high=1e5
        ),
    ]
    terminals: Annotated[
        str,
        Dial(
            title="connection",
            unit="",
            doc="Between two terminals, or from one to the other two joined.",
            choices=(TWO, THREE),
        ),
    ]
    delay: Annotated[
        float,
        Dial(
            title="delay",
            unit="s",
            example="1 s",
            doc="Without supply until the residual voltage has gone.",
            low=0.0,
            high=30.0,
        ),
    ]
    duration: Annotated[
        float,
        Dial(
            title="duration",
            unit="s",
            example="8 s",
            doc="Of the direct current, hold after rest included.",
            low=0.1,
            high=600.0,
        ),
    ]

    rotor_resistance: Annotated[
        float,
        Dial(
            title="rotor resistor",
            unit="ohm",
            example="0.6 ohm",
            doc="In each phase at the slip rings while braking; 0 for none or a cage.",
            low=0.0,
            high=1e3,
        ),
    ]

    @classmethod
    def designed_for(cls, task: StopTask, given: Given) -> Designed[Self]:
        """Current: the least that stops in the time allowed, worst case, or the usual one. Delay: until a quarter of the
        voltage is left. Duration: the stop and a fifth more.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial.
        """
        checked(cls, given, SECTION)
        require_circuit(cls.key, task.nominal, "braking by direct current needs the circuit")
        refuse_for_a_cage(cls.key, task.nominal, given)
        chosen = {
            "current": computed(0.0, ""),
            "terminals": assumed(TWO, "one contactor with two poles carries it; the third terminal stays free"),
            "delay": _delay(task.nominal),
            "rotor_resistance": _rotor_resistor(task),
            "duration": computed(LONGEST, ""),
        }
        trial = assemble(cls, given, chosen, "").way
        chosen["current"] = trial.current_for(task)
        trial = replace(trial, current=float(given.get("current", chosen["current"].value)))
        chosen["duration"] = trial.duration_for(task)
        said = []
        if "current" not in given:
            said.append(f"Current: {amount(float(chosen['current'].value))} A, {chosen['current'].why}.")
        if "duration" not in given:
            said.append(f"Duration: {amount(float(chosen['duration'].value))} s, {chosen['duration'].why}.")
        motor = task.nominal.motor.circuit
        if motor is not None and motor.main_saturation is None:
            said.append(f"Main flux taken to saturate as usual: Xm at little flux {UNSATURATED:g} times Xm.")
        said.append("The rectifier's own draw from the line is left out.")
        return assemble(cls, given, chosen, " ".join(said))

    def running(self, drive: Drive) -> Stage | None:
        """On the line, with the full field."""
        return replace(RUNNING, motor=saturating(drive.motor))

    def stages(self, drive: Drive) -> Plan:
        """Delay, direct current, off."""
        motor = saturating(drive.motor)
        return (
            Stage(name="delay", until=elapsed(self.delay), connected=False, motor=motor),
            replace(self.direct(drive), motor=motor),
            replace(off(drive), motor=motor),
        )

    def direct(self, drive: Drive) -> Stage:
        """The stage with direct current, by how the winding stands."""
        connection = self.connection(drive)
        feed, winding = FEEDS[connection], _winding_resistance(drive)
        dc = DirectCurrent(current=self.current, share=feed.share, resistance=feed.windings * winding)
        ratio = drive.motor.wound_ratio or 0.0
        return Stage(
            name="direct current",
            until=elapsed(self.duration),
            dc=dc,
            rotor_external=self.rotor_resistance * ratio**2,
            contacts=("K2 direct current",),
        )

    def connection(self, drive: Drive) -> DcConnection:
        """How the winding stands between the two poles."""
        return CONNECTIONS[drive.motor.rating.connection, self.terminals]

    def hottest(self, drive: Drive) -> float:
        """Heat of the hottest phase per mean of the three."""
        return HOTTEST[self.connection(drive)]

    def wiring(self) -> Wiring:
        """Transformer, rectifier and contactor beside the line contactor."""
        rings = ("K3 rings",) if self.rotor_resistance > 0 else ()
        joined = "plus to U1, minus to V1 and W1" if self.terminals == THREE else "plus to U1, minus to W1"
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1"),
                Device(kind="transformer", label="T1", after="Q1", branch="braking"),
                Device(kind="rectifier", label="V1", after="T1", branch="braking"),
                Device(
                    kind="contactor",
                    label="K2 direct current",
                    after="V1",
                    branch="braking",
                    note=f"{joined}; interlocked with K1 line",
                ),
                *(ring_devices() if rings else ()),
            ),
            stages=("running", "delay", "direct current", "off"),
            closed=(("K1 line", *rings), (), ("K2 direct current",), ()),
            notes=(
                "K1 line and K2 direct current are interlocked, electrically and mechanically.",
                "A delay relay holds K2 open until the residual voltage has gone.",
            ),
        )

    def parts(self, drive: Drive, run: RunUp) -> tuple[Setting, ...]:
        """Current, voltage and power for the same field in each connection, heat of the winding, hold after rest."""
        equivalent = self.current * FEEDS[self.connection(drive)].share
        rows = []
        for connection in DcConnection:
            current, volts = feed_for(drive, connection, equivalent)
            chosen = "as set" if connection is self.connection(drive) else "for the same field"
            rows += [
                part(
                    f"{connection.name.lower()}_current",
                    f"{connection.value}: current",
                    current,
                    "A",
                    f"direct current, {chosen}",
                ),
                part(
                    f"{connection.name.lower()}_voltage",
                    f"{connection.value}: voltage",
                    volts,
                    "V",
                    f"direct voltage, {chosen}",
                ),
            ]
        stopped = np.flatnonzero(run.speed <= 1e-3 * drive.motor.rating.synchronous_speed)
        rest = float(run.time[stopped[0]]) if stopped.size else float(run.time[-1])
        hold = max(self.delay + self.duration - rest, 0.0)
        if drive.motor.circuit is not None and drive.motor.circuit.main_saturation is None:
            rows.append(
                Setting(
                    key="saturation",
                    title="Xm at little flux, of Xm",
                    value=UNSATURATED,
                    unit="pu",
                    origin="assumed",
                    why=f"exponent {EXPONENT:g}; usual range 1.15 to 1.6 (common practice, no source); or give motor.saturation",
                )
            )
        outside = run.energy.get("rotor resistors")
        if outside > 1.0:
            rows.append(
                part("resistor_heat", "resistor heat", outside, "J", "on the slip rings, all three phases, one stop")
            )
        rows.append(part("hold", "current after rest", hold, "s", "nominal case; heats the winding only"))
        return tuple(rows)

    def current_for(self, task: StopTask) -> Choice:
        """Amperes of the least equivalent current that stops in time; the usual one without a limit."""
        rated, share = task.nominal.motor.rating.current, FEEDS[self.connection(task.nominal)].share
        limit = task.stop_time
        if limit is None:
            why = f"its field is that of {USUAL:g} times rated current (common practice, no source)"
            return assumed(USUAL * rated / share, why, LEAST * rated / share, MOST * rated / share)

        def kept(ratio: float) -> bool:
            way = replace(self, current=ratio * rated / share, duration=min(LONGEST, 2 * limit))
            return all(t is not None and t <= 0.94 * limit for t in way.times(task))

        if kept(LEAST):
            return computed(LEAST * rated / share, f"lowest usual field, that of {percent(LEAST)} of rated current")
        if not kept(MOST):
            why = f"highest usual field, that of {MOST:g} times rated current; it does not stop in {amount(limit)} s"
            return computed(MOST * rated / share, why)
        good, bad = MOST, LEAST
        for _ in range(9):
            middle = 0.5 * (good + bad)
            good, bad = (middle, bad) if kept(middle) else (good, middle)
        why = f"the least that stops in {amount(limit)} s, worst case; its field is that of {amount(good)} times rated current"
        return computed(good * rated / share, why)

    def duration_for(self, task: StopTask) -> Choice:
        """From the end of the delay to rest, worst case, and a fifth more."""
        way = replace(self, duration=LONGEST)
        times = way.times(task)
        known = [t for t in times if t is not None]
        if len(known) < len(times):
            return computed(10.0, "the load is not brought to rest by it")
        longest = max(known) - self.delay
        return computed(float(np.clip(HOLD * longest, 0.1, LONGEST)), "the stop in the worst case and a fifth more")

    def times(self, task: StopTask) -> list[float | None]:
        """Stop time in the nominal and the worst case, quick; None where it does not stop. [s]"""
        return [seconds(self._to_rest(d), d, self.running(d) or RUNNING) for d in (task.nominal, task.worst)]

    def _to_rest(self, drive: Drive) -> Plan:
        """The plan on this drive without the hold, which has nothing to do with the time."""
        delay, direct, end = self.stages(drive)
        return (delay, replace(direct, until=replace(end.until, timeout=self.duration)), end)


def saturating(motor: Motor) -> Motor:
    """The motor with a saturating main flux: its own law, or the usual one.

    A standing field near rest would grow without bound on a constant magnetising reactance, and the torque with it.
    """
    circuit = motor.circuit
    if circuit is None or circuit.main_saturation is not None:
        return motor
    rating = motor.rating
    at = operating_point(circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    law = MainSaturation(rated_gap_voltage=float(abs(at.gap_voltage)), unsaturated=UNSATURATED, exponent=EXPONENT)
    return replace(motor, circuit=replace(circuit, main_saturation=law))


def feed_for(drive: Drive, connection: DcConnection, equivalent: float) -> tuple[float, float]:
    """Direct current [A] and voltage [V] that make the field of `equivalent` (rms A, running connection) in a connection.

    The current in the windings makes the field: a delta's winding carries 1/sqrt 3 of its star equivalent.
    Source: equal magnetomotive force, `model.machine.direct_current`.
    """
    feed, winding = FEEDS[connection], equivalent
    if drive.motor.rating.connection == "delta":
        winding /= sqrt(3)
    if connection in (DcConnection.DELTA_TWO, DcConnection.DELTA_THREE):
        winding *= sqrt(3)
    current = winding / feed.share
    return current, current * feed.windings * _winding_resistance(drive)


def _winding_resistance(drive: Drive) -> float:
    """Of one phase winding as wound. [ohm]"""
    circuit = require_circuit(DcInjection.key, drive, "braking by direct current needs the circuit")
    return circuit.R1 * (3.0 if drive.motor.rating.connection == "delta" else 1.0)


def _rotor_resistor(task: StopTask) -> Choice:
    """The resistor at which the torque is greatest at half of synchronous speed, R2 = S (Xm + X2); none for a cage."""
    motor = task.nominal.motor
    if motor.wound_ratio is None or motor.circuit is None:
        return computed(0.0, "a cage has no slip rings")
    branch = motor.circuit.rotor[0]
    referred = max(MIDDLE * (motor.circuit.Xm + branch.X) - branch.R, 0.0)
    return computed(referred / motor.wound_ratio**2, "the torque is then greatest near the middle of the speed range")


def _delay(drive: Drive) -> Choice:
    constant = open_circuit_time_constant(drive.motor)
    assert constant is not None
    wait = constant * log(1 / RESIDUAL)
    words = f"{percent(RESIDUAL)} of the voltage is left by then, rotor time constant {amount(constant)} s"
    if wait > LONGEST_DELAY:
        words = f"longest usual; the rotor time constant of {amount(constant)} s would ask for {amount(wait)} s"
    return computed(float(np.clip(wait, SHORTEST_DELAY, LONGEST_DELAY)), words)
