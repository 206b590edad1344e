"""Current displacement and saturation, put into the circuit of `[motor.circuit]`."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.saturated import at_reduced_voltage
from slipwise.model.machine.saturation import LeakageSaturation, MainSaturation
from slipwise.model.machine.skin import BarRotor, RectangularBar, SlipRotor, TwoPointRotor, ladder
from slipwise.quantity.errors import DomainError
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.quantity.show import show
from slipwise.study.assemble.book import Book
from slipwise.study.schema.motor import CircuitSection, MotorSection
from slipwise.study.schema.rotor import BarsSection, SaturationSection

_PRACTICE = "common practice, no source"
BRANCHES = 3  # of the ladder: an error of the order of a per cent


def displaced(
    section: MotorSection, given: CircuitSection, circuit: Circuit, rotor: tuple[float, str], book: Book
) -> Circuit:
    """The circuit with its one rotor branch replaced by a ladder, when bars or standstill values are given.

    rotor: temperature [degC] and metal of R2.
    """
    bars, standing = section.bars, given.R2_standstill is not None or given.X2_standstill is not None
    if bars is None and not standing:
        return circuit
    if _one_of(section, given, book):
        return circuit
    found = _bar_rotor(bars, circuit, rotor, book) if bars is not None else _two_point(given, circuit, book)
    if found is None:
        return circuit
    fitted = ladder(found, BRANCHES)
    book.estimated(
        Sourced(
            name="motor.circuit.rotor",
            value=None,
            unit="",
            origin=Origin.DERIVED,
            text=fitted.words(),
            why="least squares",
        )
    )
    return replace(circuit, rotor=fitted.branches)


def _one_of(section: MotorSection, given: CircuitSection, book: Book) -> bool:
    """Faults where displacement is told twice, or of a rotor that has none; True when there are any."""
    before = len(book.faults)
    name = "motor.bars" if section.bars is not None else "motor.circuit.R2_standstill"
    for other in ("R2_standstill", "X2_standstill"):
        if section.bars is not None and getattr(given, other) is not None:
            book.fault(
                f"motor.circuit.{other}", getattr(given, other), "[motor.bars] says the same", "keep one of the two"
            )
    if given.R3 is not None:
        book.fault(
            "motor.circuit.R3", given.R3, f"{name} describes one cage of deep bars", "remove R3 and X3, or the bars"
        )
    if section.rotor_voltage is not None or section.wound_ratio is not None:
        book.fault(name, "", "a wound rotor has no bars", "remove it, or the slip-ring values")
    return len(book.faults) > before


def _bar_rotor(bars: BarsSection, circuit: Circuit, rotor: tuple[float, str], book: Book) -> SlipRotor | None:
    """A cage of rectangular bars that has R2 and X2 when running."""
    share = bars.share.value if bars.share is not None else _share(book)
    width = None if bars.width is None else bars.width.value
    slot = None if bars.slot_width is None else bars.slot_width.value
    if width is not None and slot is not None and width > slot:
        book.fault("motor.bars.width", bars.width, f"the slot is {show(slot, 'm')} wide", "exchange the two")
        return None
    across = width or slot or 1.0
    bar = RectangularBar(
        height=bars.depth.value,
        width=across,
        slot_width=slot or across,
        metal=bars.material or rotor[1],
        temperature=rotor[0] if bars.temperature is None else bars.temperature.value,
    )
    branch, resistance = circuit.rotor[0], share * circuit.rotor[0].R
    inside = 2 / 3 * float(bar.reduced_height(circuit.frequency)) ** 2 * resistance
    if inside >= branch.X:
        reason = f"bars of that depth have {show(inside, 'ohm')} inside them alone, and X2 is {show(branch.X, 'ohm')}"
        book.fault("motor.bars.depth", bars.depth, reason, "check depth, share, and that X2 holds when running")
        return None
    why = "inside the bars, without displacement: (2/3) xi^2 x resistance of the bars"
    book.derived("motor.bars.reactance", inside, "ohm", why)
    return BarRotor(
        bar=bar,
        bar_resistance=resistance,
        ring_resistance=branch.R - resistance,
        fixed_reactance=branch.X - inside,
        frequency=circuit.frequency,
    )


def _share(book: Book) -> float:
    return book.assumed(
        "motor.bars.share", 0.7, "pu", (0.5, 0.9), f"of R2 in the bars, the rest in the rings; {_PRACTICE}"
    )


def _two_point(given: CircuitSection, circuit: Circuit, book: Book) -> SlipRotor | None:
    """Running values and standstill values, the shape of a rectangular bar between them."""
    if given.R2_standstill is None or given.X2_standstill is None:
        missing = "R2_standstill" if given.R2_standstill is None else "X2_standstill"
        book.fault(
            f"motor.circuit.{missing}", "", "standstill values come as a pair", f"add {missing}, or remove the other"
        )
        return None
    branch = circuit.rotor[0]
    star = branch.R / given.R2.value
    try:
        return TwoPointRotor(
            running_resistance=branch.R,
            running_reactance=branch.X,
            standstill_resistance=given.R2_standstill.value * star,
            standstill_reactance=given.X2_standstill.value * star,
            frequency=circuit.frequency,
        )
    except DomainError as error:
        place = {"standstill_resistance": "R2_standstill"}.get(error.faults[0].field, "X2_standstill")
        reason = error.faults[0].reason.partition(", and running")[0]
        book.fault(
            f"motor.circuit.{place}", getattr(given, place), reason, "R2 and X2 hold when running, these at standstill"
        )
        return None


def saturating(given: SaturationSection | None, motor: Motor, book: Book) -> Motor:
    """The motor with the laws of `[motor.saturation]`, and what leakage saturation does to a reduced-voltage start."""
    if given is None or motor.circuit is None:
        return motor
    circuit = replace(
        motor.circuit, leakage_saturation=_leakage(given, motor, book), main_saturation=_main(given, motor, book)
    )
    if book.faults:
        return motor
    if circuit.leakage_saturation is not None:
        rating = motor.rating
        effect = at_reduced_voltage(
            circuit, 1 / sqrt(3), rating.phase_voltage, rating.frequency, rating.synchronous_speed
        )
        why = "locked rotor computed with the law, at full voltage and at 1/sqrt(3) of it"
        name = "motor.saturation.reduced_voltage"
        book.estimated(Sourced(name=name, value=None, unit="", origin=Origin.DERIVED, text=effect.words(), why=why))
    return replace(motor, circuit=circuit)


def _leakage(given: SaturationSection, motor: Motor, book: Book) -> LeakageSaturation | None:
    rated, knee = motor.rating.current, given.leakage_knee
    if knee is None:
        for name in ("stator_share", "rotor_share", "leakage_floor"):
            if getattr(given, name) is not None:
                book.fault("motor.saturation.leakage_knee", "", f"{name} needs it", "add leakage_knee = 2.0")
        return None
    level = knee.value * rated if knee.unit == "pu" else knee.value
    if level < rated:
        book.fault(
            "motor.saturation.leakage_knee",
            knee,
            f"rated current is {show(rated, 'A')}, and the reactances of the circuit hold there",
            "give a current above rated",
        )
        return None
    if knee.unit == "pu":
        book.derived("motor.saturation.leakage_knee", level, "A", f"{knee.text} x rated current, rms")

    def share(name: str, usual: float, between: tuple[float, float], why: str) -> float:
        own = getattr(given, name)
        if own is not None:
            return float(own.value)
        return book.assumed(f"motor.saturation.{name}", usual, "pu", between, f"{why}; {_PRACTICE}")

    return LeakageSaturation(
        knee=sqrt(2) * level,
        stator_share=share("stator_share", 0.4, (0.2, 0.6), "of X1: slots and tooth tips"),
        rotor_share=share("rotor_share", 0.5, (0.2, 0.7), "of the rotor's reactance: slots and bridges"),
        floor=share("leakage_floor", 0.1, (0.05, 0.2), "of the slope below the knee"),
    )


def _main(given: SaturationSection, motor: Motor, book: Book) -> MainSaturation | None:
    if given.main_unsaturated is None:
        if given.main_exponent is not None:
            book.fault("motor.saturation.main_unsaturated", "", "main_exponent needs it", "add main_unsaturated = 1.3")
        return None
    assert motor.circuit is not None
    rating = motor.rating
    at = operating_point(motor.circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    gap = float(abs(at.gap_voltage))
    book.derived(
        "motor.saturation.rated_gap_voltage", gap, "V", "phase voltage behind the stator impedance at the rated point"
    )
    exponent = given.main_exponent
    return MainSaturation(
        rated_gap_voltage=gap,
        unsaturated=given.main_unsaturated.value,
        exponent=exponent.value
        if exponent is not None
        else book.assumed("motor.saturation.main_exponent", 7.0, "", (6.0, 8.0), _PRACTICE),
    )
