"""The steady picture of all ways, as the page draws it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from slipwise.doors.desk.shown import Units, setting_dict
from slipwise.quantity.show import show
from slipwise.results.picture import Picture, PicturePoint, PointKind, WayPicture
from slipwise.results.start import Curves
from slipwise.study.model import Study

CURRENTS = ("line_current", "motor_current", "winding_current")


class _Drawn:
    """What was sent already, and how."""

    def __init__(self, units: Units, currents: Sequence[str]) -> None:
        self.units, self.currents = units, currents
        self.sent: list[tuple[list[int], Curves]] = []

    def stage(self, at: tuple[int, int], way: WayPicture) -> dict[str, Any]:
        """One stage; numbers that were sent already are named by the places of way and stage in `same_as`."""
        curve = way.curves[at[1]]
        found: dict[str, Any] = {
            "name": curve.stage,
            "contacts": list(way.contacts[at[1]]),
            "used": [self.units.one("speed", speed) for speed in way.used[at[1]]],
            "fed": bool(curve.line_current.any()),
            "same_as": next((place for place, sent in self.sent if sent.torque is curve.torque), None),
        }
        if found["same_as"] is None:
            self.sent.append((list(at), curve))
            found["torque"] = self.units.of("torque", curve.torque)
            found |= {name: self.units.of("current", getattr(curve, name)) for name in self.currents}
        return found


def steady_dict(study: Study, found: Picture, currents: Sequence[str] = CURRENTS[:1]) -> dict[str, Any]:
    """Curves, points and dips of every way on one abscissa; stages fed alike share one set of numbers by `same_as`.

    currents: which of `CURRENTS` are sent.
    """
    rating = study.motor.rating
    curves = {id(curve.torque): curve for way in found.ways for curve in way.curves}.values()  # stages alike share one
    units = Units(
        speed=(rating.synchronous_speed, "rad/s"),
        torque=(max([rating.torque, *(float(abs(c.torque).max()) for c in curves)]), "N m"),
        current=(max([rating.current, *(float(c.line_current.max()) for c in curves)]), "A"),
        voltage=(1.0, "pu"),
    )
    drawn = _Drawn(units, currents)
    return {
        "title": study.title,
        "units": units.names,
        "synchronous_speed": units.one("speed", rating.synchronous_speed),
        "rated": {
            "speed": units.one("speed", rating.speed),
            "torque": units.one("torque", rating.torque),
            "current": units.one("current", rating.current),
        },
        "speed": units.of("speed", found.speed),
        "loads": [{"name": name, "torque": units.of("torque", torque)} for name, torque in found.loads],
        "busbars": [
            {
                "name": bus.name,
                "dip_limit": None if bus.dip_limit is None else 100 * bus.dip_limit,
                "dip_limit_text": "" if bus.dip_limit is None else f"at most {show(bus.dip_limit, 'pu')}",
            }
            for bus in study.supply.nominal.busbars
        ],
        "ways": [_way(place, way, drawn) for place, way in enumerate(found.ways)],
    }


def _way(place: int, way: WayPicture, drawn: _Drawn) -> dict[str, Any]:
    return {
        "key": way.key,
        "title": way.title,
        "applies": not way.reason,
        "reason": way.reason,
        "settings": [setting_dict(f"starting.{way.key}", setting) for setting in way.settings],
        "held": way.held,
        "stages": [drawn.stage((place, number), way) for number in range(len(way.curves))],
        "points": [_point(point, drawn.units) for point in way.points],
        "dips": [
            {
                "busbar": dip.busbar,
                "dip": float(f"{100 * dip.dip:.5g}"),
                "shown": show(dip.dip, "pu"),
                "limit": None if dip.limit is None else 100 * dip.limit,
                "ok": None if dip.limit is None else dip.dip <= dip.limit,
            }
            for dip in way.dips
        ],
    }


def _point(point: PicturePoint, units: Units) -> dict[str, Any]:
    return {
        "kind": point.kind.value,
        "stage": point.stage,
        "speed": units.one("speed", point.speed),
        "torque": units.one("torque", point.torque),
        "current": units.one("current", point.current),
        "words": _words(point),
    }


def _words(point: PicturePoint) -> str:
    if point.kind is PointKind.CRAWL:
        return f"left alone hangs at {show(point.speed, 'rad/s')}"
    if point.kind is PointKind.CHANGEOVER:
        return f"changes over at {show(point.speed, 'rad/s')}"
    if point.kind is PointKind.BREAKDOWN:
        return f"breakdown {show(point.torque, 'N m')} at {show(point.speed, 'rad/s')}"
    if point.kind is PointKind.STANDSTILL:
        return f"standstill {show(point.torque, 'N m')}, {show(point.current, 'A')}"
    return f"runs at {show(point.speed, 'rad/s')}, {show(point.torque, 'N m')}, {show(point.current, 'A')}"
