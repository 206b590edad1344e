"""The instantaneous trip: above the highest, asymmetrical peak of a start, below the least fault at the motor."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil, floor, log10, sqrt

from slipwise.data import table
from slipwise.limits.judge import judge
from slipwise.model.supply.path import SupplyPath
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.protection_devices import InstantaneousTrip
from slipwise.results.start import RunUp, TransientBand
from slipwise.solve import network

USUAL = (
    8.0  # times rated current, for a bypass that closes early or a motor tried without its starter (common practice)
)
ROOM = 0.9  # of the greatest setting, so that rounding up stays below it
HALF_CYCLE = 0.01  # s, after which the first peak of an estimate stands
TWO_PHASE = sqrt(3) / 2  # of the three-phase fault current, equal impedances of both sequences
LEAST = Formula(
    key="limits.instantaneous_least",
    title="Least setting of an instantaneous trip that lets the highest peak pass",
    symbol="I_i",
    expression="i_p / (sqrt(2) * (1 - d))",
    units={"i_p": "A", "d": ""},
    source="a trip set to an rms current answers to its peak, sqrt 2 times as much; common practice, no source",
    validity="electronic and magnetic trips without delay",
    result_unit="A",
)
MOST = Formula(
    key="limits.instantaneous_most",
    title="Greatest setting of an instantaneous trip that answers to the least fault",
    symbol="I_i",
    expression="sqrt(3) / 2 * U / (sqrt(3) * Z) / (1 + d)",
    units={"U": "V", "Z": "ohm", "d": ""},
    source="two-phase short-circuit current of IEC 60909-0 (from memory), voltage of the weak supply before the fault",
    validity="bolted fault at the motor's terminals, far from generators, motor's own share left out",
    result_unit="A",
)


def first_peak_factors() -> tuple[float, float]:
    """Lowest and highest first peak per rms of the steady locked-rotor current. [1] Source: table `first_peak`."""
    low, high = table("first_peak").rows
    return float(low["factor"]), float(high["factor"])


def least_fault(path: SupplyPath) -> float:
    """Two-phase short-circuit current at the motor's terminals behind a path, rms. [A] Source: MOST."""
    emf, impedance = network.thevenin(path)
    return TWO_PHASE * abs(emf) / abs(impedance) if impedance else float("inf")


def instantaneous(
    run_ups: Mapping[str, RunUp],
    bands: Mapping[str, TransientBand],
    weak: SupplyPath,
    *,
    setting: float | None,
    tolerance: float,
    controlled: bool = False,
    rated: float = 0.0,
) -> InstantaneousTrip:
    """The trip as stated or as proposed: the least setting that lets the peak pass, rounded up to two figures.

    run_ups, bands: the cases that judge currents. setting: rms A, None when open. tolerance: of the trip, per unit.
    controlled: whether thyristors set the voltage from the first moment, so that the current has no offset; a trip is then
    proposed at USUAL times the `rated` current (rms A) at least, as far as the least fault allows.
    """
    peak, moment, low, high, basis = _peak(run_ups, bands, controlled)
    least = peak / (sqrt(2) * (1 - tolerance))
    fault = least_fault(weak)
    most = fault / (1 + tolerance)
    floor = USUAL * rated if controlled else 0.0
    return InstantaneousTrip(
        peak=peak,
        moment=moment,
        low=low,
        high=high,
        basis=basis,
        setting=setting if setting is not None else _settable(floor if least < floor < ROOM * most else least),
        given=setting is not None,
        tolerance=tolerance,
        fault=fault,
        least=least,
        most=most,
    )


def _peak(
    run_ups: Mapping[str, RunUp], bands: Mapping[str, TransientBand], controlled: bool
) -> tuple[float, float, float, float, str]:
    """Greatest instantaneous line current [A], when [s], its range [A], and how it was found."""
    if bands:
        case, band = max(bands.items(), key=lambda item: float(item[1].line_current.max()))
        low, high = float(band.line_current.min()), float(band.line_current.max())
        return (
            high,
            band.worst.peaks.line_current_time,
            low,
            high,
            f"electrical transient over the switching angle, {case} case",
        )
    case, rms = max(((name, float(run.line_current.max())) for name, run in run_ups.items()), key=lambda item: item[1])
    at = float(run_ups[case].time[int(run_ups[case].line_current.argmax())])
    if controlled:
        return sqrt(2) * rms, at, sqrt(2) * rms, sqrt(2) * rms, f"rms of the controlled start, no offset, {case} case"
    low, high = first_peak_factors()
    cited = table("first_peak").rows[0].cited
    words = (
        f"{show(low, '')} to {show(high, '')} times the steady rms value, {cited}, {case} case; the upper end counts"
    )
    return high * rms, max(at, HALF_CYCLE), low * rms, high * rms, words


def _settable(current: float) -> float:
    """Up to two significant figures. [A]"""
    step = 10.0 ** (floor(log10(current)) - 1)
    return round(ceil(current / step - 1e-9) * step, 6)


def instantaneous_rows(found: InstantaneousTrip) -> tuple[Criterion, ...]:
    """A stated trip against peak and fault; where it was left open, a condition if no setting does both."""
    if found.given:
        return _stated(found)
    if found.least <= found.most:
        return ()
    words = (
        f"no setting both lets the highest peak pass ({show(found.least, 'A')} at least) and answers to the least fault "
        f"at the motor ({show(found.most, 'A')} at most): short-circuit protection needs a fuse or a delay"
    )
    row = Criterion(
        key="instantaneous",
        title="Instantaneous trip",
        value=None,
        limit=None,
        unit="",
        sense=Sense.AT_MOST,
        status=Status.CONDITION,
        margin=None,
        case="strong",
        source="common practice, no source",
        condition=words,
    )
    return (row,)


def _stated(found: InstantaneousTrip) -> tuple[Criterion, ...]:
    peak = judge(
        "instantaneous",
        "Setting that lets the highest peak pass",
        {"strong": found.least},
        found.setting,
        unit="A",
        sense=Sense.AT_MOST,
        source="instantaneous trip, given by user",
        note=found.basis,
    )
    fault = judge(
        "instantaneous_fault",
        "Instantaneous trip against the least fault",
        {"worst": found.setting},
        found.most,
        unit="A",
        sense=Sense.AT_MOST,
        source="two-phase fault at the motor, weak supply, IEC 60909-0 (from memory)",
    )
    return peak, fault
