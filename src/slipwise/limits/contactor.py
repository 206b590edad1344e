"""What each contactor carries, makes and breaks, and the rated operational current that it needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from slipwise.data import table
from slipwise.limits.judge import judge
from slipwise.limits.records import by_stage
from slipwise.results.criteria import Criterion, Sense
from slipwise.results.protection_devices import ContactorDuty
from slipwise.results.series import Array
from slipwise.results.start import RunUp
from slipwise.results.wiring import Device, Wiring

CURRENT_KINDS = ("line", "motor", "winding", "star point", "rotor")


@dataclass(frozen=True, slots=True, kw_only=True)
class StageCurrents:
    """Currents by kind in one stage, rms A: at its beginning, at its end; seconds it lasts."""

    first: Mapping[str, float]
    last: Mapping[str, float]
    seconds: float


def stage_currents(run_up: RunUp, rings: Array | None = None) -> tuple[StageCurrents, ...]:
    """Currents of every stage that was gone through. rings: current in the slip rings over time, shape (n,), rms A.

    The star point of an autotransformer carries what the motor draws beyond the line.
    """
    line, motor = run_up.line_current, run_up.motor_current
    tracks = {
        "line": line,
        "motor": motor,
        "winding": run_up.winding_current,
        "star point": np.abs(motor - line),
        "rotor": np.zeros_like(line) if rings is None else rings,
    }
    found = []
    for mark, inside in by_stage(run_up):
        found.append(
            StageCurrents(
                first={kind: float(track[inside.start]) for kind, track in tracks.items()},
                last={kind: float(track[inside.stop - 1]) for kind, track in tracks.items()},
                seconds=mark.end - mark.begin,
            )
        )
    return tuple(found)


def contactors(
    wiring: Wiring,
    stages: Sequence[StageCurrents],
    running: Mapping[str, float],
    *,
    wound: bool,
    rated: float | None = None,
) -> tuple[ContactorDuty, ...]:
    """Every contactor of a way. running: rated currents by kind, rms A; wound: a slip-ring motor; rated: of K1, as stated."""
    devices = [device for device in wiring.devices if device.kind == "contactor"]
    return tuple(
        _duty(device, wiring, stages, running, wound, rated if n == 0 else None) for n, device in enumerate(devices)
    )


def _duty(
    device: Device,
    wiring: Wiring,
    stages: Sequence[StageCurrents],
    running: Mapping[str, float],
    wound: bool,
    rated: float | None,
) -> ContactorDuty:
    closed = [device.label in contacts for contacts in wiring.closed[: len(stages)]]
    share = [_share(device, wiring, contacts) for contacts in wiring.closed[: len(stages)]]
    kind = device.carries
    makes = max(
        (
            s.first[kind] * part
            for n, (s, part) in enumerate(zip(stages, share, strict=True))
            if closed[n] and (n == 0 or not closed[n - 1])
        ),
        default=0.0,
    )
    breaks = max(
        (s.last[kind] * share[n] for n, s in enumerate(stages[:-1]) if closed[n] and not closed[n + 1]), default=0.0
    )
    stays = bool(closed) and closed[-1] and len(closed) == len(wiring.closed)
    carries = running[kind] * share[-1] if stays else 0.0
    seconds = None if stays else sum(s.seconds for s, on in zip(stages, closed, strict=True) if on)
    category = "AC-2" if wound else "AC-3"
    limits = table("contactor_categories").find(category=category)
    assert limits is not None
    asks = {
        "rated current": carries,
        f"making, {limits['make']:g} times its rating": makes / float(limits["make"]),
        f"breaking, {limits['break']:g} times its rating": breaks / float(limits["break"]),
    }
    bound = max(asks, key=lambda words: asks[words])
    return ContactorDuty(
        label=device.label,
        category=category,
        carries=carries,
        seconds=seconds,
        makes=makes,
        breaks=breaks,
        needed=asks[bound],
        bound=bound,
        rated=rated,
    )


def _share(device: Device, wiring: Wiring, contacts: Sequence[str]) -> float:
    """Share of the current that a device carries beside others of its group that are closed too."""
    if device.share == 1.0:
        return 1.0
    together = [d.share for d in wiring.devices if d.kind == "contactor" and d.share < 1.0 and d.label in contacts]
    return device.share / sum(together) if device.label in contacts else 0.0


def contactor_rows(found: Sequence[ContactorDuty]) -> tuple[Criterion, ...]:
    """A stated rating against what the contactor needs."""
    return tuple(
        judge(
            "line_contactor",
            f"Rating that contactor {duty.label} needs, {duty.category}",
            {"strong": duty.needed},
            duty.rated,
            unit="A",
            sense=Sense.AT_MOST,
            source="contactor given by user; making and breaking of IEC 60947-4-1, Table 7 (from memory)",
            note=f"asked for by {duty.bound}",
        )
        for duty in found
        if duty.rated is not None
    )
