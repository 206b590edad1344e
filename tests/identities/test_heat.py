"""The thermal network against the closed form of one body, its own steady state, and the conservation of heat."""

from __future__ import annotations

from math import exp

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.model.thermal.network import Body, Path, ThermalNetwork
from slipwise.quantity.errors import DomainError
from slipwise.solve.heat import Piece, heat, limit_cycle, steady_rise
from tests.reference import sampled


@st.composite
def networks(draw: st.DrawFn) -> ThermalNetwork:
    """Random networks: winding, cage, iron and frame, as stiff as real ones."""
    value = st.floats(1.0, 60.0)
    names = ("winding", "cage", "iron", "frame")
    bodies = tuple(Body(name=n, heat_capacity=draw(st.floats(50.0, 5e4))) for n in names)
    pairs = (("winding", "iron"), ("cage", "iron"), ("iron", "frame"), ("frame", ""))
    paths = []
    for begin, to in pairs:
        running = draw(value)
        paths.append(Path(begin=begin, to=to, running=running, standing=running * draw(st.floats(0.2, 1.0))))
    return ThermalNetwork(bodies=bodies, paths=tuple(paths))


@st.composite
def duties(draw: st.DrawFn) -> list[Piece]:
    """Random pieces of seconds to hours."""
    pieces = []
    for _ in range(draw(st.integers(1, 5))):
        losses = {n: draw(st.floats(0, 5e3)) for n in ("winding", "cage", "iron")}
        pieces.append(Piece(seconds=draw(st.floats(0.5, 2e4)), losses=losses, cooling=draw(st.floats(0, 1))))
    return pieces


@given(capacity=st.floats(10, 1e5), conductance=st.floats(0.1, 50), loss=st.floats(0, 1e4), seconds=st.floats(0.1, 1e5))
def test_one_body_is_the_closed_form(capacity: float, conductance: float, loss: float, seconds: float) -> None:
    """One body follows P/G (1 - exp(-t G/C)) from the ambient, to rounding."""
    network = ThermalNetwork(
        bodies=(Body(name="motor", heat_capacity=capacity),),
        paths=(Path(begin="motor", to="", running=conductance, standing=conductance),),
    )
    trace = heat(network, [Piece(seconds=seconds, losses={"motor": loss}, cooling=1.0)], ambient=40.0)
    final = loss / conductance
    expected = 40 + final * (1 - exp(-seconds * conductance / capacity))
    assert trace.peak("motor") == pytest.approx(expected, rel=1e-11)


@sampled(60)
@given(network=networks(), pieces=duties())
def test_no_heat_made_or_lost(network: ThermalNetwork, pieces: list[Piece]) -> None:
    """Losses = carried off + stored, to 1e-9, whatever the duty."""
    assert abs(heat(network, pieces, ambient=25.0, start=np.full(4, 60.0)).energy.closure) < 1e-9


@sampled(40)
@given(network=networks(), cooling=st.floats(0, 1))
def test_long_run_is_the_steady_state(network: ThermalNetwork, cooling: float) -> None:
    """After a very long time the temperatures are those of the steady solution."""
    losses = {"winding": 900.0, "cage": 700.0, "iron": 300.0}
    trace = heat(network, [Piece(seconds=1e8, losses=losses, cooling=cooling)], ambient=40.0, points=1)
    assert trace.final - 40 == pytest.approx(steady_rise(network, losses, cooling), rel=1e-9)


@sampled(20)
@given(network=networks(), pieces=duties())
def test_limit_cycle_closes(network: ThermalNetwork, pieces: list[Piece]) -> None:
    """The repeated duty begins where it ends, and nothing is stored over it."""
    trace = limit_cycle(network, pieces, ambient=40.0)
    assert trace.temperature[:, 0] == pytest.approx(trace.final, rel=1e-7)


@sampled(30)
@given(network=networks(), pieces=duties(), part=st.floats(0.1, 0.9))
def test_cutting_a_piece_changes_nothing(network: ThermalNetwork, pieces: list[Piece], part: float) -> None:
    """A piece cut in two gives the same end."""
    cut = []
    for p in pieces:
        for share in (part, 1 - part):
            cut.append(Piece(seconds=p.seconds * share, losses=p.losses, cooling=p.cooling))
    whole, halves = (heat(network, x, ambient=20.0).final for x in (pieces, cut))
    assert halves == pytest.approx(whole, rel=1e-9)


def test_unknown_body_is_named() -> None:
    """A loss in a body that is not there is refused by name."""
    network = ThermalNetwork(bodies=(Body(name="motor", heat_capacity=1.0),), paths=())
    with pytest.raises(DomainError, match="cage"):
        heat(network, [Piece(seconds=1, losses={"cage": 1.0}, cooling=1)], ambient=40)
    with pytest.raises(DomainError, match="ambient"):
        steady_rise(network, {"motor": 1.0})
