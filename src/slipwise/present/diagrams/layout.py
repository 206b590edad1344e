"""Where each device of a circuit stands: the trunk downwards, branches in columns to its right, nested so as not to cross."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from slipwise.present.diagrams.circuit import Branch, Circuit, Far
from slipwise.present.diagrams.symbol_table import symbol_for
from slipwise.present.diagrams.symbols import PITCH, Phases
from slipwise.results.wiring import Device

STEP = 9.0  # between the three level conductors of a branch
PORT = 3 * STEP + 9  # room of a branch at a node
GAP = 12.0  # bare node
LABEL = 11.0
ROOM = 20.0  # beside a column: between its last conductor and the label, and between label and next column


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A placed device: conductors, top and bottom."""

    device: Device
    xs: Phases
    top: float
    bottom: float


@dataclass(slots=True, kw_only=True)
class Run:
    """A placed branch: its conductors, the upper of its three levels where it leaves and where it comes back, devices."""

    branch: Branch
    xs: Phases = (0.0, 0.0, 0.0)
    leaves: float = 0.0
    returns: float = 0.0
    spots: list[Spot] = field(default_factory=list)
    star: list[Spot] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """nodes: top and bottom of each trunk node, -1 (the supply) to the last. back: conductors, upper and lower level of
    what brings the lower end of the trunk back to the supply."""

    trunk: tuple[Spot, ...]
    nodes: Mapping[int, tuple[float, float]]
    runs: tuple[Run, ...]
    xs: Phases
    back: tuple[Phases, float, float] | None = None


def _phases(x: float) -> Phases:
    return (x, x + PITCH, x + 2 * PITCH)


def _height(devices: tuple[Device, ...]) -> float:
    return sum(symbol_for(device.kind)[1] for device in devices)


def _needed(branch: Branch) -> float:
    """From the level where a branch leaves to the level where it comes back or ends, least."""
    return PORT + _height(branch.devices) + (PORT if branch.far is Far.TRUNK else GAP)


def _order(circuit: Circuit) -> list[int]:
    """Branches from the inmost (shortest reach) to the outmost."""
    reach = [(b.end - b.start, _height(b.devices), k) for k, b in enumerate(circuit.branches)]
    return [k for *_, k in sorted(reach)]


@dataclass(slots=True, kw_only=True)
class _Slack:
    """Extra length of trunk nodes: above all levels, and below them."""

    above: dict[int, float] = field(default_factory=dict)
    below: dict[int, float] = field(default_factory=dict)

    def add(self, lacking: Mapping[tuple[int, int], float]) -> None:
        """Share what lacks between two nodes between both, so that the device between them stays in the middle."""
        for (start, end), length in lacking.items():
            if start == end:
                self.above[end] = self.above.get(end, 0.0) + length
            else:
                self.below[start] = self.below.get(start, 0.0) + length / 2
                self.above[end] = self.above.get(end, 0.0) + length / 2


def lay_out(circuit: Circuit, labels: Mapping[str, float]) -> Layout:
    """Place everything. labels: room for the words beside each device, by its label."""
    xs = _phases(0.0)
    order = _order(circuit)
    slack = _Slack()
    runs = [Run(branch=branch) for branch in circuit.branches]
    for _ in range(2 * len(runs) + 1):  # each pass mends at least one branch for good: slack only grows
        trunk, nodes = _trunk(circuit, xs, slack)
        _levels(circuit, nodes, runs, order, slack)
        lacking = _lacking(circuit, runs)
        if not lacking:
            break
        slack.add(lacking)
    _columns(circuit, runs, order, labels, xs)
    for run in runs:
        _fill(run)
    return Layout(
        trunk=tuple(trunk), nodes=nodes, runs=tuple(runs), xs=xs, back=_back(circuit, nodes, runs, labels, xs)
    )


def _back(
    circuit: Circuit, nodes: Mapping[int, tuple[float, float]], runs: list[Run], labels: Mapping[str, float], xs: Phases
) -> tuple[Phases, float, float] | None:
    """Right of all columns and below all that hangs; the outmost conductor is the first, so that none crosses another."""
    if circuit.returns is None:
        return None
    reach = [xs[2] + ROOM + max(labels[device.label] for device in circuit.trunk)]
    reach += [run.xs[2] + ROOM + max(labels[device.label] for device in run.branch.devices) for run in runs]
    right = max(reach) + ROOM
    lower = max([nodes[len(circuit.trunk) - 1][0], *(_span(run)[1] for run in runs)]) + 9.0
    return (right + 2 * PITCH, right + PITCH, right), nodes[circuit.returns][0] + 9.0, lower


def _ports(circuit: Circuit, node: int) -> int:
    leaving = sum(branch.start == node for branch in circuit.branches)
    coming = sum(branch.far is Far.TRUNK and branch.end == node for branch in circuit.branches)
    back = circuit.returns is not None and node in (circuit.returns, len(circuit.trunk) - 1)
    return leaving + coming + back


