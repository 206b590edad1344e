"""The machine driven by a recorded voltage: one function of complex numbers, so that a complex step gives exact derivatives.

Imported plainly it is Python; `compiled()` gives the same function compiled (cached on disk, without the global lock).

States, in the frame that turns with the line: stator flux linkage, one flux linkage for each cage, shaft speed, each as real
numbers in d and q. A parameter with a small imaginary part h makes every result carry h times its derivative in its own
imaginary part; nothing here takes a conjugate or a size, so the derivative is exact to rounding.

Source: machine equations as in `solve.transient.kernel`; complex step: Squire and Trapp, SIAM Review 40 (1998) 110;
classical fourth-order Runge-Kutta steps, the voltage straight between samples in the turning frame.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

# Places in the vector of machine values; then two numbers a load term (coefficient, exponent), then two a cage (R, 1/L).
R1, INV_L1, INV_LM, G_CORE, INERTIA, PAIRS, FULL_SPEED, FLUX_D, FLUX_Q, SPEED, STRAY = range(11)
HEAD = 11
# Columns of the answer.
CURRENT_D, CURRENT_Q, AT_SPEED, TORQUE, SLOPE = range(5)
COLUMNS = 5


def march(p: Any, terms: int, cages: int, u_d: Any, u_q: Any, omega: float, step: float, parts: int, out: Any) -> None:
    """Marches over all samples and writes current (d, q), speed, air-gap torque and acceleration at each into `out`.

    Args:
        p: machine values as above, complex, SI (peak phase values).   terms, cages: how many load terms and cages.
        u_d, u_q: voltage at the samples, shape (n,). [V]   omega: of the frame. [rad/s]
        step: between samples. [s]   parts: Runge-Kutta steps in it.   out: complex, shape (n, COLUMNS).

    Stray load loss brakes with the square of the current and with speed, as `Motor.stray_torque`. The load
    opposes motion and holds the rotor while the air-gap torque is smaller than its torque at rest.
    """
    size = 3 + 2 * cages
    shaft = size - 1
    y = np.zeros(size, dtype=np.complex128)
    z = np.zeros(size, dtype=np.complex128)
    k = np.zeros(size, dtype=np.complex128)
    total = np.zeros(size, dtype=np.complex128)
    y[0] = p[FLUX_D]
    y[1] = p[FLUX_Q]
    y[shaft] = p[SPEED]
    first = HEAD + 2 * terms
    free = p[INV_LM] + p[INV_L1]
    for c in range(cages):
        free = free + p[first + 2 * c + 1]
    core = omega * p[G_CORE]
    below = 1.0 / (free * free + core * core)
    at_rest = 0.0
    for t in range(terms):
        if p[HEAD + 2 * t + 1].real == 0.0:
            at_rest += p[HEAD + 2 * t].real
    h = step / parts
    last = len(u_d) - 1
    for i in range(last + 1):
        for part in range(parts):
            for c in range(size):
                total[c] = 0.0
                z[c] = y[c]
            for stage in range(4):
                share = (part + 0.5 * ((stage + 1) // 2)) / parts
                j = i if i == last else i + 1
                v_d = u_d[i] + share * (u_d[j] - u_d[i])
                v_q = u_q[i] + share * (u_q[j] - u_q[i])
                sum_d = 0.0 * z[0]
                sum_q = 0.0 * z[0]
                for c in range(cages):
                    sum_d = sum_d + z[2 + 2 * c] * p[first + 2 * c + 1]
                    sum_q = sum_q + z[3 + 2 * c] * p[first + 2 * c + 1]
                along = sum_d + z[0] * p[INV_L1]
                aside = sum_q + z[1] * p[INV_L1]
                gap_d = (along * free + aside * core) * below
                gap_q = (aside * free - along * core) * below
                i_d = (z[0] - gap_d) * p[INV_L1]
                i_q = (z[1] - gap_q) * p[INV_L1]
                k[0] = v_d - p[R1] * i_d + omega * z[1]
                k[1] = v_q - p[R1] * i_q - omega * z[0]
                speed = z[shaft]
                turn = omega - p[PAIRS] * speed
                all_d = 0.0 * z[0]
                all_q = 0.0 * z[0]
                for c in range(cages):
                    inverse = p[first + 2 * c + 1]
                    j_d = (z[2 + 2 * c] - gap_d) * inverse
                    j_q = (z[3 + 2 * c] - gap_q) * inverse
                    k[2 + 2 * c] = turn * z[3 + 2 * c] - p[first + 2 * c] * j_d
                    k[3 + 2 * c] = -turn * z[2 + 2 * c] - p[first + 2 * c] * j_q
                    all_d = all_d + j_d
                    all_q = all_q + j_q
                torque = 1.5 * p[PAIRS] * (gap_q * all_d - gap_d * all_q)
                sign = 1.0
                if speed.real < 0.0 or (speed.real == 0.0 and torque.real < 0.0):
                    sign = -1.0
                if speed.real == 0.0 and sign * torque.real <= at_rest:
                    k[shaft] = 0.0
                else:
                    x = sign * speed / p[FULL_SPEED]
                    load = 0.0 * speed
                    for t in range(terms):
                        e = p[HEAD + 2 * t + 1].real
                        if e == 0.0:
                            load = load + p[HEAD + 2 * t]
                        elif e == 1.0:
                            load = load + p[HEAD + 2 * t] * x
                        elif e == 2.0:
                            load = load + p[HEAD + 2 * t] * x * x
                        elif x.real > 0.0:
                            load = load + p[HEAD + 2 * t] * x**e
                    stray = p[STRAY] * (i_d * i_d + i_q * i_q) * speed
                    k[shaft] = (torque - sign * load - stray) / p[INERTIA]
                if stage == 0 and part == 0:
                    out[i, CURRENT_D] = i_d
                    out[i, CURRENT_Q] = i_q
                    out[i, AT_SPEED] = speed
                    out[i, TORQUE] = torque
                    out[i, SLOPE] = k[shaft]
                weight = 1.0 / 6.0 if stage in (0, 3) else 1.0 / 3.0
                ahead = h if stage == 2 else 0.5 * h
                for c in range(size):
                    total[c] += weight * k[c]
                    z[c] = y[c] + ahead * k[c]
            before = y[shaft].real
            for c in range(size):
                y[c] = y[c] + h * total[c]
            if before * y[shaft].real < 0.0 and abs(y[shaft].real) < 1e-3 * p[FULL_SPEED].real:
                y[shaft] = 0.0


@cache
def compiled() -> Any:
    """`march`, compiled."""
    import numba

    return numba.njit(cache=True, nogil=True, error_model="numpy")(march)
