"""Typical values of a cage motor by size, poles and design, each with its range and source: for what a plate leaves out."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import log10

from slipwise.data import Row, table
from slipwise.model.machine.checks import require_positive

_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Typical:
    """A typical value in SI or per unit with its usual range, and where both come from."""

    value: float
    low: float
    high: float
    source: str

    def held(self, low: float, high: float, source: str) -> Typical:
        """The same, cut to [low, high]; the source is named when it cuts."""
        if low <= self.low and high >= self.high:
            return self
        bottom, top = max(low, self.low), min(high, self.high)
        if bottom > top:  # the cut lies outside: it wins
            bottom = top = low if low > self.high else high
        value = min(max(self.value, bottom), top)
        return Typical(value=value, low=bottom, high=top, source=f"{self.source}; kept within {source}")


_POLE_FACTORS = {  # number of poles: power factor added, slip, locked-rotor current, locked-rotor torque, efficiency added
    2: (0.04, 0.95, 1.05, 1.0, -0.003),
    4: (0.0, 1.0, 1.0, 1.0, 0.0),
    6: (-0.05, 1.15, 0.93, 0.93, -0.006),
    8: (-0.10, 1.25, 0.85, 0.85, -0.015),
}


def _between(power: float, column: str) -> float:
    """Column of the table of typical motors at `power` (W), straight lines against the logarithm of power."""
    rows = table("typical_motors").rows
    kilowatt = min(max(power / 1e3, rows[0]["power_kW"]), rows[-1]["power_kW"])
    for low, high in pairwise(rows):
        if kilowatt <= high["power_kW"]:
            share = log10(kilowatt / low["power_kW"]) / log10(high["power_kW"] / low["power_kW"])
            return float(low[column] + share * (high[column] - low[column]))
    return float(rows[-1][column])


def _spread(value: float, relative: float) -> Typical:
    return Typical(value=value, low=value / (1 + relative), high=value * (1 + relative), source=_PRACTICE)


def design_row(design: str | None) -> Row:
    """Row of the typical design sets: designs NY, NEY, HY count as N, NE, H; without a letter, design N."""
    letter = (design or "N").upper().rstrip("Y")
    letter = {"HE": "H"}.get(letter, letter)
    found = table("typical_designs").find(design=letter)
    return found or table("typical_designs").rows[4]


def typical_slip(power: float, poles: int, design: str | None = None) -> Typical:
    """Rated slip. [1]"""
    row = design_row(design)
    value = _between(power, "slip") * _poles(poles)[1] * row["slip"]
    if row["design"] == "D":
        return _spread(value, 0.35).held(0.05, 0.13, "slip groups of design D, NEMA MG 1, 1.19.1")
    return _spread(value, 0.35)


def typical_power_factor(power: float, poles: int) -> Typical:
    """Power factor at rated load. [1]"""
    value = _between(power, "power_factor") + _poles(poles)[0]
    return Typical(value=value, low=value - 0.06, high=min(0.93, value + 0.05), source=_PRACTICE)


def typical_efficiency(power: float, poles: int) -> Typical:
    """Efficiency at rated load; the range runs over old motors and the higher efficiency classes. [1]"""
    value = _between(power, "efficiency") + _poles(poles)[4]
    return Typical(value=value, low=1 - (1 - value) * 1.35, high=1 - (1 - value) * 0.65, source=_PRACTICE)


def typical_locked_rotor_current(power: float, poles: int, design: str | None = None) -> Typical:
    """Locked-rotor current over rated current, one fifth either way or as the design says. [1]"""
    row = design_row(design)
    return _spread(_between(power, "locked_rotor_current") * _poles(poles)[2] * row["current"], row["current_spread"])


def typical_locked_rotor_torque(power: float, poles: int, design: str | None = None) -> Typical:
    """Locked-rotor torque over rated torque, not below the least value of the standard where the design has one. [1]"""
    row = design_row(design)
    value = _between(power, "locked_rotor_torque") * _poles(poles)[3] * row["torque"]
    least = least_torque(power, poles, design, "locked_rotor")
    found = _spread(value, row["torque_spread"] + 0.1)
    return found if least is None else found.held(least[0], 10.0, least[1])


def typical_breakdown(power: float, poles: int, design: str | None = None) -> Typical:
    """Breakdown torque over rated torque, not below the least value of the standard where the design has one. [1]"""
    row = design_row(design)
    found = _spread(_between(power, "breakdown") * row["breakdown"], row["breakdown_spread"])
    least = least_torque(power, poles, design, "breakdown")
    return found if least is None else found.held(least[0], 10.0, least[1])


def typical_inertia(power: float, poles: int) -> Typical:
    """Moment of inertia of a cage rotor: 0.0018 (P/kW)^1.4 (pole pairs / 2)^1.6, wrong by up to 1.8 times. [kg m2]"""
    value = 0.0018 * (power / 1e3) ** 1.4 * (poles / 4) ** 1.6
    return Typical(value=value, low=value / 1.8, high=value * 1.8, source=_PRACTICE)


def _poles(poles: int) -> tuple[float, float, float, float, float]:
    require_positive("poles", poles)
    return _POLE_FACTORS[min(_POLE_FACTORS, key=lambda known: abs(known - poles))]


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
