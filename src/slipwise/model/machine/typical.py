"""Typical values of a cage motor by size, poles and design, each with its range and source: for what a plate leaves out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf, log10, sqrt

from slipwise.data import Row, table
from slipwise.model.machine.checks import require_positive

_PRACTICE = "common practice, no source"
_END = 1.645  # standard deviations from the middle to either end of a range that holds nine in ten


@dataclass(frozen=True, slots=True, kw_only=True)
class Typical:
    """A typical value in SI or per unit as a distribution: nine motors in ten lie between `low` and `high`.

    value: the middle. least, most: bounds that a rule or the other data of a plate set; nothing lies beyond them.
    source: where middle, range and bounds come from.
    """

    value: float
    low: float
    high: float
    source: str
    least: float = 0.0
    most: float = inf

    def at(self, normal: float) -> float:
        """The value at `normal` standard deviations: 0 the middle, +-1.645 the ends of the range, geometric between.

        The two sides of the middle may differ in width, and beyond 2.5 deviations nothing is drawn. Same unit as value.
        """
        share = min(abs(normal), 2.5) / _END
        end = self.high if normal > 0 else self.low
        return float(min(max(self.value * (end / self.value) ** share, self.least), self.most))

    def held(self, low: float, high: float, source: str) -> Typical:
        """The same, cut to [low, high]; the source is named when it cuts."""
        if low <= self.low and high >= self.high:
            return replace(self, least=max(low, self.least), most=min(high, self.most))
        bottom, top = max(low, self.low), min(high, self.high)
        if bottom > top:  # the cut lies outside: it wins
            bottom = top = low if low > self.high else high
        value = min(max(self.value, bottom), top)
        words = f"{self.source}; kept within {source}"
        return Typical(value=value, low=bottom, high=top, source=words, least=low, most=high)


def _between(power: float, column: str) -> float:
    """Column of the table of typical motors at `power` (W), straight lines against the logarithm of power."""
    rows = table("typical_motors").rows
    kilowatt = min(max(power / 1e3, rows[0]["power_kW"]), rows[-1]["power_kW"])
    for low, high in pairwise(rows):
        if kilowatt <= high["power_kW"]:
            share = log10(kilowatt / low["power_kW"]) / log10(high["power_kW"] / low["power_kW"])
            return float(low[column] + share * (high[column] - low[column]))
    return float(rows[-1][column])


def _spread(value: float, quantity: str, relative: float | None = None) -> Typical:
    """A ratio with its usual range; a design letter may know a narrower one, `relative` either way."""
    row = table("typical_spreads").find(quantity=quantity)
    assert row is not None
    low, high = (row["low"], row["high"]) if relative is None else (1 / (1 + relative), 1 + relative)
    return Typical(value=value, low=value * low, high=value * high, source=_PRACTICE)


def design_row(design: str | None) -> Row:
    """Row of the typical design sets: designs NY, NEY, HY count as N, NE, H; without a letter, design N."""
    letter = (design or "N").upper().rstrip("Y")
    letter = {"HE": "H"}.get(letter, letter)
    found = table("typical_designs").find(design=letter)
    return found or table("typical_designs").rows[4]


def typical_slip(power: float, poles: int, design: str | None = None, frequency: float = 50.0) -> Typical:
    """Rated slip. [1]"""
    row = design_row(design)
    value = _between(power, "slip") * _poles(poles)["slip"] * _frequency(frequency)["slip"] * row["slip"]
    found = _spread(value, "slip")
    if row["design"] == "D":
        return found.held(0.05, 0.13, "slip groups of design D, NEMA MG 1, 1.19.1")
    return found


def typical_power_factor(power: float, poles: int) -> Typical:
    """Power factor at rated load; spread in its tangent, reactive over active power. [1]"""
    value = _between(power, "power_factor") + _poles(poles)["power_factor"]
    found = _spread(sqrt(1 / value**2 - 1), "reactive_power")
    low, high = (1 / sqrt(1 + tangent**2) for tangent in (found.high, found.low))
    return Typical(value=value, low=low, high=high, source=_PRACTICE, most=0.95)


def typical_efficiency(power: float, poles: int, frequency: float = 50.0) -> Typical:
    """Efficiency at rated load; the range runs over old motors and the higher efficiency classes. [1]"""
    loss = 1 - _between(power, "efficiency") - _poles(poles)["efficiency"]
    found = _spread(loss * _frequency(frequency)["loss"], "loss")
    return Typical(
        value=1 - found.value, low=1 - found.high, high=1 - found.low, source=_PRACTICE, most=1 - found.low / 2
    )


def typical_locked_rotor_current(power: float, poles: int, design: str | None = None) -> Typical:
    """Locked-rotor current over rated current, of any motor or as the design says. [1]"""
    row = design_row(design)
    value = _between(power, "locked_rotor_current") * _poles(poles)["locked_rotor_current"] * row["current"]
    return _spread(value, "locked_rotor_current", row["current_spread"] if design else None)


def typical_locked_rotor_torque(power: float, poles: int, design: str | None = None) -> Typical:
    """Locked-rotor torque over rated torque, not below the least value of the standard where the design has one. [1]"""
    row = design_row(design)
    value = _between(power, "locked_rotor_torque") * _poles(poles)["locked_rotor_torque"] * row["torque"]
    found = _spread(value, "locked_rotor_torque", row["torque_spread"] + 0.1 if design else None)
    least = least_torque(power, poles, design, "locked_rotor")
    return found if least is None else found.held(least[0], 10.0, least[1])


def typical_breakdown(power: float, poles: int, design: str | None = None) -> Typical:
    """Breakdown torque over rated torque, not below the least value of the standard where the design has one. [1]"""
    row = design_row(design)
    value = _between(power, "breakdown") * row["breakdown"]
    found = _spread(value, "breakdown", row["breakdown_spread"] if design else None)
    least = least_torque(power, poles, design, "breakdown")
    return found if least is None else found.held(least[0], 10.0, least[1])


def typical_shares(power: float, poles: int) -> tuple[float, float, float]:
    """Shares a plate does not tell: stator copper of stator copper and core loss; stator leakage of the locked-rotor
    reactance; friction and windage of all loss outside the rotor, more with two poles. [1]

    Source: common practice, no source.
    """
    mechanical = _between(power, "mechanical_share") * (1.35 if poles == 2 else 1.0)
    return _between(power, "stator_share"), _between(power, "leakage_share"), mechanical


def spread(quantity: str, value: float) -> Typical:
    """The range of a value the fit chose: R1, X1, stray_load_loss or friction_and_windage; same unit as `value`."""
    return _spread(value, quantity)


def typical_inertia(power: float, poles: int) -> Typical:
    """Moment of inertia of a cage rotor: 0.0018 (P/kW)^1.4 (pole pairs / 2)^1.6, wrong by up to 1.8 times. [kg m2]"""
    return _spread(0.0018 * (power / 1e3) ** 1.4 * (poles / 4) ** 1.6, "inertia")


def _poles(poles: int) -> Row:
    require_positive("poles", poles)
    return min(table("typical_poles").rows, key=lambda row: abs(row["poles"] - poles))


def _frequency(frequency: float) -> Row:
    require_positive("frequency", frequency)
    return min(table("typical_frequencies").rows, key=lambda row: abs(row["frequency_Hz"] - frequency))


def least_torque(power: float, poles: int, design: str | None, which: str) -> tuple[float, str] | None:
    """Least torque a design letter promises, over rated torque, with its source; None where no table covers it.

    which: "locked_rotor" or "breakdown". NEMA tables are read at the next lower tabulated hp.
    Source: NEMA MG 1 Tables 12-2, 12-3 (designs A, B), 12.38 (C, D); IEC 60034-12:2002 Tables 1 and 3 (N, H).
    """
    letter = (design or "").upper().rstrip("Y")
    if letter in {"N", "NE"}:
        return _banded("iec_design_n", power, poles, which)
    if letter in {"H", "HE"}:
        return _banded("iec_design_h", power, poles, which)
    hp = power / 745.7 * 1.02  # so that a rating rounded in kW still finds its hp row
    if letter in {"A", "B"}:
        rows = [r for r in table(f"nema_{which}_torque").where(poles=poles) if r["power_hp"] <= hp]
        return (rows[-1]["percent"] / 100, rows[-1].cited) if rows else None
    if letter == "C":
        rows = [r for r in table("nema_design_c").where(torque=which, poles=poles) if r["from_hp"] <= hp <= r["to_hp"]]
        return (rows[-1]["percent"] / 100, rows[-1].cited) if rows else None
    if letter == "D" and which == "locked_rotor":
        row = table("nema_design_slip").rows[0]
        return row["percent"] / 100, row.cited
    return None


def _banded(name: str, power: float, poles: int, which: str) -> tuple[float, str] | None:
    for row in table(name).where(poles=poles):
        if row["above_kW"] < power / 1e3 <= row["to_kW"]:
            return float(row[which]), row.cited
    return None


def code_letter_range(letter: str) -> tuple[float, float, str] | None:
    """Locked-rotor apparent power in VA per W of rated power that a code letter stands for, and its source.

    Lower end included, upper excluded; letter V has no upper end and is taken to 1.25 times its lower end. None for an
    unknown letter. Source: NEMA MG 1, 10.37.2.
    """
    row = table("nema_code_letters").find(letter=letter.upper())
    if row is None:
        return None
    high = row["high"] if row.get("high") is not None else 1.25 * row["low"]
    return 1e3 * row["low"] / 745.7, 1e3 * high / 745.7, row.cited


def code_letter(apparent_power: float, power: float) -> str:
    """Code letter of a locked-rotor apparent power (VA) at a rated power (W). Source: NEMA MG 1, 10.37.2."""
    ratio = apparent_power / 1e3 / (power / 745.7)
    rows = table("nema_code_letters").rows
    return str(next((row["letter"] for row in reversed(rows) if ratio >= row["low"]), "A"))


MEASURED_STRAY = 0.6  # of the assigned allowance, in the middle; common practice, no source


def stray_load_share(power: float) -> tuple[float, str]:
    """Assigned additional load loss as a share of input power at rated load, for rated power in W.

    Source: IEC 60034-2-1:2014, assigned allowance (from memory).
    """
    for row in table("stray_load_allowance").rows:
        if power / 1e3 <= row["to_kW"]:
            slope = row["per_decade"]
            return float(row["at_lower"] + (slope * log10(power / 1e3 / row["above_kW"]) if slope else 0.0)), row.cited
    row = table("stray_load_allowance").rows[-1]
    return float(row["at_lower"]), row.cited
