"""Heat in a motor slowed by its slip, against speed, along the load it drives."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.series import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SlipHeat:
    """Losses and heat at every speed the load can be held at, and the worst of them.

    speed rad/s, torque N m (at the shaft), rotor_current A (referred to the stator), copper_loss W (stator, rotor and
    harmonics), heat: per unit of what the cooling at that speed carries away: shape (n,), ascending in speed.
    worst_speed, worst_heat: where the heat is greatest [rad/s], [pu].
    worst_current_speed: where the rotor current is greatest; for a load that goes with the square of speed near a slip of
        one third. [rad/s]
    """

    speed: Array
    torque: Array
    rotor_current: Array
    copper_loss: Array
    heat: Array
    worst_speed: float
    worst_heat: float
    worst_current_speed: float
