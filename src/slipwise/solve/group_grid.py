"""The path common to several motors, solved with each motor as the admittance it has in its stage at its speed."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.results.series import Array
from slipwise.solve import network, steady
from slipwise.solve.plan import Drive, Plan, Stage

_ROUNDS = 100
_CLOSE = 1e-11  # of the largest admittance, between rounds


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One motor of a group.

    drive: motor and load; its supply is not looked at. plan: its way of starting.
    place: busbar of the common path, counted from the source. branch: impedance of its own cable from there, at rated
    frequency and its own voltage level [ohm]. switch_on: s; None: it runs from the beginning, in the last stage of its plan.
    drop_out: voltage of its busbar (pu of nominal) below which its contactor falls out for good; 0: it holds.
    """

    name: str
    drive: Drive
    plan: Plan
    place: int
    branch: complex = 0.0
    switch_on: float | None = 0.0
    drop_out: float = 0.0


class Grid:
    """The common path, reduced to the busbars where motors and constant-power loads hang.

    Each motor is an admittance at its busbar, found from its own steady state at the voltage there; what depends on the
    voltage (saturation, converters, constant power) is repeated until nothing moves.

    Source: bus impedance matrix with shunts as in `solve.network`; fixed-point repetition.
    """

    def __init__(self, path: SupplyPath, members: tuple[Member, ...]) -> None:
        self.path = path
        self.members = members
        net = network.reduced(path)
        self._followers = net.followers
        self._here = [m.place for m in members] + [f.place for f in net.followers]
        impedance = np.array(net.impedance)
        self._emf = np.array(net.emf)
        self._all = impedance[:, self._here]
        self._own = impedance[np.ix_(self._here, self._here)]
        self._unit = np.eye(len(self._here))
        self._y = np.zeros(len(self._here), complex)
        self.last = self._emf[[m.place for m in members]]  # phase voltages of the last solution, one a motor [V]

    def solve(
        self, stages: list[Stage], speeds: list[float], local: list[float], factor: float
    ) -> tuple[list[steady.Point], Array]:
        """The steady point of every motor, and the complex phase voltage at every busbar of the path. [V]

        stages, speeds (rad/s), local (s into the stage): one a motor. factor: on the source voltage.
        """
        count, emf = len(self.members), factor * self._emf
        for _ in range(_ROUNDS):
            volts = self._volts(emf[self._here])
            points = [
                steady.solve(self.fed(m, abs(complex(v))), stage, speed, at)
                for m, v, stage, speed, at in zip(self.members, volts, stages, speeds, local, strict=False)
            ]
            found = np.array([_behind(m.branch, p.admittance) for m, p in zip(self.members, points, strict=True)])
            moved = float(np.max(abs(found - self._y[:count])))
            self._y[:count] = found
            if moved <= _CLOSE * max(float(np.max(abs(self._y))), 1e-12):
                break
        self.last = volts[:count]
        return points, emf - self._all @ (self._y * volts)

    def _volts(self, emf: Array) -> Array:
        """Phase voltages where something hangs, the constant-power loads repeated until they agree with their voltage."""
        count = len(self.members)
        while True:
            volts: Array = np.linalg.solve(self._unit + self._own * self._y, emf)
            moved = 0.0
            for k, follower in enumerate(self._followers, start=count):
                y = follower.power.conjugate() / max(abs(complex(volts[k])), follower.floor) ** 2
                moved, self._y[k] = max(moved, abs(y - self._y[k]) / abs(y)), y
            if moved <= _CLOSE:
                return volts

    def fed(self, member: Member, voltage: float) -> Drive:
        """The drive on a stiff busbar at phase voltage `voltage`, behind its own cable."""
        bar = self.path.busbars[member.place]
        link = Link(name=bar.name, kind="cable", impedance=member.branch, busbar=Busbar(name=bar.name, nominal=1.0))
        path = SupplyPath(voltage=voltage * sqrt(3), frequency=self.path.frequency, links=(link,))
        return Drive(motor=member.drive.motor, load=member.drive.load, supply=path)


def _behind(branch: complex, admittance: complex) -> complex:
    """Admittance seen through the motor's own cable. [S]"""
    return admittance / (1 + branch * admittance)
