"""A plate read critically: rounding taken into account, contradictions refused by name, gaps filled with typical ranges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import exp, floor, inf, log, log10, pi, sqrt

from slipwise.identify.cage_fit import Goal, Wish
from slipwise.identify.plate_checks import RPM, fault, refuse_contradictions, refuse_impossible
from slipwise.identify.records import Plate
from slipwise.model.machine import typical
from slipwise.model.machine.typical import Typical
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin, Sourced


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A plate made complete. Rated values agree with each other exactly; `plate` keeps what was printed.

    speed rad/s, current A, mechanical loss W (None: not given), inertia kg m2.
    estimated: what was not given, with range and reason. notes: what was adjusted, in words.
    taken: the values standing in for those not given, by field of `[motor]`.
    """

    plate: Plate
    slip: float
    speed: float
    current: float
    power_factor: float
    efficiency: float
    locked_current: Wish
    locked_torque: Wish
    breakdown: Wish
    slip_slack: float
    inertia: float
    estimated: tuple[Sourced, ...]
    notes: tuple[str, ...]
    taken: dict[str, float]


def half_digit(value: float, widest: float) -> float:
    """Half the last printed digit of a value, as far as its digits show, and never more than `widest`; same unit.

    A value that ends in zeros may have been printed with more digits than its number shows: `widest` bounds that doubt.
    """
    digits = f"{value:.9g}"
    mantissa, _, exponent = digits.partition("e")
    decimals = len(mantissa.partition(".")[2]) - int(exponent or 0)
    return float(min(0.5 * 10.0**-decimals, widest))


def three_digits(value: float) -> float:
    """Half a unit of the third significant digit: the widest rounding a catalogue shows in a current."""
    return float(0.5 * 10.0 ** (floor(log10(value)) - 2))


def estimate(name: str, found: Typical, unit: str) -> Sourced:
    """A typical value standing in for one not given."""
    return Sourced(
        name=f"motor.{name}",
        value=found.value,
        unit=unit,
        origin=Origin.ESTIMATED,
        low=found.low,
        high=found.high,
        why=f"not given; typical for this size: {found.source}",
    )


def read(plate: Plate, chosen: Mapping[str, float] | None = None) -> Reading:
    """A complete and consistent reading of the plate.

    chosen: where in its distribution to take a value not given, in standard deviations from the middle, by field of
        `[motor]`; the middle where nothing is said. Where in its rounding, from -1 to 1, to take a given current, power
        factor or efficiency of which another follows, as `rounding.current`. For an ensemble.

    Raises:
        InputError: every value that cannot be, and every pair that contradicts itself, each by its field with numbers.
    """
    refuse_impossible(plate)
    book = _Book(plate, chosen or {})
    slip = book.slip()
    current, power_factor, efficiency = book.rated(slip)
    locked = book.locked_current(current)
    torque = book.ratio("locked_rotor_torque_ratio", typical.typical_locked_rotor_torque)
    breakdown = book.ratio("breakdown_torque_ratio", typical.typical_breakdown)
    if not torque.given and torque.value > breakdown.value:
        torque = replace(torque, value=breakdown.value)
        book.taken["locked_rotor_torque_ratio"] = torque.value
    reading = Reading(
        plate=plate,
        slip=slip,
        speed=(1 - slip) * 4 * pi * plate.frequency / plate.poles,
        current=current,
        power_factor=power_factor,
        efficiency=efficiency,
        locked_current=locked,
        locked_torque=torque,
        breakdown=breakdown,
        slip_slack=book.slip_slack(slip),
        inertia=book.inertia(),
        estimated=tuple(book.estimated),
        notes=tuple(book.notes),
        taken=book.taken,
    )
    refuse_contradictions(reading)
    return reading


