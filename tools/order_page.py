"""The published order of preference and the rules of the verdict, with the ways read from their list."""

from __future__ import annotations

from slipwise.limits.judge import THIN
from slipwise.limits.torque_margin import TRANSITION
from slipwise.methods.speed import SPEED
from slipwise.methods.speed.way import SpeedWay
from slipwise.methods.starting import STARTING
from slipwise.methods.stopping import STOPPING
from slipwise.methods.stopping.way import StoppingWay
from slipwise.methods.way import Dial, StartingWay, dials
from slipwise.solve.stop import REST
from slipwise.study.speed.choice import EQUAL

RULES = f"""
## How a criterion is judged

Each criterion has a value, a limit, the case it was taken from, and the source of the limit.

- The value is the worst over the cases it is judged in. *nominal*: motor, load and supply as stated. *worst*: weakest
  network, low source voltage, locked-rotor torque at its lower and current at its upper tolerance. *strong*: strongest
  network, high source voltage, locked-rotor current at its upper tolerance; for currents and torque peaks.
- The margin is the distance from the limit as a share of the limit (for the terminal voltage: of the permitted drop).
- **passes**: the worst case keeps the limit by at least {THIN:.0%} of it.
- **passes with a condition**: it keeps the limit by less than that, or the nominal case keeps it and a worse one does not.
  The row says which.
- **fails**: the nominal case breaks the limit; or, whatever the limits, the start does not arrive in the nominal or the
  worst case (it stays at rest, hangs, or comes back to rest).
- **not judged**: no limit is set, or a datum is missing. The row is shown and says what is missing.

The torque margin is looked at along the whole curve, stage by stage, only where the stage is in use, and up to the
breakdown speed of the last stage; a stage that the clock ends within {TRANSITION} s is a transition and is left out.

## The verdict of a way

The worst status over its criteria. A row without a limit does not count; a row with a limit that could not be judged makes
the way pass with that condition at best. The **binding limit** is the criterion with the least margin among those of the
worst status; where none of those has a margin, among all that were judged.

## The recommendation

1. Ways that pass stand before ways that pass with a condition; ways that fail are out. Of those with a condition, the ones
   that miss a limit in the worst case come last.
2. Among equals, the order of preference below decides.
3. Ways that the order does not name stand after it, by the margin of their binding limit, widest first.

The runner-up is the next in the same list. When every way fails, none is recommended.
"""

SPEED_RULES = f"""
### How a way of speed control is judged

- **Reached**: every hour of the duty; a demand that is not reached fails the way, and says what was reached instead.
- **Stable**: where the load's slope is not above the motor's at a constant setting, a speed control loop has to hold the
  demand; that is a condition.
- **Winding heat**: copper and harmonic loss against what the cooling carries away at that speed, altitude and ambient.
- **Power factor, line current**: shown, and judged where the study sets a limit.
- **Harmonics**: the order nearest to its limit and the total, of the current and of the voltage it makes, at the point of
  common coupling that the study names.
- **Started by**: the ways of starting that suit a motor so controlled, as they stand in the same study.

### The recommendation

1. Ways that pass, with or without a condition, are compared by what a year costs: energy and the purchase spread evenly
   over its years; energy alone where not every way has a price to buy; kWh where there is no tariff.
2. Ways within {EQUAL:.0%} of the least count as equal: one that passes goes before one with a condition, and then the
   order below decides, or the `order` written under `[speed]`.

Energy is that of the whole duty with every demand by flow taken from the pump or fan curve and the system's, static head
included. Ranges hold the tolerance of the motor's losses, the spread of typical converter losses, and every assumed value.
"""

STOP_RULES = f"""
### How a way of stopping is judged

- **Comes to rest**: the shaft turns at no more than {REST:.0%} of synchronous speed, in every case; one that does not fails.
- **Stop time, revolutions**: worst of the nominal and the worst case, against the limits under `[stopping]`.
- **Dip, line current, peaks**: as for a start, where the motor is on the line meanwhile.
- **Heat of one stop**: share of the stall limit, hottest winding or cage; **stops an hour** against those asked for.
- **Resistor power**: what comes back against what the braking resistor takes at the voltage of the dc link.
- **Held at rest**: a load that pulls needs a mechanical brake whatever the way; a condition.

The simplest way that passes is recommended by the rules above; an engineer who prefers otherwise writes `order` under
`[stopping]`.
"""


def page() -> str:
    """docs/order.md."""
    head = [
        "# Order of preference, and the rules of the verdict",
        "",
        "Made by `make docs` from the list of ways. The simplest way that passes is recommended; an engineer who prefers",
        "otherwise writes `order` under `[starting]` in the study file.",
        "",
        "## The order",
        "",
    ]
    order = [f"{place}. {_named(way)} {way.summary}" for place, way in enumerate(STARTING, start=1)]
    settings = [line for way in STARTING for line in _settings(way.key, way.title, dials(way))]
    speeds = [f"{place}. {_named(way)} {way.summary}" for place, way in enumerate(SPEED, start=1)]
    dialled = [line for way in SPEED for line in _settings(way.key, way.title, dials(way), "speed")]
    starting = [*order, RULES.rstrip(), "", "## Settings", "", *_about_settings(), *settings]
    speed = ["", "## Speed control", SPEED_RULES.rstrip(), "", "### The order of speed control", "", *speeds, *dialled]
    stops = [f"{place}. {_named(way)} {way.summary}" for place, way in enumerate(STOPPING, start=1)]
    set_to = [line for way in STOPPING for line in _settings(way.key, way.title, dials(way), "stopping")]
    stopping = ["", "## Stopping", STOP_RULES.rstrip(), "", "### The order of stopping", "", *stops, *set_to]
    return "\n".join([*head, *starting, *speed, *stopping]) + "\n"


def _named(way: type[StartingWay] | type[SpeedWay] | type[StoppingWay]) -> str:
    """Title, key, and what else the trade calls it."""
    return f"**{way.title}** (`{way.key}`; also {', '.join(way.also)})."


def _about_settings() -> list[str]:
    return [
        "A setting that the study file gives is kept and judged. One that it leaves out is designed for the drive, or taken from",
        "common practice with its range; every output says which.",
    ]


def _settings(key: str, title: str, offered: dict[str, Dial], section: str = "starting") -> list[str]:
    if not offered:
        return ["", f"### {title}", "", "Nothing to set."]
    lines = ["", f"### {title}", "", f"Under `[{section}.{key}]`:", "", "| key | value | meaning |", "|---|---|---|"]
    return [*lines, *(f"| `{name}` | {_range(dial)} | {dial.doc} |" for name, dial in offered.items())]


def _range(dial: Dial) -> str:
    if dial.choices:
        return " or ".join(f'`"{word}"`' for word in dial.choices)
    unit = dial.unit or "number"
    if dial.low is not None and dial.high is not None:
        return f"{dial.low:g} to {dial.high:g} {unit}"
    return unit if dial.low is None else f"{unit}, at least {dial.low:g}"
