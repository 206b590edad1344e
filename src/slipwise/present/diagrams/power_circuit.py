"""The power circuit of a way of starting, drawn for one stage: closed contacts closed and heavy, dead conductors thin."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from slipwise.present.diagrams.banks import sectioned
from slipwise.present.diagrams.circuit import Circuit, Far, alive, circuit_of, conducts, interlocks, stage_number
from slipwise.present.diagrams.layout import LABEL, PORT, STEP, Layout, Run, Spot, lay_out
from slipwise.present.diagrams.pen import DEAD, LINK, LIVE, PLAIN, Pen, Stroke, text_width
from slipwise.present.diagrams.symbol_table import symbol_for
from slipwise.present.diagrams.symbols import Phases, Place, star_joint
from slipwise.results.wiring import Device, Wiring

SMALL_LABEL, STATE = 9.5, 8.5
LEADING = 11.5
SWITCHING = frozenset({"contactor", "breaker", "isolator"})
NAMED = frozenset({  # whose kind stands beside them, because their symbol alone does not tell it
    "rectifier", "rotor converter", "chopper", "choke", "thyristor bridge", "line converter", "transformer",
    "variable transformer",
})  # fmt: skip


def diagram(wiring: Wiring, stage: str | None = None, lettering: float = 1.0) -> bytes:
    """The three-phase power circuit as SVG; the same wiring and stage give the same bytes.

    Args:
        wiring: devices and contact table.
        stage: draw the contacts as they stand in this stage; None draws everything at rest.
        lettering: by which the usual size of the type is multiplied, for a projector.

    Raises:
        InputError: the stage is not in the wiring, or the devices do not hang together.
    """
    if stage is not None:
        stage_number(wiring, stage)
    return _Drawing(sectioned(wiring), stage, lettering).svg(described(wiring, stage))


def described(wiring: Wiring, stage: str | None) -> str:
    """The diagram in words, for those who do not see it."""
    chain = ", ".join(device.label for device in wiring.devices)
    if stage is None:
        return f"Three-phase power circuit at rest, from the supply: {chain}."
    closed = wiring.closed[stage_number(wiring, stage)]
    contacts = [device.label for device in wiring.devices if device.kind == "contactor"]
    opened = [label for label in contacts if label not in closed]
    return (
        f"Three-phase power circuit in stage {stage}, from the supply: {chain}. "
        f"Closed: {', '.join(closed) or 'none'}. Open: {', '.join(opened) or 'none'}."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line of words beside a device."""

    text: str
    size: float
    bold: bool = False
    quiet: bool = False


