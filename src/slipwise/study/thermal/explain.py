"""Why the numbers of heat are what they are: rise of one start, starts an hour, rest, and every duty."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite

from slipwise.model.thermal.parameters import CAGE
from slipwise.quantity.formula import Formula
from slipwise.results.study import Explanation, WayResult
from slipwise.results.thermal import WayHeat
from slipwise.study.explain import Speaker
from slipwise.study.model import Study
from slipwise.study.thermal.model import ThermalStudy

RISE = Formula(
    key="thermal.rotor_rise",
    title="Rise of the rotor by one start without cooling",
    symbol="theta",
    expression="W_2 / C_2",
    units={"W_2": "J", "C_2": "J/K"},
    source="heat balance of one body",
    validity="adiabatic: the start is short against the time constant of the rotor",
    result_unit="K",
)
BALANCE = Formula(
    key="thermal.starts_balance",
    title="Starts an hour from the heat balance",
    symbol="z",
    expression="3600 * P_v / (W_1 + W_2)",
    units={"P_v": "W", "W_1": "J", "W_2": "J"},
    source="Pillai, A First Course on Electrical Drives, ch. 5",
    validity="cooling at rated load, no running heat, coasting to rest",
    result_unit="1/h",
)
NETWORK = (
    "thermal network of winding, rotor, iron and frame, each stretch solved exactly by its modes; start of the nominal "
    "case, cooling at standstill and running told apart"
)
_SOURCE = "linear heat balance C dT/dt = P - G (T - T_a)"


def explain_heat(study: Study, ways: Sequence[WayResult]) -> tuple[Explanation, ...]:
    """Explanations named `way.heat.number`; none when the study does not ask for heat."""
    asked = study.thermal
    if asked is None:
        return ()
    say = Speaker(study.inputs)
    return tuple(row for way in ways if way.heat is not None for row in _way(say, asked, way.key, way.heat))


def _way(say: Speaker, asked: ThermalStudy, key: str, heat: WayHeat) -> Iterator[Explanation]:
    network = asked.motor.network
    capacity = network.bodies[network.names.index(CAGE)].heat_capacity
    rotor, stator = ("heat of the rotor in one start", heat.rotor_heat), ("heat of the stator", heat.stator_heat)
    rise = {"W_2": rotor, "C_2": ("thermal.rotor_heat_capacity", capacity)}
    yield say.by(RISE, f"{key}.heat.rotor_rise", rise, "nominal case")
    balance = {"P_v": ("losses at rated load", asked.motor.losses.total), "W_1": stator, "W_2": rotor}
    yield say.by(BALANCE, f"{key}.heat.balance", balance, "nominal case")
    limit = "shortest period whose settled cycle keeps every limit, rated load between the starts"
    yield _found(f"{key}.heat.rate", "Starts an hour by the network", (heat.rate, "1/h"), limit)
    for name, title, value in (
        ("rest_standing", "Rest at standstill after a start from hot", heat.rest_standing),
        ("rest_running", "Running between two starts from hot", heat.rest_running),
    ):
        if isfinite(value):
            yield _found(
                f"{key}.heat.{name}", title, (value, "s"), "shortest after which one more start keeps every limit"
            )
    for peak in (p for p in heat.peaks if p.state == "hot"):
        name = f"{key}.temperature:{peak.body}" + (f".{peak.case}" if peak.case != "nominal" else "")
        title = f"Highest temperature of the {peak.body} in one start from hot"
        yield _found(name, title, (peak.temperature, "degC"), f"{peak.case} case")
    for number, duty in enumerate(heat.duties, start=1):
        title = f"Highest winding temperature, {duty.label}"
        yield _found(f"{key}.heat.duty_{number}", title, (duty.highest, "degC"), f"duty type {duty.duty_type}")


def _found(name: str, title: str, value: tuple[float, str], how: str) -> Explanation:
    return Explanation(
        name=name,
        title=title,
        value=value[0],
        unit=value[1],
        formula="",
        expression="",
        inputs=(),
        source=_SOURCE,
        method=f"{NETWORK}; {how}",
    )
