"""Bench readings to circuit values: how often the stated interval holds the truth.

Known machines are put on the bench: dc resistance, eight no-load voltages, locked rotor at a quarter of rated frequency, and
for the machine with two cages at rated frequency as well. Every reading is shaken by a meter of class 0.5: an error even
within 0.5 % of the reading either way, independent of the others (and, in one row, 0.5 % of a range). The split of the
leakage is given. Each of the trials states its own 95 % intervals; counted is how many of them hold the machine's values.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from time import perf_counter

import numpy as np

from benchmarks import page
from benchmarks.synthetic_bench import CLASS_HALF, b7, bench_of, big, double, shaken
from slipwise.identify.bench.fit import fit_bench
from slipwise.identify.bench.records import Bench, Meter
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import InputError

TRIALS, DRAWS, SEED = 1000, 2000, 7
ALLOWED = (0.90, 0.98)


def truth(motor: Motor) -> dict[str, float]:
    """Every value of the machine by its symbol."""
    circuit = motor.circuit
    assert circuit is not None
    values = {"R1": circuit.R1, "X1": circuit.X1, "Xm": circuit.Xm, "Rfe": circuit.Rfe}
    for place, branch in enumerate(circuit.rotor, start=2):
        values |= {f"R{place}": branch.R, f"X{place}": branch.X}
    values["P_fw"] = motor.mechanical_loss.torque * motor.rating.synchronous_speed
    return values


def coverage(
    motor: Motor, bench: Bench, trials: int, draws: int = DRAWS
) -> tuple[Counter[str], Counter[str], Counter[str]]:
    """How many of the trials hold the truth: by random trials, by linear propagation, and how many gave intervals at all."""
    random = np.random.default_rng(SEED)
    held, linear, told = Counter[str](), Counter[str](), Counter[str]()
    for _ in range(trials):
        try:
            values = fit_bench(shaken(bench, random), trials=draws).answer.values
        except InputError:
            told["refused"] += 1
            continue
        known = {row.symbol: row for row in values}
        for symbol, value in truth(motor).items():
            row = known.get(symbol)
            if row is None or row.low is None or row.high is None:
                continue
            told[symbol] += 1
            held[symbol] += row.low <= value <= row.high
            assert row.linear_low is not None
            assert row.linear_high is not None
            linear[symbol] += row.linear_low <= value <= row.linear_high
    return held, linear, told


def cases() -> list[tuple[str, Motor, Bench]]:
    """The machines with their benches."""
    small, large, two = b7(), big(), double()
    amps, volts = small.rating.current, small.rating.voltage
    ranged = replace(
        CLASS_HALF,
        voltage=Meter(accuracy=0.005, span=1.25 * volts),
        current=Meter(accuracy=0.005, span=1.25 * amps),
        power=Meter(accuracy=0.005, span=0.4 * volts * amps),
    )
    near = (1.1, 1.0, 0.9, 0.8, 0.7, 0.6, 0.5)
    return [
        ("2.2 kW, 50 Hz, of the reading", small, bench_of(small, meters=CLASS_HALF)),
        ("2.2 kW, 50 Hz, of the range", small, bench_of(small, volts=near, meters=ranged)),
        ("110 kW, 60 Hz, of the reading", large, bench_of(large, meters=CLASS_HALF)),
        ("55 kW, two cages", two, bench_of(two, locked=((1.0, 0.25), (1.0, 1.0)), meters=CLASS_HALF)),
    ]


def sections(trials: int = TRIALS) -> Sequence[str]:
    """One table of coverage over all machines."""
    rows = []
    started = perf_counter()
    for name, motor, bench in cases():
        held, linear, told = coverage(motor, bench, trials)
        for symbol in truth(motor):
            count = told[symbol]
            share = held[symbol] / count if count else float("nan")
            inside = "yes" if ALLOWED[0] <= share <= ALLOWED[1] else "no"
            row = (name, symbol, count, f"{share:.1%}", f"{linear[symbol] / count:.1%}" if count else "", inside)
            rows.append(row)
        rows.append((name, "refused or without interval", trials - max(told[s] for s in truth(motor)), "", "", ""))
    note = (
        f"{trials} trials a machine, {DRAWS} draws an interval, {(perf_counter() - started) / trials / len(cases()):.3f} s a "
        "trial in all. Trials in which the meters could not tell two cages from one give one cage, and R3 and X3 are then not "
        "counted; R2 and X2 are then those of one cage and are counted against."
    )
    columns = (
        "machine and class 0.5",
        "value",
        "trials",
        "held by the stated interval",
        "held by the linear one",
        "90 to 98 %",
    )
    return [page.section("Truth inside the stated 95 % interval", columns, rows, note)]