class _Drawing:
    """One drawing in the making."""

    def __init__(self, wiring: Wiring, stage: str | None, lettering: float) -> None:
        self.wiring, self.stage, self.lettering = wiring, stage, lettering
        self.circuit: Circuit = circuit_of(wiring)
        self.live = alive(wiring, self.circuit, stage)
        labels = {
            d.label: lettering * max(text_width(line.text, line.size) for line in self.words(d)) for d in wiring.devices
        }
        self.layout: Layout = lay_out(self.circuit, labels)
        self.pen = Pen(lettering=lettering)
        self.spots: dict[str, Spot] = {}

    def svg(self, description: str) -> bytes:
        self.supply()
        for node, spot in enumerate(self.layout.trunk):
            self.device(spot, ("trunk", node - 1), ("trunk", node))
        for node, (top, bottom) in self.layout.nodes.items():
            for i, (x, end) in enumerate(zip(self.layout.xs, self.reaches(node, bottom), strict=True)):
                if i != 1 or node not in self.circuit.direct:
                    self.verticals((x,), top, end, self.stroke(("trunk", node)))
        last = len(self.circuit.trunk) - 1
        if self.circuit.joined_below:
            xs = self.conductors(self.layout.xs, last)
            star_joint(self.pen, xs, self.layout.nodes[last][1], self.stroke(("trunk", last)))
        self.back_to_supply(self.stroke(("trunk", last)))
        for k, run in enumerate(self.layout.runs):
            self.run(k, run)
        for one, other in interlocks(self.wiring, self.circuit):
            self.interlock(self.spots[one], self.spots[other])
        title = "Power circuit" if self.stage is None else f"Power circuit, stage {self.stage}"
        return self.pen.svg(title, description)

    def conductors(self, xs: Phases, node: int) -> Phases:
        """All three, or with direct current the outer two."""
        return (xs[0], xs[0], xs[2]) if node in self.circuit.direct else xs

    def back_to_supply(self, stroke: Stroke) -> None:
        """From the lower end of the trunk up beside everything and to the supply again."""
        if self.layout.back is None:
            return
        xs, upper, lower = self.layout.back
        for i, (x, far) in enumerate(zip(self.layout.xs, xs, strict=True)):
            y, v = lower + (2 - i) * STEP, upper + i * STEP
            self.pen.line((x, y), (far, y), (far, v), (x, v), stroke=stroke)
            self.pen.dot((x, v), stroke=stroke)

    def reaches(self, node: int, bottom: float) -> Phases:
        """How far each conductor goes down at a node: at the last to its last joint, unless a star point stands there."""
        if node == len(self.circuit.trunk) - 1 and self.layout.back is not None:
            lower = self.layout.back[2]
            return (lower + 2 * STEP, lower + STEP, lower)
        if node < len(self.circuit.trunk) - 1 or self.circuit.joined_below:
            return (bottom, bottom, bottom)
        last = max((run.returns for run in self.layout.runs if run.branch.end == node), default=0.0)
        return (last, last + STEP, last + 2 * STEP)

    def stroke(self, point: tuple[str, int]) -> Stroke:
        if self.stage is None:
            return PLAIN
        return LIVE if point in self.live else DEAD

    def words(self, device: Device) -> tuple[Line, ...]:
        """Beside a device: its designation, what it is for, and the state of a contactor in a stage."""
        name, _, purpose = device.label.partition(" ")
        closed = device.kind == "contactor" and self.stage is not None and conducts(self.wiring, device, self.stage)
        if device.kind == "contactor" and self.lettering > 1:  # in one line, so that it keeps clear of level conductors
            name, purpose = device.label, ""
        lines = [Line(text=name, size=LABEL, bold=closed)]
        if device.kind in NAMED and not purpose:
            purpose = device.kind
        if purpose:
            lines.append(Line(text=purpose, size=SMALL_LABEL, bold=closed))
        if device.kind == "contactor" and self.stage is not None:
            lines.append(Line(text="closed" if closed else "open", size=STATE, bold=closed, quiet=not closed))
        return tuple(lines)

    def supply(self) -> None:
        for x, name in zip(self.layout.xs, ("L1", "L2", "L3"), strict=True):
            self.pen.circle((x, -2.5), 2.5)
            self.pen.text((x, -9), name, 9, anchor="middle")

    def verticals(self, xs: Iterable[float], top: float, bottom: float, stroke: Stroke) -> None:
        if bottom > top:
            for x in xs:
                self.pen.line((x, top), (x, bottom), stroke=stroke)

    def device(self, spot: Spot, before: tuple[str, int], behind: tuple[str, int]) -> None:
        device = spot.device
        closed = conducts(self.wiring, device, self.stage)
        own = PLAIN
        if self.stage is not None:
            own = LIVE if closed and device.kind in SWITCHING else PLAIN if {before, behind} & self.live else DEAD
        direct = before[0] == "trunk" and before[1] in self.circuit.direct
        if before[0] != "trunk":
            branch = self.circuit.branches[int(before[0].removeprefix("branch "))]
            direct = branch.start in self.circuit.direct or branch.direct_behind(before[1])
        place = Place(
            xs=spot.xs,
            top=spot.top,
            bottom=spot.bottom,
            closed=closed,
            above=self.stroke(before),
            below=self.stroke(behind),
            own=own,
            kind=device.kind,
            terminals=self.terminals(device),
            rotor=device.kind == "motor" and self.circuit.wound_rotor,
            direct=direct,
        )
        symbol_for(device.kind)[0](self.pen, place)
        self.spots[device.label] = spot
        self.label(spot, place.middle)

    def label(self, spot: Spot, middle: float) -> None:
        """The lines one below the other; a state stands below the middle, where the dashed link of an interlock runs."""
        x, lines, leading = spot.xs[2] + 20.0, self.words(spot.device), LEADING * self.pen.lettering
        if spot.device.kind != "contactor":
            y = middle + 4.0 - leading / 2 * (len(lines) - 1)
        else:
            y = middle - 5.0 - leading * (len(lines) - (2 if self.stage is not None else 1))
        for line in lines:
            at = middle + 11.0 * self.pen.lettering if line.size == STATE else y
            self.pen.text((x, at), line.text, line.size, bold=line.bold, ink="#555555" if line.quiet else "#111111")
            y += leading

    def terminals(self, device: Device) -> tuple[str, ...]:
        if device.kind != "motor":
            return ()
        upper = ("U1", "V1", "W1")
        if self.wiring.windings:
            return tuple(name for winding in self.wiring.windings for speed in winding.speeds for name in speed.fed)[:6]
        if self.circuit.wound_rotor:
            return (*upper, "K", "L", "M")
        if self.circuit.two_windings:
            return (*upper, "U5", "V5", "W5")
        return (*upper, *self.circuit.ends) if self.wiring.motor_leads > 3 else upper

    def run(self, k: int, run: Run) -> None:
        """A branch: away from the trunk, its devices, and back or to a star point."""
        name, count = f"branch {k}", len(run.spots)
        self.leave(run, self.stroke((name, -1)))
        for i, spot in enumerate(run.spots):
            self.device(spot, (name, i - 1), (name, i))
        for i, spot in enumerate(run.star, start=count):
            self.device(spot, (name, i - 1), (name, i))
        stroke = self.stroke((name, count - 1))
        bottom = run.spots[-1].bottom
        if run.branch.far is Far.STAR:
            star_joint(self.pen, self.conductors(run.xs, run.branch.start), bottom, stroke)
        else:
            self.come_back(run, bottom, stroke)
        if run.branch.tapped:
            self.winding_ends(run, bottom, stroke, self.stroke((name, count + len(run.star) - 1)))

    def leave(self, run: Run, stroke: Stroke) -> None:
        """Right conductor uppermost, so that level conductors do not cross those going down."""
        first = run.spots[0].top
        for i, (x, target) in enumerate(zip(self.layout.xs, run.xs, strict=True)):
            if i == 1 and run.branch.start in self.circuit.direct:
                continue
            y = run.leaves + (2 - i) * STEP
            self.pen.line((x, y), (target, y), (target, first), stroke=stroke)
            self.pen.dot((x, y), stroke=stroke)

    def come_back(self, run: Run, bottom: float, stroke: Stroke) -> None:
        shift = (run.xs[1] - run.xs[0]) / 2 if run.branch.tapped else 0.0
        for i, to in run.branch.targets:
            x, source = self.layout.xs[to], run.xs[i]
            y = run.returns + i * STEP
            self.pen.line((source - shift, bottom), (source - shift, y), (x, y), stroke=stroke)
            self.pen.dot((x, y), stroke=stroke)

    def winding_ends(self, run: Run, top: float, stroke: Stroke, joint: Stroke) -> None:
        """The winding ends of an autotransformer, past the taps to their contactor or straight to the star point."""
        bottom = run.star[0].top if run.star else run.returns + PORT
        self.verticals(run.xs, top, bottom, stroke)
        star_joint(self.pen, run.xs, run.star[-1].bottom if run.star else bottom, joint)

    def interlock(self, one: Spot, other: Spot) -> None:
        """A dashed link between two contactors with the mark of mutual exclusion."""
        left, right = sorted((one, other), key=lambda spot: spot.xs[0])
        y, v = (left.top + left.bottom) / 2, (right.top + right.bottom) / 2
        x = right.xs[0] - (14 if abs(y - v) < 30 else 20)  # beside the label of the left one, or in the gap
        if left.xs == right.xs:
            x = left.xs[0] - 18
            self.pen.line((left.xs[0], y), (x, y), (x, v), (right.xs[0], v), stroke=LINK)
        else:
            self.pen.line((left.xs[2], y), (x, y), (x, v), (right.xs[0], v), stroke=LINK)
        middle = (y + v) / 2
        self.pen.polygon((x - 4.5, middle - 4), (x + 4.5, middle - 4), (x, middle + 4), fill="#ffffff")