class _Book:
    """Fills in a plate step by step and remembers what was not given."""

    def __init__(self, plate: Plate, chosen: Mapping[str, float]) -> None:
        self.plate, self.chosen = plate, chosen
        self.taken: dict[str, float] = {}
        self.typical: dict[str, Typical] = {}  # those of efficiency and power factor that were taken
        self.estimated: list[Sourced] = []
        self.notes: list[str] = []

    def take(self, name: str, found: Typical, unit: str) -> float:
        """A typical value, or the one chosen for an ensemble, written down."""
        self.estimated.append(estimate(name, found, unit))
        self.taken[name] = found.at(self.chosen.get(name, 0.0))
        if name in {"efficiency", "power_factor"}:
            self.typical[name] = found
        return self.taken[name]

    def derived(self, name: str, value: float, unit: str, why: str) -> float:
        """What follows from given and typical values: their roundings added, their ranges as the root of the squares."""
        spread = sum(self.rounding(n) for n in ("current", "power_factor", "efficiency"))
        down = sqrt(sum(log(found.high / found.value) ** 2 for found in self.typical.values()))
        up = sqrt(sum(log(found.value / found.low) ** 2 for found in self.typical.values()))
        most = inf if name == "rated_current" else 0.999
        row = Sourced(
            name=f"motor.{name}",
            value=value,
            unit=unit,
            origin=Origin.DERIVED,
            low=value * exp(-down - spread),
            high=min(value * exp(up + spread), most),
            why=f"{why}; range: rounding of what is given, typical range of what is not",
        )
        self.estimated.append(row)
        return value

    def rounding(self, name: str) -> float:
        """Half the last printed digit of current, power factor or efficiency over its value; 0 when not given. [1]"""
        value = getattr(self.plate, name)
        if value is None:
            return 0.0
        if name == "current":
            return float(max(half_digit(value, three_digits(value)), 1e-6 * value) / value)
        widest = 0.0005 if name == "efficiency" and value > 0.8 else 0.005
        return half_digit(value, widest) / float(value)

    def slip(self) -> float:
        plate = self.plate
        sync = 4 * pi * plate.frequency / plate.poles
        if plate.speed is not None:
            return 1 - plate.speed / sync
        found = typical.typical_slip(plate.power, plate.poles, plate.design, plate.frequency)
        if plate.efficiency is not None:
            most = 0.5 * (1 - plate.efficiency)
            found = found.held(0.0, most, "half the loss that the efficiency leaves")
        slip = found.at(-self.chosen.get("rated_speed", 0.0))
        self.taken["rated_speed"] = (1 - slip) * sync
        speeds = Typical(
            value=(1 - found.value) * sync,
            low=(1 - found.high) * sync,
            high=(1 - found.low) * sync,
            source=found.source,
        )
        self.estimated.append(estimate("rated_speed", speeds, "rad/s"))
        return slip

    def slip_slack(self, slip: float) -> float:
        """How far the printed speed lets the slip move, relative to the slip."""
        plate = self.plate
        sync = 4 * pi * plate.frequency / plate.poles * RPM
        if plate.speed is None:
            return 0.3
        return half_digit(plate.speed * RPM, 0.5) / (slip * sync)

    def rated(self, slip: float) -> tuple[float, float, float]:
        """Current, power factor and efficiency that agree with the power exactly."""
        plate = self.plate
        apparent = plate.power / (sqrt(3) * plate.voltage)
        given = (plate.current, plate.power_factor, plate.efficiency)
        if all(value is not None for value in given):
            return self._reconciled(apparent)
        efficiency, power_factor = self._inside("efficiency"), self._inside("power_factor")
        current = self._inside("current")
        if current is not None and (efficiency is None or power_factor is None):
            return current, *self._from_current(apparent / current, slip)
        if efficiency is None:
            efficiency = self.take("efficiency", self._typical_efficiency(slip), "pu")
        if power_factor is None:
            power_factor = self.take("power_factor", typical.typical_power_factor(plate.power, plate.poles), "")
        why = "P / (sqrt(3) V x power factor x efficiency)"
        return self.derived("rated_current", apparent / (power_factor * efficiency), "A", why), power_factor, efficiency

    def _inside(self, name: str) -> float | None:
        """A given value where its rounding has it; None when it was not given."""
        value = getattr(self.plate, name)
        if value is None:
            return None
        return float(value * (1 + self.chosen.get(f"rounding.{name}", 0.0) * self.rounding(name)))

    def _typical_efficiency(self, slip: float) -> Typical:
        found = typical.typical_efficiency(self.plate.power, self.plate.poles, self.plate.frequency)
        return found.held(0.0, 1 - 1.6 * slip, "the rotor's own loss at rated slip")

    def _from_current(self, product: float, slip: float) -> tuple[float, float]:
        """Power factor and efficiency whose product the current fixes."""
        why = "P / (sqrt(3) V I) over the other of power factor and efficiency"
        efficiency, power_factor = self._inside("efficiency"), self._inside("power_factor")
        if efficiency is not None:
            return self.derived("power_factor", product / efficiency, "", why), efficiency
        if power_factor is not None:
            return power_factor, self.derived("efficiency", product / power_factor, "pu", why)
        found = self._typical_efficiency(slip)
        found = found.held(product / 0.95, product / 0.35, "power factor between 0.35 and 0.95 at the rated current")
        efficiency = self.take("efficiency", found, "pu")
        return self.derived("power_factor", product / efficiency, "", why), efficiency

    def _reconciled(self, apparent: float) -> tuple[float, float, float]:
        """Each value moved inside its rounding so that P = sqrt(3) V I x power factor x efficiency holds."""
        plate = self.plate
        current, power_factor, efficiency = plate.current or 0.0, plate.power_factor or 0.0, plate.efficiency or 0.0
        slack = [self.rounding(name) for name in ("current", "power_factor", "efficiency")]
        miss = log(apparent / (current * power_factor * efficiency))
        room = sum(slack)
        if abs(miss) > room + 0.01:
            right = apparent / (power_factor * efficiency)
            printed = sqrt(3) * plate.voltage * current * power_factor * efficiency
            reason = (
                f"with voltage, power factor {power_factor:g} and efficiency {efficiency:g} it makes {printed / 1e3:.4g} kW, "
                f"but the plate says {plate.power / 1e3:.4g} kW, which needs {right:.4g} A"
            )
            raise InputError(
                fault("rated_current", f"{current:.4g} A", reason, "check the four values; they belong together")
            )
        if abs(miss) > room:
            self.notes.append(
                f"Power, current, power factor and efficiency of the plate disagree by {100 * abs(miss):.2g} %, more than "
                "their rounding; each was moved a little so that they agree."
            )
        over = (abs(miss) - room) / 3 if abs(miss) > room else 0.0
        share = min(1.0, abs(miss) / room)
        moves = [(s * share + over) * (1 if miss > 0 else -1) for s in slack]
        factor = [1 + m + m * m / 2 for m in moves]
        return (
            current * factor[0],
            power_factor * factor[1],
            apparent / (current * factor[0] * power_factor * factor[1]),
        )

    def locked_current(self, current: float) -> Wish:
        """Locked-rotor current ratio as given, or from the code letter, or typical."""
        plate = self.plate
        band = self._code_band(current)
        given = plate.locked_rotor_current_ratio
        if given is not None:
            slack = max(half_digit(given, 0.05) / given, 0.01)
            if band is not None and not band.low * (1 - slack) <= given <= band.high * (1 + slack):
                letter = plate.code_letter
                reason = f"code letter {letter} stands for {band.low:.3g} to {band.high:.3g} times rated current"
                raise InputError(
                    fault("locked_rotor_current_ratio", f"{given:g}", reason, "check the ratio and the letter")
                )
            return Wish(value=given, slack=slack, given=True)
        found = band or typical.typical_locked_rotor_current(plate.power, plate.poles, plate.design)
        value = self.take("locked_rotor_current_ratio", found, "")
        return Wish(value=value, slack=log(found.high / found.low) / 2 + 1e-3, given=False)

    def _code_band(self, current: float) -> Typical | None:
        plate = self.plate
        if plate.code_letter is None:
            return None
        band = typical.code_letter_range(plate.code_letter)
        if band is None:
            reason, remedy = "code letters run from A to V without I, O and Q", 'write the letter, as "G"'
            raise InputError(fault("code_letter", plate.code_letter, reason, remedy))
        rated = sqrt(3) * plate.voltage * current / plate.power
        low, high = max(band[0], 1.2 * rated) / rated, band[1] / rated
        return Typical(value=(low + high) / 2, low=low, high=high, source=f"code letter {plate.code_letter}, {band[2]}")

    def ratio(self, name: str, of: object) -> Wish:
        """A torque ratio as given, or typical."""
        plate = self.plate
        given = getattr(plate, name)
        if given is not None:
            return Wish(value=given, slack=max(half_digit(given, 0.05) / given, 0.01), given=True)
        assert callable(of)
        found: Typical = of(plate.power, plate.poles, plate.design)
        other = plate.locked_rotor_torque_ratio
        if name == "breakdown_torque_ratio" and other is not None:
            found = found.held(other, 10.0, "breakdown torque not below the locked-rotor torque given")
        other = plate.breakdown_torque_ratio
        if name == "locked_rotor_torque_ratio" and other is not None:
            found = found.held(0.05, other, "locked-rotor torque not above the breakdown torque given")
        value = self.take(name, found, "")
        return Wish(value=value, slack=log(found.high / found.low) / 2 + 1e-3, given=False)

    def inertia(self) -> float:
        plate = self.plate
        if plate.inertia is not None:
            return plate.inertia
        return self.take("inertia", typical.typical_inertia(plate.power, plate.poles), "kg m2")


