"""`[load]`: what the shaft drives."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Line, Numbers, Quantity, Section, Word, Yes

LAWS = ("constant", "linear", "quadratic", "power", "curve", "centrifugal pump", "fan", "conveyor")
LAWS_ALSO = (
    *((word, "centrifugal pump") for word in ("pump", "centrifugal")),
    *((word, "fan") for word in ("blower", "ventilator")),
    *((word, "constant") for word in ("hoist", "crane", "lift", "crusher", "compressor", "flat")),
    *((word, "conveyor") for word in ("belt", "conveyor belt")),
    *((word, "quadratic") for word in ("square", "squared", "parabolic")),
)
VALVES = ("shut", "open", "static head")
DAMPERS = ("shut", "open")


class LoadCurveSection(Section):
    """Torque of the driven machine against its own speed, typed point by point."""

    speed: Annotated[
        tuple[float, ...],
        Numbers("Speeds of the driven shaft, from 0 upwards.", "[0, 500, 1000, 1480]", ascending=True),
    ]
    speed_unit: Annotated[str, Word("Unit of the speeds.", '"r/min"', words=("r/min", "rad/s"))]
    torque: Annotated[tuple[float, ...], Numbers("Torque at each speed, after breakaway.", "[40, 80, 230, 470]")]
    torque_unit: Annotated[str, Word("Unit of the torques.", '"N m"', words=("N m", "kN m", "lbf ft", "kgf m"))]


class LoadDutySection(Section):
    """A piece of a cycle that repeats itself while the motor runs: torque beyond the running torque of the load."""

    time: Annotated[Parsed, Quantity("How long it lasts.", '"0.6 s"', unit="s", above=0.0)]
    torque: Annotated[
        Parsed | None,
        Quantity("Torque at the driven shaft, beyond the running one; 0 between.", '"4 kN m"', unit="N m"),
    ] = None
    power: Annotated[
        Parsed | None, Quantity("Instead of torque: power at `speed`, beyond the running one.", '"120 kW"', unit="W")
    ] = None


class LoadKeys(Section):
    """Every key of a load; a load case may change any of them."""

    torque_law: Annotated[
        str | None, Word("How the running torque grows with speed.", '"quadratic"', words=LAWS, also=LAWS_ALSO)
    ] = None
    torque: Annotated[Parsed | None, Quantity("Running torque at `speed`.", '"470 N m"', unit="N m", low=0.0)] = None
    shaft_power: Annotated[Parsed | None, Quantity("Power taken at `speed`.", '"72 kW"', unit="W", low=0.0)] = None
    speed: Annotated[
        Parsed | None,
        Quantity("Speed of the driven shaft at which torque or power hold.", '"1480 r/min"', unit="rad/s", above=0.0),
    ] = None
    exponent: Annotated[
        Parsed | None, Quantity("Exponent of speed, for the power law.", "1.7", unit="", low=0.0, high=6.0)
    ] = None
    breakaway_torque: Annotated[
        Parsed | None,
        Quantity(
            "Torque needed to leave standstill, or its ratio to the running torque at `speed`.",
            '"650 N m"',
            unit=("N m", "pu"),
            low=0.0,
            bare_high=10.0,
        ),
    ] = None
    breakaway_speed: Annotated[
        Parsed | None,
        Quantity(
            "Speed at which the breakaway excess is gone, or its share of `speed`.",
            '"5 %"',
            unit=("pu", "rad/s"),
            above=0.0,
            bare_high=1.0,
        ),
    ] = None
    overhauling: Annotated[
        bool | None,
        Yes("true when the load pulls by itself, as a hanging weight does: it keeps its sign under reversal.", "true"),
    ] = None
    inertia: Annotated[
        Parsed | None,
        Quantity("Moment of inertia of the driven machine, at its own shaft.", '"0.9 kg m2"', unit="kg m2", low=0.0),
    ] = None
    inertia_at_motor: Annotated[
        Parsed | None,
        Quantity(
            "Moment of inertia that turns at motor speed: coupling, brake drum.", '"0.1 kg m2"', unit="kg m2", low=0.0
        ),
    ] = None
    gear_ratio: Annotated[
        Parsed | None, Quantity("Motor speed to driven speed.", "12.5", unit="", above=0.0, high=1e4)
    ] = None
    gear_efficiency: Annotated[
        Parsed | None, Quantity("Efficiency of gear or belt.", '"96 %"', unit="pu", low=0.2, high=1.0)
    ] = None
    motor_pulley: Annotated[
        Parsed | None, Quantity("Diameter of the motor's pulley.", '"250 mm"', unit="m", above=0.0)
    ] = None
    driven_pulley: Annotated[
        Parsed | None, Quantity("Diameter of the driven pulley.", '"400 mm"', unit="m", above=0.0)
    ] = None
    moving_mass: Annotated[
        Parsed | None, Quantity("Mass that moves in a line with the load.", '"14 t"', unit="kg", low=0.0)
    ] = None
    mass_speed: Annotated[
        Parsed | None,
        Quantity("Speed of that mass when the driven shaft turns at `speed`.", '"1.6 m/s"', unit="m/s", above=0.0),
    ] = None
    valve: Annotated[
        str | None,
        Word("Centrifugal pump: what it is started against.", '"shut"', words=VALVES),
    ] = None
    damper: Annotated[str | None, Word("Fan: how its damper stands during the start.", '"shut"', words=DAMPERS)] = None
    shut_torque: Annotated[
        Parsed | None,
        Quantity(
            "Pump or fan: torque without flow at `speed`, of the torque at rated flow; above 1 for axial machines.",
            '"45 %"',
            unit="pu",
            above=0.0,
            high=3.0,
            bare_high=3.0,
        ),
    ] = None
    static_head: Annotated[
        Parsed | None,
        Quantity(
            "Pump: static head behind the non-return valve, of rated head.", '"60 %"', unit="pu", low=0.0, bare_high=2.0
        ),
    ] = None
    shut_head: Annotated[
        Parsed | None,
        Quantity("Pump: head without flow at `speed`, of rated head.", '"120 %"', unit="pu", low=1.0, bare_high=2.0),
    ] = None
    belt_pull: Annotated[
        Parsed | None, Quantity("Conveyor: pull at the drive pulley while running.", '"18 kN"', unit="N", low=0.0)
    ] = None
    belt_friction: Annotated[
        Parsed | None,
        Quantity(
            "Conveyor: running friction, of the weight of `moving_mass`.",
            "0.025",
            unit="",
            low=0.0,
            high=0.2,
            bare_high=0.2,
        ),
    ] = None
    material_mass: Annotated[
        Parsed | None,
        Quantity("Conveyor: mass of the material on the belt, part of `moving_mass`.", '"12 t"', unit="kg", low=0.0),
    ] = None
    slope: Annotated[
        Parsed | None,
        Quantity("Conveyor: rise over length; below 0 when it runs downhill.", '"12 %"', unit="pu", low=-0.6, high=0.6),
    ] = None
    curve: LoadCurveSection | None = Field(default=None, description='The torque curve, for torque_law = "curve".')


class LoadCaseSection(LoadKeys):
    """One state in which the load may be found; what stands here replaces the same key of `[load]`."""

    name: Annotated[str, Line("What the case is called.", '"valve open"', longest=40)]


class LoadSection(LoadKeys):
    """The driven machine. Speeds, torques and inertia are those of its own shaft; gear or belt leads to the motor."""

    torque_law: Annotated[
        str, Word("How the running torque grows with speed.", '"quadratic"', words=LAWS, also=LAWS_ALSO)
    ]
    case: tuple[LoadCaseSection, ...] = Field(
        default=(),
        max_length=8,
        description="States of the load. Every way must start the load in each; the worst counts.",
    )
    duty: tuple[LoadDutySection, ...] = Field(
        default=(),
        max_length=50,
        description="The cycle that repeats itself once the motor runs, as of a press with its flywheel.",
    )