def _trunk(circuit: Circuit, xs: Phases, slack: _Slack) -> tuple[list[Spot], dict[int, tuple[float, float]]]:
    y, spots, nodes = 0.0, [], {}
    for node in range(-1, len(circuit.trunk)):
        if node >= 0:
            device = circuit.trunk[node]
            bottom = y + symbol_for(device.kind)[1]
            spots.append(Spot(device=device, xs=xs, top=y, bottom=bottom))
            y = bottom
        room = GAP if node == -1 or (node == len(circuit.trunk) - 1 and circuit.joined_below) else 0.0
        room += PORT * _ports(circuit, node) + slack.above.get(node, 0.0) + slack.below.get(node, 0.0)
        nodes[node] = (y, y + room)
        y += room
    return spots, nodes


def _levels(
    circuit: Circuit, nodes: Mapping[int, tuple[float, float]], runs: list[Run], order: list[int], slack: _Slack
) -> None:
    """Give each branch its levels: at a node those that come back stand above those that leave, outer ones outside."""
    for node, (top, _) in nodes.items():
        y = top + slack.above.get(node, 0.0) + (GAP if node == -1 else 0.0) + 9.0
        y += PORT if node == circuit.returns else 0.0
        for k in order:
            if circuit.branches[k].far is Far.TRUNK and circuit.branches[k].end == node:
                runs[k].returns = y
                y += PORT
        for k in reversed(order):
            if circuit.branches[k].start == node:
                runs[k].leaves = y
                y += PORT


def _lacking(circuit: Circuit, runs: list[Run]) -> dict[tuple[int, int], float]:
    """Where and by how much the trunk is too short: from the start to the return of a branch that does not fit, and
    above the start of a hanging branch that would overlap the one before."""
    lacking: dict[tuple[int, int], float] = {}
    for branch, run in zip(circuit.branches, runs, strict=True):
        short = _needed(branch) - (run.returns - run.leaves)
        if branch.far is Far.TRUNK and short > 0.5:
            lacking[branch.start, branch.end] = max(short, lacking.get((branch.start, branch.end), 0.0))
    hanging = sorted((run.leaves, k) for k, run in enumerate(runs) if circuit.branches[k].far is Far.STAR)
    for (y, k), (following, j) in pairwise(hanging):
        if circuit.branches[k].start == circuit.branches[j].start:
            continue  # side by side in columns of their own
        short = y + _needed(circuit.branches[k]) + 16.0 - following
        if short > 0.5:
            node = circuit.branches[j].start
            lacking[node, node] = max(short, lacking.get((node, node), 0.0))
            break  # those further down move along
    return lacking


def _span(run: Run) -> tuple[float, float]:
    """Top and bottom of all that stands in the column of a branch."""
    end = run.returns + PORT if run.branch.far is Far.TRUNK else run.leaves + _needed(run.branch)
    return run.leaves, max(end, run.returns + PORT + _height(run.branch.star) + GAP if run.branch.star else end)


def _columns(circuit: Circuit, runs: list[Run], order: list[int], labels: Mapping[str, float], xs: Phases) -> None:
    """Put each branch as near to the trunk as those inside it leave room."""

    def reach(devices: tuple[Device, ...], right: float) -> float:
        return right + max((labels[device.label] for device in devices), default=0.0) + ROOM

    trunk_right = reach(circuit.trunk, xs[2] + ROOM)
    taken: list[tuple[float, float, float]] = []  # top, bottom, right edge
    for k in order:
        run = runs[k]
        top, bottom = _span(run)
        beside = [right for low, high, right in taken if low < bottom + 8 and high > top - 8]
        shift = PITCH / 2 if run.branch.tapped else 0.0
        run.xs = _phases(max([trunk_right, *beside]) + shift)
        taken.append((top, bottom, reach((*run.branch.devices, *run.branch.star), run.xs[2] + ROOM / 2)))


def _fill(run: Run) -> None:
    """Stand the devices of a branch in the middle of the room between its levels."""
    room = run.returns - (run.leaves + PORT) - _height(run.branch.devices)
    y = run.leaves + PORT + (max(0.0, room) / 2 if run.branch.far is Far.TRUNK and not run.branch.tapped else 0.0)
    if run.branch.tapped:
        y = run.returns - _height(run.branch.devices)
    for device in run.branch.devices:
        bottom = y + symbol_for(device.kind)[1]
        run.spots.append(Spot(device=device, xs=run.xs, top=y, bottom=bottom))
        y = bottom
    y = run.returns + PORT
    for device in run.branch.star:
        bottom = y + symbol_for(device.kind)[1]
        run.star.append(Spot(device=device, xs=run.xs, top=y, bottom=bottom))
        y = bottom
