"""`[motor]`: plate and catalogue, `[motor.circuit]`, `[motor.curves]`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Line, Numbers, Quantity, Section, Whole, Word
from slipwise.study.schema.readings import ReadingsSection
from slipwise.study.schema.recording import RecordingSection
from slipwise.study.schema.rotor import BarsSection, SaturationSection

CONNECTIONS_ALSO = (("Y", "star"), ("wye", "star"), ("D", "delta"), ("Δ", "delta"), ("triangle", "delta"))
_OHM = '"0.435 ohm"'
_TEMPERATURES = (-60.0, 400.0)


def _impedance(doc: str, example: str = _OHM) -> Quantity:
    return Quantity(doc, example, unit="ohm", above=0.0)


def _temperature(doc: str, example: str = '"75 degC"') -> Quantity:
    return Quantity(doc, example, unit="degC", low=_TEMPERATURES[0], high=_TEMPERATURES[1])


class CircuitSection(Section):
    """Equivalent-circuit values per phase, at rated frequency, seen from the stator."""

    values: Annotated[
        str,
        Word(
            "Whether the ohms are those of the star equivalent or of the winding as wound (in delta three times as large).",
            '"star equivalent"',
            words=("star equivalent", "as wound"),
        ),
    ]
    R1: Annotated[Parsed, _impedance("Stator resistance.")]
    X1: Annotated[Parsed, _impedance("Stator leakage reactance.", '"1.2 ohm"')]
    Xm: Annotated[Parsed, _impedance("Magnetising reactance.", '"26 ohm"')]
    Rfe: Annotated[Parsed | None, _impedance("Core-loss resistance across Xm.", '"800 ohm"')] = None
    R2: Annotated[Parsed, _impedance("Rotor resistance; of the outer cage when R3 and X3 are given.")]
    X2: Annotated[Parsed, _impedance("Rotor leakage reactance, of the cage of R2.", '"1.2 ohm"')]
    R3: Annotated[Parsed | None, _impedance("Resistance of a second cage, in parallel with the first.")] = None
    X3: Annotated[Parsed | None, _impedance("Leakage reactance of the second cage.", '"2.4 ohm"')] = None
    R2_standstill: Annotated[
        Parsed | None,
        _impedance("Deep bars: R2 at standstill; R2 is then the running value.", '"0.9 ohm"'),
    ] = None
    X2_standstill: Annotated[
        Parsed | None, _impedance("Deep bars: X2 at standstill; X2 is then the running value.", '"0.8 ohm"')
    ] = None
    temperature: Annotated[Parsed | None, _temperature("Temperature at which all resistances hold.")] = None
    temperature_R1: Annotated[Parsed | None, _temperature("Temperature at which R1 holds.")] = None
    temperature_R2: Annotated[Parsed | None, _temperature("Temperature at which R2 holds.")] = None
    temperature_R3: Annotated[Parsed | None, _temperature("Temperature at which R3 holds.")] = None
    stator_conductor: Annotated[
        str | None, Word("Metal of the stator winding.", '"copper"', words=("copper", "aluminium"))
    ] = None
    rotor_conductor: Annotated[
        str | None, Word("Metal of the cage or rotor winding.", '"aluminium"', words=("copper", "aluminium"))
    ] = None
    rotor_values: Annotated[
        str | None,
        Word(
            "Wound rotor: whether R2 and X2 are referred to the stator or measured at the slip rings.",
            '"referred to the stator"',
            words=("referred to the stator", "at the slip rings"),
        ),
    ] = None


class CurvesSection(Section):
    """A maker's start curves, typed point by point: straight lines are drawn between the points."""

    speed: Annotated[
        tuple[float, ...],
        Numbers("Speeds of the points, from 0 upwards.", "[0, 500, 1000, 1400, 1480]", ascending=True),
    ]
    speed_unit: Annotated[
        str, Word("Unit of the speeds.", '"r/min"', words=("r/min", "rad/s", "% of synchronous", "pu of synchronous"))
    ]
    torque: Annotated[tuple[float, ...], Numbers("Torque at each speed.", "[1.8, 1.5, 1.7, 2.4, 1.0]")]
    torque_unit: Annotated[
        str, Word("Unit of the torques.", '"pu of rated"', words=("N m", "kN m", "lbf ft", "% of rated", "pu of rated"))
    ]
    current: Annotated[tuple[float, ...], Numbers("Line current at each speed.", "[6.5, 6.2, 5.6, 3.9, 1.0]")]
    current_unit: Annotated[
        str, Word("Unit of the currents.", '"pu of rated"', words=("A", "% of rated", "pu of rated"))
    ]
    power_factor: Annotated[
        tuple[float, ...] | None, Numbers("Power factor at each speed.", "[0.3, 0.35, 0.45, 0.7, 0.86]")
    ] = None
    voltage: Annotated[
        Parsed | None,
        Quantity(
            "Voltage at which the curves hold; rated when not given.",
            '"100 %"',
            unit=("pu", "V"),
            low=0.2,
            bare_high=1.3,
        ),
    ] = None


