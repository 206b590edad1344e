"""Loss class of a converter by the published reference losses."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

from slipwise.data import table
from slipwise.methods.speed.converter_chain import settle
from slipwise.methods.speed.inverter_point import Arrangement
from slipwise.methods.speed.voltage_law import Demand
from slipwise.quantity.provenance import Origin
from slipwise.results.study import Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveClass:
    """name: "IE0" to "IE2"; reference: W; share: loss over reference less one; source: with the status of the tables."""

    name: str
    reference: float
    share: float
    source: str


def reference_loss(apparent: float) -> tuple[float, str] | None:
    """Loss of the reference drive at an apparent power (VA) and its source; None outside the table. [W]

    The next higher tabulated rating holds for one in between.
    Source: Commission Regulation (EU) 2019/1781, Annex I (from memory).
    """
    rows = table("drive_reference_losses").rows
    for below, row in pairwise(rows):
        if below["apparent_kVA"] < apparent / 1e3 <= row["apparent_kVA"]:
            return 1e3 * row["loss_kW"], row.cited
    first = rows[0]
    return (1e3 * first["loss_kW"], first.cited) if 0 < apparent / 1e3 <= first["apparent_kVA"] else None


def drive_class(apparent: float, loss: float, of: str = "module") -> DriveClass | None:
    """Class of a drive of `apparent` power (VA) with `loss` (W) at the point of reference; None outside the table.

    Source: IEC 61800-9-2:2017: bands of 25 % (module) or 20 % (system) about the reference.
    """
    found = reference_loss(apparent)
    if found is None:
        return None
    reference, source = found
    share = loss / reference - 1
    row = next(row for row in table("drive_loss_classes").where(of=of) if 100 * share < row["below"])
    return DriveClass(name=row["class"], reference=reference, share=share, source=f"{row.cited}; {source}")


def class_of_drive(arranged: Arrangement) -> tuple[Setting, ...]:
    """Loss at 90 % of rated frequency and rated torque, and the class that gives; empty outside the tables."""
    rating, converter = arranged.feed.motor.rating, arranged.converter
    speed = 0.9 * arranged.feed.per_hertz * rating.frequency * (1 - rating.slip / 0.9)
    state = settle(
        converter,
        arranged.feed.motor,
        arranged.feed.circuit,
        lambda top: arranged.law.met(arranged.feed, Demand(speed=speed, load=lambda w: rating.torque + 0.0 * w), top),
        arranged.top,
    )
    line = state.link
    loss = line.rectifier_loss + line.choke_loss + state.inverter + state.control
    apparent = sqrt(3) * rating.voltage * rating.current
    found = drive_class(apparent, loss)
    made = Setting(
        key="drive_loss",
        title="converter loss at 90 % frequency, rated torque",
        value=loss,
        unit="W",
        origin=Origin.ESTIMATED.value,
        why="rectifier, choke, link and inverter by typical figures",
    )
    if found is None:
        return (made,)
    words = f"{100 * abs(found.share):.0f} % {'below' if found.share < 0 else 'above'} the reference of {found.reference:.0f} W"
    return (
        made,
        Setting(
            key="drive_class",
            title="converter loss class",
            value=None,
            unit="",
            origin=Origin.ESTIMATED.value,
            why=f"{words}; {found.source}",
            text=found.name,
        ),
    )
