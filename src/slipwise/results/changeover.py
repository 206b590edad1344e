"""What a motor for two speeds does when it is switched from one to the other."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.start import RunUp


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Changeover:
    """One change of speed, from switching off to the new steady speed.

    from_poles, to_poles. pause: without current, s. run: the whole course. switched_at: speed when the current returns, rad/s.
    extreme_torque: shaft torque of greatest size after the pause, negative when braking, N m; extreme_speed: where, rad/s.
    returned: energy fed back to the line while above the new synchronous speed, J.
    """

    title: str
    from_poles: int
    to_poles: int
    pause: float
    run: RunUp
    switched_at: float
    extreme_torque: float
    extreme_speed: float
    returned: float