def goal_of(reading: Reading) -> Goal:
    """What the circuit must reproduce, with usual proportions for what the plate cannot tell."""
    plate = reading.plate
    base = plate.power / (reading.power_factor * reading.efficiency)  # rated apparent power
    printed = 1.0 if plate.current is None else plate.current / reading.current  # ratios are to the printed current
    left = reading.power_factor - reading.power_factor * reading.efficiency / (1 - reading.slip)
    share, _ = typical.stray_load_share(plate.power)
    stray = min(typical.MEASURED_STRAY * share * reading.power_factor / (left * (1 - reading.slip)), 0.25)
    valley = plate.pull_up_torque_ratio
    stator, leakage, mechanical = typical.typical_shares(plate.power, plate.poles)
    if plate.mechanical_loss is not None:
        given = plate.mechanical_loss / base / (left * (1 - reading.slip))
        stray = min(stray, 0.3 * (1 - given))
    return Goal(
        slip=Wish(value=reading.slip, slack=reading.slip_slack, given=plate.speed is not None),
        power_factor=reading.power_factor,
        efficiency=reading.efficiency,
        current=replace(reading.locked_current, value=reading.locked_current.value * printed),
        torque=reading.locked_torque,
        breakdown=reading.breakdown,
        pull_up=valley,
        pull_up_slack=0.01 if valley is None else max(half_digit(valley, 0.05) / valley, 0.01),
        mechanical=None if plate.mechanical_loss is None else plate.mechanical_loss / base,
        mechanical_share=mechanical,
        stray_share=stray,
        stator_share=stator,
        stator_leakage=leakage,
    )
