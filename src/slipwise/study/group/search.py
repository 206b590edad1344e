"""Which motors to switch on together, and which after them, so that every limit holds with the fewest switchings."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from math import ceil

from slipwise.limits.group import group_criteria
from slipwise.limits.thresholds import Threshold
from slipwise.model.supply.path import Busbar, SupplyPath
from slipwise.results.criteria import Criterion
from slipwise.results.group import GroupRun
from slipwise.solve.group import run_group
from slipwise.solve.group_grid import Member
from slipwise.study.verdict import against

QUICK, FULL = (1e-6, 1e-3), (1e-6, 2e-4)  # error allowed in a step, and torque (pu) that counts as none
GRAIN = 0.5  # s, to which switching times are rounded up
GLANCE = 1e-3  # s, of a run that only looks at standstill
MOST_RUNS = 40  # run-ups of a search
MOST_LOOKS = 400  # sets looked at in it


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """The group in each case: path and motors; limits of the busbars and of each motor's voltage; power of each motor."""

    paths: Mapping[str, SupplyPath]
    members: Mapping[str, tuple[Member, ...]]
    busbars: Sequence[Busbar]
    limits: Sequence[Threshold]
    sizes: Mapping[str, float]  # locked-rotor current by name, A
    pause: float
    tell: Callable[[str], None]  # what is being run

    def run(
        self,
        case: str,
        switch_on: Mapping[str, float | None],
        exact: tuple[float, float] = FULL,
        max_time: float = 120.0,
    ) -> GroupRun:
        """The motors named in `switch_on` at their times (None: running); the others are left out."""
        self.tell(f"{len(switch_on)} motor{'s' if len(switch_on) > 1 else ''}, {case} case")
        members = tuple(replace(m, switch_on=switch_on[m.name]) for m in self.members[case] if m.name in switch_on)
        return run_group(
            self.paths[case],
            members,
            case=case,
            max_time=max_time,
            relative=exact[0],
            still=exact[1],
            parts=2 if exact == FULL else 1,
        )

    def judged(
        self, switch_on: Mapping[str, float | None], exact: tuple[float, float] = FULL, max_time: float = 120.0
    ) -> tuple[dict[str, GroupRun], tuple[Criterion, ...]]:
        """Runs of every case, and their rows."""
        runs = {case: self.run(case, switch_on, exact, max_time) for case in self.paths}
        names = [m.name for m in next(iter(self.members.values()))]
        limits = [limit for name, limit in zip(names, self.limits, strict=True) if name in switch_on]
        return runs, group_criteria(runs, self.busbars, limits)


def timed(scene: Scene, batches: Sequence[Sequence[str]], running: Sequence[str]) -> list[float] | None:
    """When each batch is switched on: the one before is at speed in every case, and the pause is over. [s]

    None when one of them does not arrive.
    """
    times, clock, on = [], 0.0, list(running)
    for batch in batches:
        times.append(clock)
        spans = [_span(scene, case, on, batch) for case in scene.paths]
        if None in spans:
            return None
        longest = max(span for span in spans if span is not None)
        clock += ceil((longest + scene.pause) / GRAIN) * GRAIN
        on += batch
    return times


def _span(scene: Scene, case: str, on: Sequence[str], batch: Sequence[str]) -> float | None:
    switch_on: dict[str, float | None] = {**dict.fromkeys(on), **dict.fromkeys(batch, 0.0)}
    return scene.run(case, switch_on, QUICK).total_time


def searched(scene: Scene, running: Sequence[str], waiting: Sequence[str]) -> tuple[list[tuple[str, ...]], str]:
    """Batches in order, and what bound the search in words; an empty list when no order keeps every limit.

    One batch is tried first, then two, and so on; within a number of batches the sets of greatest locked-rotor current
    come first. A set is looked at standing still before it is run up, since most that fail do so at once.
    """
    hunt = _Hunt(scene=scene)
    for count in range(1, len(waiting) + 1):
        found = hunt.batches(tuple(running), tuple(waiting), count)
        if found is not None:
            return found, hunt.first
        if hunt.over:
            return [], f"{hunt.first}; the search was ended after {hunt.runs} run-ups"
    return [], hunt.first


@dataclass(slots=True)
class _Hunt:
    """The search under way. first: why all at once does not do. runs: run-ups made so far. known: sets judged already.
    dead: motors that are on, and batches left, from which no order holds."""

    scene: Scene
    first: str = ""
    runs: int = 0
    known: dict[tuple[frozenset[str], frozenset[str]], bool] = field(default_factory=dict)
    dead: set[tuple[frozenset[str], int]] = field(default_factory=set)

    @property
    def over(self) -> bool:
        """Whether it has been searched enough."""
        return self.runs >= MOST_RUNS or len(self.known) >= MOST_LOOKS

    def batches(self, on: tuple[str, ...], left: tuple[str, ...], count: int) -> list[tuple[str, ...]] | None:
        """`left` in exactly `count` batches after those that are on; None when none holds."""
        if count == 1:
            return [left] if self.holds(on, left) else None
        if (frozenset(on), count) in self.dead:
            return None
        for batch in _by_size(self.scene, left):
            rest = tuple(name for name in left if name not in batch)
            if len(rest) >= count - 1 and self.holds(on, batch):
                tail = self.batches((*on, *batch), rest, count - 1)
                if tail is not None:
                    return [batch, *tail]
        self.dead.add((frozenset(on), count))
        return None

    def holds(self, on: tuple[str, ...], batch: tuple[str, ...]) -> bool:
        """Whether `batch` may be switched on together while the others run."""
        key = frozenset(on), frozenset(batch)
        if key not in self.known and not self.over:
            self.known[key] = self._judged(on, batch)
        return self.known.get(key, False)

    def _judged(self, on: tuple[str, ...], batch: tuple[str, ...]) -> bool:
        self.scene.tell(f"{', '.join(batch)} {'alone' if len(batch) == 1 else 'together'}")
        switch_on = {**dict.fromkeys(on), **dict.fromkeys(batch, 0.0)}
        rows = [row for row in self.scene.judged(switch_on, QUICK, GLANCE)[1] if row.key != "arrives"]
        if not _broken(rows):
            self.runs += 1
            rows = list(self.scene.judged(switch_on, QUICK)[1])
        broken = _broken(rows)
        if broken and not self.first:
            self.first = _against(batch, on, broken)
        return not broken


def _broken(rows: Sequence[Criterion]) -> list[Criterion]:
    """Rows whose limit is broken in some case."""
    return [row for row in rows if row.margin is not None and row.margin < 0]


def _by_size(scene: Scene, names: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Every set of the motors, the greatest locked-rotor current first; of equals the earlier in the list."""
    sets = [batch for count in range(len(names), 0, -1) for batch in combinations(names, count)]
    yield from sorted(sets, key=lambda batch: -sum(scene.sizes[name] for name in batch))


def _against(batch: Sequence[str], on: Sequence[str], broken: Sequence[Criterion]) -> str:
    """The row that is broken most, in words."""
    worst = min(broken, key=lambda row: row.margin or 0.0)
    after = f" while {', '.join(on)} run{'s' if len(on) == 1 else ''}" if on else ""
    told = worst.condition if worst.key == "arrives" else against(worst)
    return f"{', '.join(batch)} {'alone' if len(batch) == 1 else 'together'}{after}: {told}"
