"""Random machines for the property tests, over the whole range a circuit can take."""

from __future__ import annotations

from hypothesis import strategies as st

from slipwise.model.machine.circuit import Circuit, RotorBranch


@st.composite
def single_cage_circuits(draw: st.DrawFn, core_loss: bool = True) -> Circuit:
    """Single-cage circuits at 50 or 60 Hz with a base impedance from milliohms to hundreds of ohms."""
    base = 10 ** draw(st.floats(-2.5, 2.5))
    return Circuit(
        frequency=draw(st.sampled_from([50.0, 60.0])),
        R1=base * draw(st.floats(0.002, 0.1)),
        X1=base * draw(st.floats(0.04, 0.2)),
        Xm=base * draw(st.floats(1.0, 6.0)),
        Rfe=base * draw(st.floats(15, 200)) if core_loss else float("inf"),
        rotor=(RotorBranch(R=base * draw(st.floats(0.004, 0.2)), X=base * draw(st.floats(0.04, 0.2))),),
    )


@st.composite
def double_cage_circuits(draw: st.DrawFn) -> Circuit:
    """A single-cage circuit with a second, more resistive and less inductive cage."""
    single = draw(single_cage_circuits())
    inner = single.rotor[0]
    outer = RotorBranch(R=inner.R * draw(st.floats(2, 20)), X=inner.X * draw(st.floats(0.05, 0.9)))
    return Circuit(
        frequency=single.frequency,
        R1=single.R1,
        X1=single.X1,
        Xm=single.Xm,
        Rfe=single.Rfe,
        rotor=(inner, outer),
    )