NOT_STATED = Parsed(value=0.0, unit="Hz", text="")  # a frequency that the file leaves out; 0 poles and "" likewise


class MotorSection(Section):
    """The motor: its plate, and what is known beyond it."""

    rated_power: Annotated[Parsed, Quantity("Shaft power on the plate.", '"90 kW"', unit="W", above=0.0)]
    rated_voltage: Annotated[
        Parsed, Quantity("Line voltage on the plate, for the running connection.", '"400 V"', unit="V", above=0.0)
    ]
    rated_frequency: Annotated[
        Parsed,
        Quantity(
            "Frequency on the plate; likely by the voltage when not given.", '"50 Hz"', unit="Hz", low=1.0, high=1000.0
        ),
    ] = NOT_STATED
    poles: Annotated[
        int,
        Whole(
            "Number of poles, not of pole pairs; by the speed, else the likeliest, when not given.",
            "4",
            low=2,
            high=60,
            even=True,
        ),
    ] = 0
    connection: Annotated[
        str,
        Word(
            "How the winding is connected when running; usual for the size when not given.",
            '"delta"',
            words=("star", "delta"),
            also=CONNECTIONS_ALSO,
        ),
    ] = ""
    rated_speed: Annotated[Parsed | None, Quantity("Full-load speed.", '"1480 r/min"', unit="rad/s", above=0.0)] = None
    rated_current: Annotated[Parsed | None, Quantity("Full-load line current.", '"160 A"', unit="A", above=0.0)] = None
    power_factor: Annotated[
        Parsed | None, Quantity("Full-load power factor.", "0.86", unit="pu", low=0.1, high=1.0)
    ] = None
    efficiency: Annotated[Parsed | None, Quantity("Full-load efficiency.", '"95 %"', unit="pu", low=0.1, high=1.0)] = (
        None
    )
    locked_rotor_current_ratio: Annotated[
        Parsed | None, Quantity("Locked-rotor current to rated current.", "6.8", unit="pu", low=0.5, bare_high=20.0)
    ] = None
    locked_rotor_torque_ratio: Annotated[
        Parsed | None, Quantity("Locked-rotor torque to rated torque.", "2.1", unit="pu", low=0.05, bare_high=10.0)
    ] = None
    breakdown_torque_ratio: Annotated[
        Parsed | None, Quantity("Breakdown torque to rated torque.", "2.6", unit="pu", low=1.0, bare_high=10.0)
    ] = None
    pull_up_torque_ratio: Annotated[
        Parsed | None, Quantity("Pull-up torque to rated torque.", "1.6", unit="pu", low=0.05, bare_high=10.0)
    ] = None
    design: Annotated[str | None, Line("Design letter of the plate.", '"N"', longest=3)] = None
    code_letter: Annotated[str | None, Line("Letter for locked-rotor kVA for each hp, A to V.", '"G"', longest=1)] = (
        None
    )
    inertia: Annotated[
        Parsed | None, Quantity("Moment of inertia of the rotor alone.", '"1.4 kg m2"', unit="kg m2", above=0.0)
    ] = None
    stall_time_hot: Annotated[
        Parsed | None, Quantity("Longest time locked at rated voltage, from hot.", '"12 s"', unit="s", above=0.0)
    ] = None
    stall_time_cold: Annotated[
        Parsed | None, Quantity("Longest time locked at rated voltage, from cold.", '"25 s"', unit="s", above=0.0)
    ] = None
    friction_and_windage: Annotated[
        Parsed | None,
        Quantity(
            "Friction and windage loss at rated speed, or its share of rated power.",
            '"900 W"',
            unit=("W", "pu"),
            low=0.0,
        ),
    ] = None
    stray_load_loss: Annotated[
        Parsed | None,
        Quantity("Stray load loss at rated output, or its share of rated power.", '"0.5 %"', unit=("W", "pu"), low=0.0),
    ] = None
    rotor_voltage: Annotated[
        Parsed | None,
        Quantity("Wound rotor: line voltage at the open slip rings, standing.", '"380 V line"', unit="V", above=0.0),
    ] = None
    wound_ratio: Annotated[
        Parsed | None, Quantity("Wound rotor: stator turns to rotor turns.", "1.05", unit="", above=0.0)
    ] = None
    rotor_current: Annotated[
        Parsed | None, Quantity("Wound rotor: current in each slip ring at full load.", '"310 A"', unit="A", above=0.0)
    ] = None
    maximum_speed: Annotated[
        Parsed | None, Quantity("Highest speed the motor may reach.", '"2300 r/min"', unit="rad/s", above=0.0)
    ] = None
    circuit: CircuitSection | None = Field(default=None, description="Equivalent-circuit values.")
    bars: BarsSection | None = Field(default=None, description="Deep rotor bars, in which current is displaced.")
    saturation: SaturationSection | None = Field(default=None, description="Iron that saturates.")
    curves: CurvesSection | None = Field(default=None, description="A maker's start curves, typed.")
    recording: RecordingSection | None = Field(default=None, description="A recorded start.")
    readings: ReadingsSection | None = Field(default=None, description="Readings of bench tests.")
