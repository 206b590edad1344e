"""What is connected to what: the devices of a `Wiring` as one trunk with branches beside it, and what is alive in a stage.

Nothing here knows a way of starting or of speed control. It goes by the kinds of the devices, by `after`, and by rules
for the far end of a branch: behind a motor or an autotransformer an open end is a star point; elsewhere it comes back to
the trunk; a transformer at the end of the rotor circuit stands at the supply again, behind the first device.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from slipwise.quantity.errors import InputError
from slipwise.results.wiring import Device, Wiring

SERIES = frozenset({"autotransformer", "reactor", "resistor", "thyristors", "inverter"})
SWITCHES = frozenset({"contactor"})
TO_DIRECT = frozenset({"rectifier", "rotor converter"})  # behind these the current is direct
FROM_DIRECT = frozenset({"thyristor bridge", "line converter"})  # until one of these
ONE_WAY = TO_DIRECT | FROM_DIRECT  # a blocked valve keeps the supply from what lies before it
ENDS = "ends"  # the node behind the motor: second winding ends, or slip rings


class Far(StrEnum):
    """Where a branch ends."""

    STAR = "star"
    TRUNK = "trunk"


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """Devices beside the trunk. start, end: numbers of trunk nodes (node i is behind trunk device i, -1 is the supply);
    far: STAR when the last conductors are joined, TRUNK when they come back at `end`. star: devices that follow the
    winding end of an autotransformer, drawn below it."""

    devices: tuple[Device, ...]
    start: int
    far: Far
    end: int
    star: tuple[Device, ...] = ()

    def direct_behind(self, place: int) -> bool:
        """Whether direct current flows behind a device of this branch (-1: before the first)."""
        inside = False
        for device in self.devices[: place + 1]:
            inside = device.kind in TO_DIRECT or (inside and device.kind not in FROM_DIRECT)
        return inside

    @property
    def targets(self) -> tuple[tuple[int, int], ...]:
        """Which conductor of the branch comes back to which of the trunk: direct current to two or three of them, swapped
        lines to the other, as the note of the last device says."""
        note = self.devices[-1].note
        if self.direct_behind(len(self.devices) - 1):
            return ((0, 0), (2, 2), (2, 1)) if "V1 and W1" in note else ((0, 0), (2, 2))
        swapped = any("swaps L1 and L3" in device.note for device in self.devices)
        return ((0, 2), (1, 1), (2, 0)) if swapped else ((0, 0), (1, 1), (2, 2))

    @property
    def tapped(self) -> bool:
        """Ends in an autotransformer: its taps go back to the trunk, its winding ends straight on."""
        return self.devices[-1].kind == "autotransformer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """The trunk from the supply down, with what hangs below the motor; the branches; the place of the motor in it.

    joined_below: the trunk ends in a star point. ends: winding end joined to L1, L2, L3 by a branch to the motor's ends.
    returns: number of the trunk node to which the lower end comes back, None when it does not. direct: trunk nodes with
    direct current, two conductors.
    """

    trunk: tuple[Device, ...]
    motor: int
    branches: tuple[Branch, ...]
    joined_below: bool
    ends: tuple[str, str, str]
    wound_rotor: bool
    two_windings: bool
    returns: int | None = None
    direct: frozenset[int] = frozenset()


def _children(wiring: Wiring) -> dict[str, list[Device]]:
    labels = {device.label for device in wiring.devices}
    children: dict[str, list[Device]] = {}
    for device in wiring.devices:
        if device.after and device.after not in labels:
            raise InputError.of(
                f"wiring.{device.label}.after",
                device.after,
                "is not a device of this circuit",
                "name one: " + str(labels),
            )
        children.setdefault(device.after, []).append(device)
    return children


def _chain(first: Device, children: dict[str, list[Device]]) -> list[Device]:
    """A device and what follows it in its own branch."""
    chain = [first]
    while following := [d for d in children.get(chain[-1].label, []) if d.branch == first.branch]:
        chain.append(following[0])
    return chain


def circuit_of(wiring: Wiring) -> Circuit:
    """Sort the devices into trunk and branches.

    Raises:
        InputError: no main device at the supply, no motor in the main branch, or `after` names no device.
    """
    children = _children(wiring)
    roots = [device for device in children.get("", []) if device.branch == "main"]
    if not roots:
        raise InputError.of("wiring.devices", "", "no main device at the supply", 'give one with after = "" in "main"')
    trunk = _chain(roots[0], children)
    motor = next((i for i, device in enumerate(trunk) if device.kind == "motor"), None)
    if motor is None:
        raise InputError.of("wiring.devices", trunk[-1].label, "the main branch has no motor", "end it with the motor")
    behind = [_chain(child, children) for child in children.get(trunk[motor].label, []) if child.branch != "main"]
    below = max(behind, key=len, default=[])
    trunk += below
    wound = any(device.kind not in SWITCHES for device in below)
    leads = 3 if wound else wiring.motor_leads  # what a wound rotor brings out beyond three are its slip rings
    tree = _Tree(trunk=trunk, motor=motor, children=children, leads=leads)
    returns = 0 if below and below[-1].kind == "transformer" else None
    return Circuit(
        trunk=tuple(trunk),
        motor=motor,
        branches=tree.branches(),
        joined_below=bool(below) and returns is None,
        ends=_ends(wiring),
        wound_rotor=wound,
        two_windings=leads > 3 and not below,
        returns=returns,
        direct=_direct(trunk),
    )


def _direct(trunk: list[Device]) -> frozenset[int]:
    """Nodes between a converter to direct current and one from it."""
    found, inside = set(), False
    for node, device in enumerate(trunk):
        inside = device.kind in TO_DIRECT or (inside and device.kind not in FROM_DIRECT)
        if inside:
            found.add(node)
    return frozenset(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tree:
    """The devices while they are being sorted: trunk, place of the motor in it, followers of each device, leads."""

    trunk: list[Device]
    motor: int
    children: dict[str, list[Device]]
    leads: int

    def branches(self) -> tuple[Branch, ...]:
        on_trunk = {device.label for device in self.trunk}
        found = []
        for node, device in enumerate((None, *self.trunk), start=-1):
            for child in self.children.get(device.label if device else "", []):
                if child.label not in on_trunk:
                    found.append(self.branch(node, _chain(child, self.children)))
        return tuple(found)

    def branch(self, start: int, chain: list[Device]) -> Branch:
        star: list[Device] = []
        if chain[-1].kind == "autotransformer":
            others = [d for d in self.children.get(chain[-1].label, []) if d.branch != chain[-1].branch]
            star = _chain(others[0], self.children) if others else []
        if start >= self.motor:
            return Branch(devices=tuple(chain), start=start, far=Far.STAR, end=start)
        end = self.motor if self.leads > 3 and not star else self.comes_back(start)
        return Branch(devices=tuple(chain), start=start, far=Far.TRUNK, end=end, star=tuple(star))

    def comes_back(self, start: int) -> int:
        """Behind the last series device that the branch can bridge, else before relay and motor."""
        bridged = [i for i in range(start + 1, self.motor) if self.trunk[i].kind in SERIES]
        if bridged:
            return bridged[-1]
        stops = {"overload", "motor"}
        return next(i for i in range(start + 1, self.motor + 1) if self.trunk[i].kind in stops) - 1


def _ends(wiring: Wiring) -> tuple[str, str, str]:
    """Which winding end each line reaches, as the notes of the devices say (`U2-L3, V2-L1, W2-L2`)."""
    said = dict.fromkeys(("1", "2", "3"), "")
    for device in wiring.devices:
        said.update({line: end for end, line in re.findall(r"\b([UVW]2)-L([123])\b", device.note)})
    return said["1"], said["2"], said["3"]


def conducts(wiring: Wiring, device: Device, stage: str | None) -> bool:
    """Whether current can pass a device in a stage; at rest (stage None) no switching device lets it pass.

    A device that is named in the contact table of any stage conducts when it is named in this one.
    """
    switched = any(device.label in closed for closed in wiring.closed) or device.kind in SWITCHES
    if stage is None:
        return not switched and device.kind not in {"breaker", "isolator"}
    return not switched or device.label in wiring.closed[stage_number(wiring, stage)]


def stage_number(wiring: Wiring, stage: str) -> int:
    """Which stage of the contact table has this name.

    Raises:
        InputError: none has.
    """
    if stage not in wiring.stages:
        raise InputError.of(
            "stage", stage, "is not a stage of this circuit", "choose one of " + ", ".join(wiring.stages)
        )
    return wiring.stages.index(stage)


Point = tuple[str, int]  # ("trunk", node) or ("branch k", number of the device it is behind; -1 is before the first)


def alive(wiring: Wiring, circuit: Circuit, stage: str | None) -> frozenset[Point]:
    """The points connected to the supply in a stage. A star-joined branch that conducts hides what lies further down."""
    links = [(("trunk", i - 1), ("trunk", i), d) for i, d in enumerate(circuit.trunk)]
    for k, branch in enumerate(circuit.branches):
        name = f"branch {k}"
        links += [((name, i - 1), (name, i), d) for i, d in enumerate((*branch.devices, *branch.star))]
    same = _same_points(circuit)
    reached: set[Point] = {("trunk", -1)} if stage is not None else set()
    shorted = _first_short(wiring, circuit, stage)
    while True:
        grown = reached | {b for pair in same for a, b in (pair, pair[::-1]) if a in reached}
        for a, b, device in links:
            if conducts(wiring, device, stage) and not (a[0] == "trunk" and a[1] >= shorted):
                grown |= {b} if a in grown else set()
                grown |= {a} if b in grown and device.kind not in ONE_WAY else set()
        if grown == reached:
            return frozenset(reached)
        reached = grown


def _same_points(circuit: Circuit) -> list[tuple[Point, Point]]:
    """Ends of branches and the trunk nodes they are tied to."""
    pairs: list[tuple[Point, Point]] = []
    if circuit.returns is not None:
        pairs.append((("trunk", len(circuit.trunk) - 1), ("trunk", circuit.returns)))
    for k, branch in enumerate(circuit.branches):
        pairs.append((("trunk", branch.start), (f"branch {k}", -1)))
        if branch.far is Far.TRUNK:
            pairs.append(((f"branch {k}", len(branch.devices) - 1), ("trunk", branch.end)))
    return pairs


def _first_short(wiring: Wiring, circuit: Circuit, stage: str | None) -> int:
    """The first trunk node behind the motor that a closed contact joins to a star point."""
    closed = [
        branch.start
        for branch in circuit.branches
        if branch.far is Far.STAR
        and all(device.kind in SWITCHES and conducts(wiring, device, stage) for device in branch.devices)
    ]
    return min(closed, default=len(circuit.trunk))


def interlocks(wiring: Wiring, circuit: Circuit) -> tuple[tuple[str, str], ...]:
    """Pairs of contactors never closed together whose closing at once would be a short circuit: of which one joins a star
    point, or says in its note which other it is interlocked with."""
    labels = {device.label for device in wiring.devices}
    said = [
        (device.label, other)
        for device in wiring.devices
        for other in re.findall(r"interlocked with (\w+(?: \w+)?)", device.note)
        if other in labels
    ]
    below = circuit.trunk[circuit.motor + 1 :] if not circuit.wound_rotor else ()
    stars = [d for d in (*below, *(d for branch in circuit.branches for d in branch.star)) if d.kind == "contactor"]
    pairs = said
    for star in stars:
        for other in wiring.devices:
            together = any(star.label in closed and other.label in closed for closed in wiring.closed)
            used = any(other.label in closed for closed in wiring.closed)
            if other.kind == "contactor" and other != star and used and not together:
                pairs.append((star.label, other.label))
    return tuple(pairs)
