"""Pictures of rotors: deep bar and double cage beside a plain cage, current inside the bars, design classes."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np

from slipwise.identify.designs import typical_design
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.skin import (
    BarRotor,
    RectangularBar,
    current_density,
    ladder,
    reactance_ratio,
    resistance_ratio,
)
from slipwise.quantity.show import show
from slipwise.results.lecture import BarCurrent, BarPicture, CageShare, Chart, Line, Measure, Panel
from slipwise.results.series import Array
from slipwise.results.start import Curves
from slipwise.teach.lecture.subject import SPEED, TERMINALS, Subject, current_panel, torque_panel

NEMA, IEC = ("A", "B", "C", "D"), ("N", "H")
# Typical proportions, common practice, from memory: 85 % of the rotor resistance in the bars, 70 % of its leakage inside
# them, bars no deeper than four skin depths; the outer of two cages has five times the resistance and a quarter of the
# leakage of the inner one.
IN_BARS, LEAKAGE_IN_BARS, DEEPEST = 0.85, 0.7, 4.0
OUTER_RESISTANCE, OUTER_LEAKAGE = 5.0, 0.25
TYPICAL = "Rotors with typical proportions (common practice, from memory), alike in running."


def deep_bar(subject: Subject) -> BarRotor:
    """A cage of deep aluminium bars that runs like the motor's rotor."""
    branch, rating = subject.branch, subject.motor.rating
    bars = IN_BARS * branch.R
    xi = min(sqrt(1.5 * LEAKAGE_IN_BARS * branch.X / bars), DEEPEST)
    thin = RectangularBar(height=1.0, width=1.0, slot_width=1.0, metal="aluminium")
    height = xi / float(thin.reduced_height(rating.frequency))
    return BarRotor(
        bar=replace(thin, height=height, width=5e-3, slot_width=5e-3),
        bar_resistance=bars,
        ring_resistance=branch.R - bars,
        fixed_reactance=branch.X - 2 / 3 * xi * xi * bars,
        frequency=rating.frequency,
    )


def double_cage(branch: RotorBranch) -> tuple[RotorBranch, RotorBranch]:
    """Outer and inner cage that together run like one branch: same R and X for slip towards 0."""
    inner = branch.R * (1 + 1 / OUTER_RESISTANCE)
    outer = OUTER_RESISTANCE * inner
    leakage = branch.X / branch.R**2 / (OUTER_LEAKAGE / outer**2 + 1 / inner**2)
    return RotorBranch(R=outer, X=OUTER_LEAKAGE * leakage), RotorBranch(R=inner, X=leakage)


def cages(subject: Subject) -> tuple[Chart, Chart]:
    """Torque and current of three rotors alike in running; and how the two cages share the torque."""
    found = [(name, subject.at_terminals(subject.with_circuit(c))) for name, c in _circuits(subject)]
    torque = tuple(Line(label=name, x=c.speed, y=c.torque, tone=n) for n, (name, c) in enumerate(found))
    current = tuple(Line(label=name, x=c.speed, y=c.line_current, tone=n) for n, (name, c) in enumerate(found))
    at_rest = ", ".join(
        f"{name} {show(float(c.torque[0]), 'N m')} and {show(float(c.line_current[0]), 'A')}" for name, c in found
    )
    compared = Chart(
        key="cages",
        title="Plain cage, deep bars and double cage",
        note=f"{TYPICAL} {TERMINALS}",
        caption=f"At rest: {at_rest}. Near synchronous speed all three are one curve.",
        panels=(torque_panel(torque, subject.sync), current_panel(current, subject.sync)),
    )
    return compared, _shared(subject)


def _circuits(subject: Subject) -> list[tuple[str, Circuit]]:
    plain = replace(subject.circuit, rotor=(subject.branch,), leakage_saturation=None, main_saturation=None)
    return [
        ("plain cage", plain),
        ("deep bars", replace(plain, rotor=ladder(deep_bar(subject), 4).branches)),
        ("double cage", replace(plain, rotor=double_cage(subject.branch))),
    ]


def _shared(subject: Subject) -> Chart:
    """Torque of the outer and the inner cage; each carries current by its own admittance behind the same air gap."""
    circuit = _circuits(subject)[2][1]
    rating = subject.motor.rating
    speeds = subject.grid()
    slip = 1 - speeds / subject.sync
    at = operating_point(circuit, slip, rating.phase_voltage, rating.frequency, subject.sync)
    level = 3 * np.abs(at.gap_voltage) ** 2 / subject.sync
    parts = [level * (slip / (b.R + 1j * slip * b.X)).real for b in circuit.rotor]
    lines = [("both cages", parts[0] + parts[1]), ("outer cage", parts[0]), ("inner cage", parts[1])]
    first = [float(part[0]) for part in parts]
    return Chart(
        key="double_cage",
        title="Double cage: the outer cage starts, the inner one runs",
        note=f"{TYPICAL} Torque in the air gap. {TERMINALS}",
        caption=(
            f"At rest the outer cage gives {show(first[0], 'N m')} and the inner one {show(first[1], 'N m')}; at rated slip "
            f"the inner one gives {show(_share_at(slip, parts, rating.slip), 'pu')} of the torque."
        ),
        panels=(
            torque_panel(
                tuple(Line(label=name, x=speeds, y=np.asarray(y), tone=n) for n, (name, y) in enumerate(lines)),
                subject.sync,
            ),
        ),
    )


