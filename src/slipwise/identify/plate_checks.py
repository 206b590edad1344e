"""What no plate can show: single values that no motor has, and pairs that no circuit can show together."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from slipwise.identify.records import Plate
from slipwise.quantity.errors import Fault, InputError

if TYPE_CHECKING:
    from slipwise.identify.reading import Reading

RPM = 30 / pi  # r/min per rad/s


def fault(field: str, value: object, reason: str, remedy: str) -> Fault:
    """A fault of one `[motor]` field."""
    return Fault(field=f"motor.{field}", value=str(value), reason=reason, remedy=remedy)


def refuse_impossible(plate: Plate) -> None:
    """Single values that no motor has."""
    faults = []
    sync = 4 * pi * plate.frequency / plate.poles
    if plate.speed is not None and plate.speed >= sync:
        text = f"{plate.speed * RPM:.5g} r/min"
        turning = f"{plate.poles} poles at {plate.frequency:g} Hz turn synchronously at {sync * RPM:.5g} r/min"
        reason = f"{turning}, and a motor runs below"
        faults.append(fault("rated_speed", text, reason, "check speed, poles and frequency"))
    elif plate.speed is not None and plate.speed < 0.7 * sync:
        text = f"{plate.speed * RPM:.5g} r/min"
        reason = f"that is slip {1 - plate.speed / sync:.3g} against {sync * RPM:.5g} r/min; rated slip lies below 0.3"
        faults.append(fault("rated_speed", text, reason, "check speed, poles and frequency"))
    for name in ("power_factor", "efficiency"):
        value = getattr(plate, name)
        if value is not None and not 0.05 < value < 0.999:
            faults.append(
                fault(name, f"{value:g}", "it must lie above 0.05 and below 0.999", "give it in per unit or per cent")
            )
    bounds = {
        "locked_rotor_current_ratio": (1.2, 20.0),
        "locked_rotor_torque_ratio": (0.05, 8.0),
        "breakdown_torque_ratio": (1.05, 8.0),
        "pull_up_torque_ratio": (0.05, 8.0),
    }
    for name, (low, high) in bounds.items():
        value = getattr(plate, name)
        if value is not None and not low <= value <= high:
            faults.append(
                fault(name, f"{value:g}", f"it must lie between {low:g} and {high:g}", "give it over the rated value")
            )
    faults += _refuse_order(plate)
    if faults:
        raise InputError(*faults)


def _refuse_order(plate: Plate) -> list[Fault]:
    low = plate.pull_up_torque_ratio
    faults = []
    if low is not None:
        for name in ("locked_rotor_torque_ratio", "breakdown_torque_ratio"):
            other = getattr(plate, name)
            if other is not None and low > other * 1.0001:
                words = name.replace("_ratio", "").replace("_", " ").replace("locked rotor", "locked-rotor")
                reason = f"pull-up torque is the least on the way up and cannot exceed {words}, {other:g}"
                faults.append(fault("pull_up_torque_ratio", f"{low:g}", reason, "check the two ratios"))
    return faults


def refuse_contradictions(r: Reading) -> None:
    """Pairs of values that no circuit can show together, by simple bounds; the fit finds the subtler ones."""
    faults = []
    plate = r.plate
    bound = 1 - r.slip
    total = 1 / r.efficiency - 1
    left = 1 / r.efficiency - 1 / bound  # loss that is not the rotor's, over rated power
    if left < 0.04 * total:
        reason = (
            f"at {r.speed * RPM:.5g} r/min the rotor alone loses slip {r.slip:.4g} of its power, so that efficiency must "
            f"stay well below 1 - slip = {bound:.4g}"
        )
        field, value = ("efficiency", f"{r.efficiency:.4g}")
        if plate.efficiency is None:
            field, value = "rated_speed", f"{r.speed * RPM:.5g} r/min"
            reason += f", and {r.efficiency:.4g} is likely by what is given"
        faults.append(fault(field, value, reason, "check efficiency, speed, poles and frequency"))
    elif plate.mechanical_loss is not None and plate.mechanical_loss > 0.9 * left * plate.power:
        reason = f"rated losses outside the rotor are only {left * plate.power:.4g} W by the efficiency and the slip"
        faults.append(
            fault("friction_and_windage", f"{plate.mechanical_loss:.4g} W", reason, "check loss and efficiency")
        )
    most = 0.98 * r.locked_current.value * bound / (r.power_factor * r.efficiency)
    if r.locked_torque.given and r.locked_torque.value > most:
        reason = (
            f"at locked-rotor current ratio {r.locked_current.value:.3g} the motor takes at most that many times rated "
            f"apparent power, which cannot make more than {most:.3g} times rated torque"
        )
        faults.append(fault("locked_rotor_torque_ratio", f"{r.locked_torque.value:g}", reason, "check the two ratios"))
    if not 0.05 < r.power_factor < 0.995:
        reason = "power, voltage, current and efficiency make this power factor"
        faults.append(
            fault("rated_current", f"{r.current:.4g} A", f"{reason}: {r.power_factor:.3g}", "check the four values")
        )
    if faults:
        raise InputError(*faults)