def _share_at(slip: Array, parts: list[Array], wanted: float) -> float:
    outer, inner = (float(np.interp(wanted, slip[::-1], part[::-1])) for part in parts)
    return inner / (outer + inner)


def bar_currents(subject: Subject) -> BarPicture:
    """Current over the depth of a deep bar at rest, on the way and running; shares of two cages at the same slips."""
    rotor, rating = deep_bar(subject), subject.motor.rating
    outer, inner = double_cage(subject.branch)
    depth = np.linspace(0.0, 1.0, 241)
    bars, shares = [], []
    for slip, words in ((1.0, "at rest"), (0.25, "at three quarters of speed"), (rating.slip, "at rated speed")):
        xi = float(rotor.bar.reduced_height(slip * rating.frequency))
        ratios = float(resistance_ratio(xi)), float(reactance_ratio(xi))
        density = np.asarray(np.abs(current_density(xi, depth)))
        hertz = show(slip * rating.frequency, "Hz")
        bars.append(
            BarCurrent(
                words=f"{words}, {hertz}",
                slip=slip,
                depth=depth,
                density=density,
                resistance=ratios[0],
                reactance=ratios[1],
            )
        )
        currents = [slip / (b.R + 1j * slip * b.X) for b in (outer, inner)]
        whole = abs(sum(currents))
        shares.append(CageShare(words=words, slip=slip, outer=abs(currents[0]) / whole, inner=abs(currents[1]) / whole))
    return BarPicture(
        key="bar_currents",
        title="Where in the bar the current flows",
        note=f"{TYPICAL} Rectangular aluminium bars at {show(rotor.bar.temperature, 'degC')}, as wide as their slots.",
        caption=(
            f"A bar {show(rotor.bar.height, 'm')} deep: at rest its resistance is {show(bars[0].resistance, '')} times that "
            f"of running and the current crowds at the slot opening; at rated slip it fills the bar."
        ),
        height=rotor.bar.height,
        bars=tuple(bars),
        cages=tuple(shares),
    )


def designs(subject: Subject) -> tuple[Chart, Chart]:
    """Torque and current of the design letters, per unit of rated, NEMA beside IEC."""
    rating = subject.motor.rating
    found: dict[str, tuple[Curves, float, float, float]] = {}
    for letter in (*NEMA, *IEC):
        fit = typical_design(
            letter, power=rating.power, voltage=rating.voltage, frequency=rating.frequency, poles=rating.poles
        ).motor
        plate = fit.rating
        found[letter] = (subject.at_terminals(fit), plate.torque, plate.current, plate.slip)
    size = f"Typical circuits of a {show(rating.power, 'W')}, {rating.poles}-pole motor, not the data of any motor."
    per = Measure(words="torque over rated torque", per_unit=True)
    amps = Measure(words="line current over rated current", per_unit=True)
    torque = Chart(
        key="designs_torque",
        title="Design letters: torque",
        note=f"{size} {TERMINALS}",
        caption=_told(found, "torque"),
        panels=(
            _letters(found, NEMA, per, "torque", subject.sync),
            _letters(found, IEC, per, "torque", subject.sync),
        ),
    )
    current = Chart(
        key="designs_current",
        title="Design letters: current",
        note=f"{size} {TERMINALS}",
        caption=_told(found, "current"),
        panels=(
            _letters(found, NEMA, amps, "current", subject.sync),
            _letters(found, IEC, amps, "current", subject.sync),
        ),
    )
    return torque, current


def _letters(
    found: dict[str, tuple[Curves, float, float, float]],
    letters: tuple[str, ...],
    axis: Measure,
    what: str,
    sync: float,
) -> Panel:
    lines = tuple(
        Line(label=letter, x=found[letter][0].speed, y=_values(found[letter], what), tone=n)
        for n, letter in enumerate(letters)
    )
    top = max(float(_values(found[letter], what).max()) for letter in (*NEMA, *IEC))
    return Panel(
        x=SPEED,
        y=axis,
        lines=lines,
        title="NEMA designs" if letters is NEMA else "IEC designs",
        synchronous=sync,
        top=top,
    )


def _values(entry: tuple[Curves, float, float, float], what: str) -> Array:
    curve, torque, current, _ = entry
    return np.asarray(curve.torque / torque if what == "torque" else curve.line_current / current)


def _told(found: dict[str, tuple[Curves, float, float, float]], what: str) -> str:
    """The value at rest and the rated slip of every letter."""
    parts = [
        f"{letter}: {show(float(_values(entry, what)[0]), '')} at rest, slip {show(entry[3], 'pu')}"
        for letter, entry in found.items()
    ]
    kind = "Torque" if what == "torque" else "Current"
    return f"{kind} per unit of rated. {'; '.join(parts)}. A and B differ in current at rest, D in slip."
