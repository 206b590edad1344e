"""Space-vector machine behind its supply, marched through the stages of a start: scalar code that runs plain and compiled.

This one file is the whole kernel. Imported under its own name it is plain Python working on lists; `engine.py` loads it a
second time under a name ending in `_compiled`, where every function is compiled (cached on disk, without the global lock)
and works on float64 arrays. Nothing here knows a Motor or a Stage: `pack.py` lays them out as flat rows of numbers.

Space vectors are amplitude invariant: x = 2/3 (xa + xb e^(j120) + xc e^(-j120)), so that power is 3/2 Re(v i*).
State: loop flux linkage (stator winding and everything in series with it, up to the source), one flux linkage per rotor
branch, shaft speed, shaft angle, then the integrated energies. With the leakage inductances L1 (loop) and Lk (branches)
the air-gap flux linkage follows without a matrix from
    (1/Lm + 1/L1 + sum 1/Lk + j w / Rfe) lm = l1/L1 + sum lk/Lk,
the core-loss current being quasi-steady, i_fe = j w lm / Rfe: exact in the steady state, and not stiff. Its energy is
booked as 3/2 Re(conj(i_fe) (d lm/dt + j w lm)), so that the books close at every instant.

Source: Krause, Wasynczuk, Sudhoff, Analysis of Electric Machinery and Drive Systems, 2nd ed., ch. 3 and 4 (machine
equations in an arbitrary frame); Dormand and Prince, J. Comput. Appl. Math. 6 (1980) 19, and Hairer, Norsett, Wanner,
Solving Ordinary Differential Equations I, 2nd ed., II.5-6 (5(4) pair, its dense output); II, 2nd ed., IV.7 (RODAS).

Explicit steps follow the swings after each switching; where these have died away, linearly implicit steps go on.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

COMPILED = __name__.endswith("_compiled")
if COMPILED:
    import numba


_OPTIONS: dict[str, Any] = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "nsz", "arcp", "reassoc"},
}
_LEAN: dict[str, Any] = {**_OPTIONS, "_nrt": False}


def scalar(function: Any) -> Any:
    """Compiles the function in the compiled copy of this module, leaves it alone in the plain one."""
    if not COMPILED:
        return function
    return numba.njit(**_LEAN)(function)


def inlined(function: Any) -> Any:
    """As `scalar`, and compiled into its callers: for what is called at every slope."""
    if not COMPILED:
        return function
    return numba.njit(**_LEAN, forceinline=True)(getattr(function, "py_func", function))


# Ways the stator is connected; the frame of reference follows.
RUN = 1.0  # three phases closed; frame turning with the source
TWO = 2.0  # one pole open, or direct current between two terminals; frame at rest
OPEN = 3.0  # no stator current; frame turning with the rotor

# One row of numbers per stage.
(
    CONNECTED, INVERTER, A_RE, A_IM, R_LOOP, L_LOOP, R_PATH, L_PATH, U_RE, U_IM, R1, L1, INV_LM, G_ROTOR, G_CORE, POLES,
    L_SERIES, L_LINE, MECHANICAL, EXPONENT, STRAY, SYNC, ENDS, VALUE, TIMEOUT, OMEGA, LAW_V, N_V,
    LAW_CAP, N_CAP, LAW_F, N_F, EMF, R_GRID, X_GRID, WINDING_RE, WINDING_IM, SETTLE_TORQUE, L_GRID,
    LAWS, G_GAP, INV_LOOP, INV_RUN, SATURATES, CURVE_MAIN, CURVE_STATOR, CURVE_ROTOR, FREE_LM, FREE_L1, L_REST, STEEP_LM,
    STEEP_L1, AXIS_RE, AXIS_IM,
) = range(54)  # fmt: skip
# OMEGA is negative where two phases are swapped, and zero under direct current: its source vector stands still. Between two
# terminals only the axis AXIS carries current; with both zero the whole plane does.
# Of each rotor branch: R, 1/L, external R; with saturation 1/L is the chord, then 1/L of small currents and 1/L of changes.
BRANCHES = 54
PER_BRANCH, INVERSE, EXTERNAL, FREE, STEEP = 5, 1, 2, 3, 4

# How a stage ends.
SPEED, ELAPSED, CURRENT, SETTLED, FALLS = 0.0, 1.0, 2.0, 3.0, 4.0

# Why it ended, in the marks.
REACHED, TIMED, SETTLED_DOWN, HELD, OVER, AWAY, ENDLESS = 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0

# All numbers of one march stand in one vector `d`, the deck: options, stages, laws, load. First the options, with the
# places of the load and of the first stage's row.
(
    O_STAGES, O_BRANCHES, O_TOLERANCE, O_ANGLE, O_MAX_TIME, O_INERTIA, O_SYNC, O_FLUX, O_VOLTAGE, O_BOOKS, O_RECORD,
    O_OMEGA, O_SPEED, O_LOAD, O_TABLE,
) = range(15)  # fmt: skip
OPTIONS = 15

# The load: head, then three numbers per term, then the abscissae and the ordinates of the curve.
H_TERMS, H_BASE, H_EXCESS, H_FADE, H_HOLD, H_PULL, H_CURVE = range(7)
LOAD_HEAD = 7

# Integrated energies; one more per rotor branch follows. [J]
E_SUPPLIED, E_STATOR, E_PATH, E_SERIES, E_CORE, E_MECHANICAL, E_STRAY, E_LOAD, E_EXTERNAL, E_ROTOR = range(10)

# What the derivative function leaves besides the derivatives.
(
    B_TORQUE, B_I_RE, B_I_IM, B_LOAD, B_LM_RE, B_LM_IM, B_DLM_RE, B_DLM_IM, B_DI_RE, B_DI_IM, B_FACTOR, B_OMEGA, B_SLOPE,
    B_LOOP, B_ROTOR,
) = range(15)  # fmt: skip
OBSERVED = 15

# Where the march stands: kept in one small array.
# mode and direction of motion (0: held); axis of two-phase conduction; angle of the frame (of the source, in mode TWO) at
# C_TIME; when the law-giving stage began; a time inside the piece of the laws; shaft angle at letting off; then which
# stage it is, when it began, which stage feeds the motor, whether poles are opening, since when nothing changes, why the
# stage ended, energy lost at switchings, source angle while nothing is connected, part of the step at which an event is;
# size of the next step, whether its first slope must be computed, whether a stage begins, records, steps, highest speed;
# whether the linearly implicit step is in use, how many long explicit steps came one after the other; with saturation the
# air-gap flux last found, where the next search begins, and the supply's inductance; always zero.
(
    C_MODE, C_SIGN, C_AXIS_RE, C_AXIS_IM, C_ANGLE, C_TIME, C_BEGAN, C_MIDDLE, C_SHAFT, C_STAGE, C_BEGIN, C_FED,
    C_OPENING, C_QUIET, C_REASON, C_BROKEN, C_SOURCE, C_PART, C_SIZE, C_FRESH, C_BEGINS, C_KEPT, C_STEPS, C_TOP,
    C_STIFF, C_LONG, C_GAP_RE, C_GAP_IM, C_PATH, C_ZERO,
) = range(30)  # fmt: skip
CONTEXT = 30

# One record per accepted step: head, then five coefficients per dense state.
(
    S_TIME, S_SIZE, S_MODE, S_SIGN, S_FED, S_STAGE, S_ANGLE, S_OMEGA, S_SLOPE, S_SHAFT, S_BEGAN, S_AXIS_RE, S_AXIS_IM,
) = range(13)  # fmt: skip
STEP_HEAD = 13

# Per stage: begin, end, speed at the end, reason; then its peaks.
(
    M_BEGIN, M_END, M_SPEED, M_REASON, M_TMAX, M_TMAX_AT, M_TMIN, M_TMIN_AT, M_LINE, M_LINE_AT, M_PHASE, M_WINDING,
) = range(12)  # fmt: skip
MARKS = 12

# What the whole march answers besides steps, marks and energies.
(T_END, T_SPEED, T_STEPS, T_STAGES, T_REASON, T_INTERRUPTION, T_MAGNETIC, T_KINETIC, T_TOP_SPEED, T_RECORDS) = range(10)
ANSWER = 10

# One sample of the record.
(V_SPEED, V_TORQUE, V_LOAD, V_LINE, V_WINDING, V_VOLTAGE) = (0, 1, 2, 3, 6, 9)
SAMPLE = 12

SQRT3_2 = 0.8660254037844386


def room(n: int) -> Any:
    """A zeroed vector of n numbers: a list in the plain twin, which Python reads faster than an array."""
    return np.zeros(n) if COMPILED else [0.0] * n


@scalar
def law(d: Any, start: int, n: int, x: float, inside: float) -> Any:
    """Value and slope at x of straight lines between points, held outside; `inside` picks the piece x belongs to."""
    if inside <= d[start]:
        return d[start + n], 0.0
    if inside >= d[start + n - 1]:
        return d[start + 2 * n - 1], 0.0
    i = start + 1
    while d[i] < inside:
        i += 1
    slope = (d[i + n] - d[i + n - 1]) / (d[i] - d[i - 1])
    return d[i + n] + slope * (x - d[i]), slope


@inlined
def load_torque(d: Any, speed: float, sign: float) -> float:
    """Torque of the driven machine at `speed`; passive parts oppose the direction `sign` of motion. [N m]"""
    head = int(d[O_LOAD])
    along = max(sign * speed, 0.0)
    terms = int(d[head + H_TERMS])
    passive = 0.0
    active = 0.0
    for i in range(terms):
        at = head + LOAD_HEAD + 3 * i
        base = (along if d[at + 2] == 0.0 else abs(speed)) / d[head + H_BASE]
        exponent = d[at + 1]
        if exponent == 0.0:
            part = d[at]
        elif exponent == 1.0:
            part = d[at] * base
        elif exponent == 2.0:
            part = d[at] * base * base
        else:
            part = d[at] * base**exponent
        if d[at + 2] == 0.0:
            passive += part
        else:
            active += part
    points = int(d[head + H_CURVE])
    if points > 0:
        passive += law(d, head + LOAD_HEAD + 3 * terms, points, along, along)[0]
    if d[head + H_EXCESS] > 0.0:
        passive += d[head + H_EXCESS] * max(0.0, 1.0 - along / d[head + H_FADE])
    return sign * passive + active


@scalar
def slope(t: float, y: Any, dy: Any, do: int, ob: Any, ctx: Any, r: Any, d: Any) -> None:
    """Derivatives of the state y at time t into dy[do:], currents and torque into ob; r: row of the stage that feeds.

    Written in real numbers: complex division is slow when compiled, and this is where all the time goes.
    """
    m = int(d[O_BRANCHES])
    mode = ctx[C_MODE]
    speed = y[2 + 2 * m]
    pairs = r[POLES]
    electrical = pairs * speed
    factor, in_time, in_speed, omega, omega_slope = 1.0, 0.0, 0.0, r[OMEGA], 0.0
    if r[LAWS] > 0.0:
        factor, in_time, in_speed, omega, omega_slope = feed(t, speed, ctx, r, d)

    if r[SATURATES] > 0.0:
        saturate(y, factor, omega, electrical, ctx, r, d)
    sum_x = 0.0
    sum_y = 0.0
    for k in range(m):
        inverse = r[BRANCHES + PER_BRANCH * k + INVERSE]
        sum_x += y[2 + 2 * k] * inverse
        sum_y += y[3 + 2 * k] * inverse
    loop_l = r[L_LOOP] + factor * r[L_PATH]
    loop_r = r[R_LOOP] + factor * r[R_PATH]
    inv_l = r[INV_LOOP]
    below = r[INV_RUN]
    free = r[G_GAP]  # of the air gap without the stator; both: with it
    if r[LAWS] > 0.0:
        inv_l = 1.0 / loop_l
        below = 1.0 / ((free + inv_l) ** 2 + (omega * r[G_CORE]) ** 2)
    both = free + inv_l
    flux_x = y[0]
    flux_y = y[1]
    source_x = r[U_RE] * factor
    source_y = r[U_IM] * factor
    axis_x = ctx[C_AXIS_RE]
    axis_y = ctx[C_AXIS_IM]
    turning = omega  # speed of the flux, for the core-loss current
    frame = omega
    core = omega * r[G_CORE]
    if mode == RUN:
        along = sum_x + flux_x * inv_l
        aside = sum_y + flux_y * inv_l
        gap_x = (along * both + aside * core) * below
        gap_y = (aside * both - along * core) * below
        i_x = (flux_x - gap_x) * inv_l
        i_y = (flux_y - gap_y) * inv_l
        flow_x = source_x - loop_r * i_x + omega * flux_y  # rate of the loop's flux at constant inductance
        flow_y = source_y - loop_r * i_y - omega * flux_x
    elif mode == TWO:
        frame = 0.0
        below = 1.0 / (both * free + core * core)
        along = sum_x * axis_x + sum_y * axis_y + flux_x * inv_l
        aside = sum_y * axis_x - sum_x * axis_y
        on = (along * free + core * aside) * below
        off = (both * aside - core * along) * below
        gap_x = on * axis_x - off * axis_y
        gap_y = on * axis_y + off * axis_x
        through = (flux_x - on) * inv_l
        i_x = through * axis_x
        i_y = through * axis_y
        since = t - ctx[C_TIME]
        angle = ctx[C_ANGLE] + (omega - 0.5 * omega_slope * since) * since
        cosine = math.cos(angle)
        sine = math.sin(angle)
        source_x, source_y = source_x * cosine - source_y * sine, source_x * sine + source_y * cosine
        flow_x = source_x * axis_x + source_y * axis_y - loop_r * through
        flow_y = 0.0
    else:
        frame = electrical
        turning = electrical
        core = electrical * r[G_CORE]
        below = 1.0 / (free * free + core * core)
        gap_x = (sum_x * free + sum_y * core) * below
        gap_y = (sum_y * free - sum_x * core) * below
        i_x = 0.0
        i_y = 0.0
        source_x = 0.0
        source_y = 0.0
        flow_x = 0.0
        flow_y = 0.0

    turn = frame - electrical
    rates_x = 0.0
    rates_y = 0.0
    for k in range(m):
        row = BRANCHES + PER_BRANCH * k
        linked_x = y[2 + 2 * k]
        linked_y = y[3 + 2 * k]
        resistance = (r[row] + r[row + EXTERNAL]) * r[row + INVERSE]
        rate_x = turn * linked_y - resistance * (linked_x - gap_x)
        rate_y = -turn * linked_x - resistance * (linked_y - gap_y)
        dy[do + 2 + 2 * k] = rate_x
        dy[do + 3 + 2 * k] = rate_y
        rates_x += rate_x * r[row + INVERSE]
        rates_y += rate_y * r[row + INVERSE]
    torque = 1.5 * pairs * (gap_y * (sum_x - gap_x * r[G_ROTOR]) - gap_x * (sum_y - gap_y * r[G_ROTOR]))
    square = i_x * i_x + i_y * i_y

    sign = ctx[C_SIGN]
    resisting = torque
    mechanical = 0.0
    stray = 0.0
    if sign != 0.0:
        resisting = load_torque(d, speed, sign)
        if r[MECHANICAL] > 0.0:
            mechanical = sign * r[MECHANICAL] * (max(sign * speed, 0.0) / r[SYNC]) ** r[EXPONENT]
        stray = r[STRAY] * square * speed
    acceleration = (torque - resisting - mechanical - stray) / d[O_INERTIA]
    l_rate = 0.0
    if in_time != 0.0 or in_speed != 0.0:
        l_rate = r[L_PATH] * (in_time + in_speed * acceleration)

    dy[do] = flow_x
    dy[do + 1] = flow_y
    if l_rate != 0.0 and mode == RUN:
        dy[do] += l_rate * i_x
        dy[do + 1] += l_rate * i_y
    elif l_rate != 0.0 and mode == TWO:
        dy[do] += l_rate * (i_x * axis_x + i_y * axis_y)
    dy[do + 2 + 2 * m] = acceleration
    dy[do + 3 + 2 * m] = speed

    ob[B_TORQUE] = torque
    ob[B_I_RE] = i_x
    ob[B_I_IM] = i_y
    ob[B_LOAD] = resisting
    ob[B_LM_RE] = gap_x
    ob[B_LM_IM] = gap_y
    ob[B_FACTOR] = factor
    ob[B_OMEGA] = omega
    ob[B_SLOPE] = omega_slope
    ob[B_LOOP] = loop_l
    ob[B_ROTOR] = electrical
    if d[O_BOOKS] == 0.0:
        return

    # Rate of the air-gap flux, from the rates of the others; the core-loss coefficient changes with the flux's speed.
    core_rate = omega_slope if mode != OPEN else pairs * acceleration
    core_rate *= r[G_CORE]
    rates_x += core_rate * gap_y
    rates_y -= core_rate * gap_x
    di_x = 0.0
    di_y = 0.0
    if r[SATURATES] > 0.0:
        dgap_x, dgap_y, di_x, di_y = rates_saturated(
            y, dy, do, gap_x, gap_y, i_x, i_y, core, core_rate, flow_x, flow_y, ctx, r, d
        )
    elif mode == RUN:
        along = rates_x + flow_x * inv_l
        aside = rates_y + flow_y * inv_l
        dgap_x = (along * both + aside * core) * below
        dgap_y = (aside * both - along * core) * below
        di_x = (flow_x - dgap_x) * inv_l
        di_y = (flow_y - dgap_y) * inv_l
    elif mode == TWO:
        along = rates_x * axis_x + rates_y * axis_y + flow_x * inv_l
        aside = rates_y * axis_x - rates_x * axis_y
        on = (along * free + core * aside) * below
        off = (both * aside - core * along) * below
        dgap_x = on * axis_x - off * axis_y
        dgap_y = on * axis_y + off * axis_x
        di_x = (flow_x - on) * inv_l * axis_x
        di_y = (flow_x - on) * inv_l * axis_y
    else:
        dgap_x = (rates_x * free + rates_y * core) * below
        dgap_y = (rates_y * free - rates_x * core) * below
    ob[B_DLM_RE] = dgap_x
    ob[B_DLM_IM] = dgap_y
    ob[B_DI_RE] = di_x
    ob[B_DI_IM] = di_y

    ledger = do + 4 + 2 * m
    dy[ledger + E_SUPPLIED] = 1.5 * (source_x * i_x + source_y * i_y + 0.5 * l_rate * square)
    dy[ledger + E_STATOR] = 1.5 * r[R1] * square
    dy[ledger + E_PATH] = 1.5 * factor * r[R_PATH] * square
    dy[ledger + E_SERIES] = 1.5 * (r[R_LOOP] - r[R1]) * square
    at_gap_x = dgap_x - frame * gap_y
    at_gap_y = dgap_y + frame * gap_x
    dy[ledger + E_CORE] = 1.5 * turning * r[G_CORE] * (gap_x * at_gap_y - gap_y * at_gap_x)
    dy[ledger + E_MECHANICAL] = mechanical * speed
    dy[ledger + E_STRAY] = stray * speed
    dy[ledger + E_LOAD] = resisting * speed
    dy[ledger + E_EXTERNAL] = 0.0
    for k in range(m):
        row = BRANCHES + PER_BRANCH * k
        there_x = (y[2 + 2 * k] - gap_x) * r[row + INVERSE]
        there_y = (y[3 + 2 * k] - gap_y) * r[row + INVERSE]
        power = 1.5 * (there_x * there_x + there_y * there_y)
        dy[ledger + E_ROTOR + k] = power * r[row]
        dy[ledger + E_EXTERNAL] += power * r[row + EXTERNAL]


@scalar
def curve(d: Any, at: int, x: float) -> Any:
    """Value, slope and area from zero of a smooth curve at x >= 0: cubics between even nodes, straight beyond the last.

    at: place of the curve in the deck: number of nodes, spacing, then value, slope and area at each node.
    """
    nodes = int(d[at])
    spacing = d[at + 1]
    i = min(int(x / spacing), nodes - 2)
    node = at + 2 + 3 * i
    if x >= spacing * (nodes - 1):
        node += 3
        over = x - spacing * (nodes - 1)
        area = d[node + 2] + over * (d[node] + 0.5 * over * d[node + 1])
        return d[node] + over * d[node + 1], d[node + 1], area
    u = x / spacing - i
    change = d[node + 3] - d[node]
    rise = spacing * d[node + 1]
    bend = 3.0 * change - 2.0 * rise - spacing * d[node + 4]
    twist = rise + spacing * d[node + 4] - 2.0 * change
    value = d[node] + u * (rise + u * (bend + u * twist))
    steep = (rise + u * (2.0 * bend + 3.0 * u * twist)) / spacing
    area = d[node + 2] + spacing * u * (d[node] + u * (rise / 2.0 + u * (bend / 3.0 + u * twist / 4.0)))
    return value, steep, area


@scalar
def current_for(d: Any, at: int, own: float, rest: float, flux: float) -> Any:
    """Current that links `flux` through a saturable inductance `own` (its curve at `at`) and a constant one `rest`.

    Gives the current and its slope against flux. Newton from below on a concave curve: monotone.
    """
    current = flux / (own + rest)
    steep = own + rest
    for _ in range(60):
        value, rate, _ = curve(d, at, current)
        steep = own * rate + rest
        change = (flux - own * value - rest * current) / steep
        current += change
        if change <= 1e-14 * current + 1e-30:
            break
    return current, 1.0 / steep


@scalar
def saturate(y: Any, factor: float, omega: float, electrical: float, ctx: Any, r: Any, d: Any) -> None:
    """Put the inductances that hold at this state into the row r: chords for currents, slopes for changes.

    The air-gap flux at which all currents balance is found by Newton's method; with the chords the linear equations of
    `slope` give the same flux and currents. Curves are on the lengths of the space vectors (model.machine.saturation).
    """
    m = int(d[O_BRANCHES])
    mode = ctx[C_MODE]
    axis_x = ctx[C_AXIS_RE]
    axis_y = ctx[C_AXIS_IM]
    core = (electrical if mode == OPEN else omega) * r[G_CORE]
    own = r[FREE_L1]
    rest = r[L_REST] + factor * r[L_PATH]
    ctx[C_PATH] = factor * r[L_PATH]
    gap_x = ctx[C_GAP_RE]
    gap_y = ctx[C_GAP_IM]
    for _ in range(60):
        # Residual of the currents at the gap, and its matrix: chord on all, slope less chord along each vector.
        size = math.sqrt(gap_x * gap_x + gap_y * gap_y)
        chord = r[FREE_LM]
        steep = r[FREE_LM]
        if r[CURVE_MAIN] > 0.0 and size > 0.0:
            value, rate, _ = curve(d, int(r[CURVE_MAIN]), size)
            chord = r[FREE_LM] * value / size
            steep = r[FREE_LM] * rate
        r[INV_LM] = chord
        r[STEEP_LM] = steep
        left_x = -chord * gap_x + core * gap_y
        left_y = -chord * gap_y - core * gap_x
        xx = chord
        yy = chord
        xy = 0.0
        if size > 0.0:
            extra = (steep - chord) / (size * size)
            xx += extra * gap_x * gap_x
            yy += extra * gap_y * gap_y
            xy += extra * gap_x * gap_y
        for k in range(m):
            row = BRANCHES + PER_BRANCH * k
            apart_x = y[2 + 2 * k] - gap_x
            apart_y = y[3 + 2 * k] - gap_y
            size = math.sqrt(apart_x * apart_x + apart_y * apart_y)
            chord = r[row + FREE]
            steep = chord
            if r[CURVE_ROTOR] > 0.0 and size > 0.0:
                current, steep = current_for(d, int(r[CURVE_ROTOR]), 1.0 / r[row + FREE], 0.0, size)
                chord = current / size
            r[row + INVERSE] = chord
            r[row + STEEP] = steep
            left_x += chord * apart_x
            left_y += chord * apart_y
            xx += chord
            yy += chord
            if size > 0.0:
                extra = (steep - chord) / (size * size)
                xx += extra * apart_x * apart_x
                yy += extra * apart_y * apart_y
                xy += extra * apart_x * apart_y
        if mode != OPEN:
            apart_x = y[0] - gap_x
            apart_y = y[1] - gap_y
            if mode == TWO:
                through = y[0] - gap_x * axis_x - gap_y * axis_y
                apart_x = through * axis_x
                apart_y = through * axis_y
            size = math.sqrt(apart_x * apart_x + apart_y * apart_y)
            chord = 1.0 / (own + rest)
            steep = chord
            if r[CURVE_STATOR] > 0.0 and size > 0.0:
                current, steep = current_for(d, int(r[CURVE_STATOR]), own, rest, size)
                chord = current / size
            r[L1] = 1.0 / chord - rest
            r[STEEP_L1] = steep
            left_x += chord * apart_x
            left_y += chord * apart_y
            if mode == TWO:
                xx += steep * axis_x * axis_x
                yy += steep * axis_y * axis_y
                xy += steep * axis_x * axis_y
            else:
                xx += chord
                yy += chord
                if size > 0.0:
                    extra = (steep - chord) / (size * size)
                    xx += extra * apart_x * apart_x
                    yy += extra * apart_y * apart_y
                    xy += extra * apart_x * apart_y
        # (matrix + core x [[0, -1], [1, 0]]) step = residual
        below = 1.0 / (xx * yy - (xy - core) * (xy + core))
        step_x = (yy * left_x - (xy - core) * left_y) * below
        step_y = (xx * left_y - (xy + core) * left_x) * below
        gap_x += step_x
        gap_y += step_y
        if abs(step_x) + abs(step_y) <= 1e-13 * d[O_FLUX]:
            break
    ctx[C_GAP_RE] = gap_x
    ctx[C_GAP_IM] = gap_y
    r[G_ROTOR] = 0.0
    for k in range(m):
        r[G_ROTOR] += r[BRANCHES + PER_BRANCH * k + INVERSE]
    r[G_GAP] = r[INV_LM] + r[G_ROTOR]
    r[L_LOOP] = r[L1] + r[L_REST]


@scalar
def rates_saturated(
    y: Any, dy: Any, do: int, gap_x: float, gap_y: float, i_x: float, i_y: float, core: float, core_rate: float,
    flow_x: float, flow_y: float, ctx: Any, r: Any, d: Any,
) -> Any:  # fmt: skip
    """Rates of the air-gap flux and of the stator current where inductances depend on the state, from `saturate`'s slopes."""
    m = int(d[O_BRANCHES])
    xx, xy, yy = stretched(r[INV_LM], r[STEEP_LM], gap_x, gap_y)
    push_x = core_rate * gap_y
    push_y = -core_rate * gap_x
    for k in range(m):
        row = BRANCHES + PER_BRANCH * k
        a, b, c = stretched(r[row + INVERSE], r[row + STEEP], y[2 + 2 * k] - gap_x, y[3 + 2 * k] - gap_y)
        xx += a
        xy += b
        yy += c
        push_x += a * dy[do + 2 + 2 * k] + b * dy[do + 3 + 2 * k]
        push_y += b * dy[do + 2 + 2 * k] + c * dy[do + 3 + 2 * k]
    a = 0.0
    b = 0.0
    c = 0.0
    if ctx[C_MODE] == RUN:
        a, b, c = stretched(1.0 / (r[L_LOOP] + ctx[C_PATH]), r[STEEP_L1], i_x, i_y)
        push_x += a * flow_x + b * flow_y
        push_y += b * flow_x + c * flow_y
    elif ctx[C_MODE] == TWO:
        a = r[STEEP_L1] * ctx[C_AXIS_RE] * ctx[C_AXIS_RE]
        b = r[STEEP_L1] * ctx[C_AXIS_RE] * ctx[C_AXIS_IM]
        c = r[STEEP_L1] * ctx[C_AXIS_IM] * ctx[C_AXIS_IM]
        flow_x, flow_y = flow_x * ctx[C_AXIS_RE], flow_x * ctx[C_AXIS_IM]
        push_x += a * flow_x + b * flow_y
        push_y += b * flow_x + c * flow_y
    xx += a
    xy += b
    yy += c
    below = 1.0 / (xx * yy - (xy - core) * (xy + core))
    dgap_x = (yy * push_x - (xy - core) * push_y) * below
    dgap_y = (xx * push_y - (xy + core) * push_x) * below
    di_x = a * (flow_x - dgap_x) + b * (flow_y - dgap_y)
    di_y = b * (flow_x - dgap_x) + c * (flow_y - dgap_y)
    return dgap_x, dgap_y, di_x, di_y


@scalar
def stretched(chord: float, steep: float, x: float, y: float) -> Any:
    """Symmetric matrix (xx, xy, yy) that is `steep` along the vector (x, y) and `chord` across it."""
    square = x * x + y * y
    extra = 0.0
    if square > 0.0:
        extra = (steep - chord) / square
    return chord + extra * x * x, extra * x * y, chord + extra * y * y


@scalar
def observe(t: float, y: Any, waste: Any, ob: Any, ctx: Any, r: Any, d: Any) -> None:
    """Currents and torque of a state into ob; the derivatives go to waste."""
    nowhere = int(ctx[C_ZERO])  # not a constant to the compiler, which would make a second copy of `slope` for it
    slope(t, y, waste, nowhere, ob, ctx, r, d)


@scalar
def feed(t: float, speed: float, ctx: Any, r: Any, d: Any) -> Any:
    """Voltage factor, its slopes against time and against speed, angular frequency (rad/s) and its slope."""
    since = t - ctx[C_BEGAN]
    middle = ctx[C_MIDDLE] - ctx[C_BEGAN]
    factor = 1.0
    in_time = 0.0
    in_speed = 0.0
    if r[N_V] > 0.0:
        factor, in_time = law(d, int(r[LAW_V]), int(r[N_V]), since, middle)
    if r[N_CAP] > 0.0:
        cap, rate = law(d, int(r[LAW_CAP]), int(r[N_CAP]), speed, speed)
        if cap < factor:
            factor = cap
            in_time = 0.0
            in_speed = rate
    omega = r[OMEGA]
    omega_slope = 0.0
    if r[N_F] > 0.0:
        value, rate = law(d, int(r[LAW_F]), int(r[N_F]), since, middle)
        omega_slope = omega * rate
        omega = omega * value
    return factor, in_time, in_speed, omega, omega_slope


@scalar
def magnetic(y: Any, ob: Any, r: Any, d: Any) -> float:
    """Energy in every inductance of the loop and the machine, from the state and the currents just computed. [J]"""
    m = int(d[O_BRANCHES])
    gap = math.sqrt(ob[B_LM_RE] ** 2 + ob[B_LM_IM] ** 2)
    size = math.sqrt(ob[B_I_RE] ** 2 + ob[B_I_IM] ** 2)
    twice = ob[B_LOOP] * size**2 + r[INV_LM] * gap**2
    for k in range(m):
        row = BRANCHES + PER_BRANCH * k
        apart = (y[2 + 2 * k] - ob[B_LM_RE]) ** 2 + (y[3 + 2 * k] - ob[B_LM_IM]) ** 2
        if r[CURVE_ROTOR] > 0.0:
            branch = math.sqrt(apart) * r[row + INVERSE]
            value, _, area = curve(d, int(r[CURVE_ROTOR]), branch)
            twice += 2.0 * (branch * value - area) / r[row + FREE]
        else:
            twice += apart * r[row + INVERSE]
    if r[CURVE_MAIN] > 0.0:
        twice += 2.0 * r[FREE_LM] * curve(d, int(r[CURVE_MAIN]), gap)[2] - r[INV_LM] * gap**2
    if r[CURVE_STATOR] > 0.0:
        value, _, area = curve(d, int(r[CURVE_STATOR]), size)
        twice += 2.0 * r[FREE_L1] * (size * value - area) - r[L1] * size**2
    return float(0.75 * twice)


@scalar
def line_current(ob: Any, r: Any) -> Any:
    """Space vector of the current in the lines, in the frame of the motor current. [A]"""
    return complex(r[A_RE], -r[A_IM]) * complex(ob[B_I_RE], ob[B_I_IM])


@scalar
def behind_dc_link(power: float, r: Any) -> Any:
    """Line current that brings `power` (W, three-phase) at displacement factor 1, in the frame of the source. [A]"""
    emf = complex(r[EMF], 0.0)
    grid = complex(r[R_GRID], r[X_GRID])
    voltage = emf
    current = 0.0j
    for _ in range(12):
        current = voltage * (max(power, 0.0) / 1.5 / (voltage.real**2 + voltage.imag**2))
        voltage = emf - grid * current
    return current


@scalar
def inverter_line(t: float, ob: Any, r: Any, d: Any) -> Any:
    """Space vector of the line current at rest in the stationary frame while an inverter feeds the motor. [A]"""
    power = 1.5 * ob[B_FACTOR] * (r[U_RE] * ob[B_I_RE] + r[U_IM] * ob[B_I_IM])
    angle = d[O_OMEGA] * t + d[O_ANGLE]
    return behind_dc_link(power, r) * complex(math.cos(angle), math.sin(angle))


slope_here = inlined(slope)  # the same function, compiled into the explicit step, where most of the time goes


@scalar
def step(
    t: float, h: float, y: Any, new: Any, work: Any, k: Any, n: int, controlled: int, ob: Any, ctx: Any,
    r: Any, d: Any,
) -> float:  # fmt: skip
    """One Dormand-Prince step of size h from y to new, first slope already in k[0:n]; gives the error over the tolerance."""
    ctx[C_MIDDLE] = t + 0.5 * h
    for i in range(n):
        work[i] = y[i] + h * 0.2 * k[i]
    slope_here(t + 0.2 * h, work, k, n, ob, ctx, r, d)
    for i in range(n):
        work[i] = y[i] + h * (3.0 / 40.0 * k[i] + 9.0 / 40.0 * k[n + i])
    slope_here(t + 0.3 * h, work, k, 2 * n, ob, ctx, r, d)
    for i in range(n):
        work[i] = y[i] + h * (44.0 / 45.0 * k[i] - 56.0 / 15.0 * k[n + i] + 32.0 / 9.0 * k[2 * n + i])
    slope_here(t + 0.8 * h, work, k, 3 * n, ob, ctx, r, d)
    for i in range(n):
        work[i] = y[i] + h * (
            19372.0 / 6561.0 * k[i] - 25360.0 / 2187.0 * k[n + i] + 64448.0 / 6561.0 * k[2 * n + i]
            - 212.0 / 729.0 * k[3 * n + i]
        )  # fmt: skip
    slope_here(t + 8.0 / 9.0 * h, work, k, 4 * n, ob, ctx, r, d)
    for i in range(n):
        work[i] = y[i] + h * (
            9017.0 / 3168.0 * k[i] - 355.0 / 33.0 * k[n + i] + 46732.0 / 5247.0 * k[2 * n + i]
            + 49.0 / 176.0 * k[3 * n + i] - 5103.0 / 18656.0 * k[4 * n + i]
        )  # fmt: skip
    slope_here(t + h, work, k, 5 * n, ob, ctx, r, d)
    for i in range(n):
        new[i] = y[i] + h * (
            35.0 / 384.0 * k[i] + 500.0 / 1113.0 * k[2 * n + i] + 125.0 / 192.0 * k[3 * n + i]
            - 2187.0 / 6784.0 * k[4 * n + i] + 11.0 / 84.0 * k[5 * n + i]
        )  # fmt: skip
    slope_here(t + h, new, k, 6 * n, ob, ctx, r, d)
    worst = 0.0
    for i in range(controlled):
        error = abs(
            71.0 / 57600.0 * k[i] - 71.0 / 16695.0 * k[2 * n + i] + 71.0 / 1920.0 * k[3 * n + i]
            - 17253.0 / 339200.0 * k[4 * n + i] + 22.0 / 525.0 * k[5 * n + i] - 0.025 * k[6 * n + i]
        )  # fmt: skip
        scale = d[O_FLUX] if i < controlled - 1 else d[O_SYNC]
        worst = max(worst, error / scale)
    return float(h * worst / d[O_TOLERANCE])


@scalar
def jacobian(
    t: float, y: Any, work: Any, k: Any, n: int, controlled: int, jac: Any, ob: Any, ctx: Any, r: Any, d: Any
) -> None:
    """Derivative of every rate (n rows) by flux linkages and speed (controlled columns), by small differences."""
    for i in range(n):
        work[i] = y[i]
    for j in range(controlled):
        small = 1e-7 * (d[O_FLUX] if j < controlled - 1 else d[O_SYNC])
        work[j] = y[j] + small
        slope(t, work, k, 6 * n, ob, ctx, r, d)
        work[j] = y[j]
        for i in range(n):
            jac[i * controlled + j] = (k[6 * n + i] - k[i]) / small


@scalar
def factorise(pivot: float, jac: Any, lu: Any, controlled: int) -> None:
    """LU of pivot x 1 - jac without exchange of rows: the pivot dominates, or the step is refused."""
    for i in range(controlled):
        for j in range(controlled):
            lu[i * controlled + j] = -jac[i * controlled + j]
        lu[i * controlled + i] += pivot
    for i in range(controlled):
        inverse = 1.0 / lu[i * controlled + i]
        for q in range(i + 1, controlled):
            share = lu[q * controlled + i] * inverse
            lu[q * controlled + i] = share
            for j in range(i + 1, controlled):
                lu[q * controlled + j] -= share * lu[i * controlled + j]


@scalar
def solved(pivot: float, jac: Any, lu: Any, n: int, controlled: int, u: Any, uo: int) -> None:
    """Solve (pivot x 1 - jac) u = u in place; rows beyond the controlled ones only collect."""
    for i in range(controlled):
        for j in range(i):
            u[uo + i] -= lu[i * controlled + j] * u[uo + j]
    for i in range(controlled - 1, -1, -1):
        for j in range(i + 1, controlled):
            u[uo + i] -= lu[i * controlled + j] * u[uo + j]
        u[uo + i] /= lu[i * controlled + i]
    for i in range(controlled, n):
        for j in range(controlled):
            u[uo + i] += jac[i * controlled + j] * u[uo + j]
        u[uo + i] /= pivot


@scalar
def stiff_step(
    t: float, h: float, y: Any, new: Any, work: Any, k: Any, n: int, controlled: int, jac: Any, lu: Any, ob: Any,
    ctx: Any, r: Any, d: Any,
) -> float:  # fmt: skip
    """One linearly implicit step (RODAS, order 4, stiffly accurate) of size h; arguments and answer as `step`.

    Where the offsets of the switching have died away, the solution is smooth and an explicit step is held short only by
    the mode that turns with the supply; this one is not. Increments are left in k[n:6n].

    Source: Hairer, Wanner, Solving Ordinary Differential Equations II, 2nd ed., IV.7 and its table of RODAS.
    """
    ctx[C_MIDDLE] = t + 0.5 * h
    jacobian(t, y, work, k, n, controlled, jac, ob, ctx, r, d)
    pivot = 4.0 / h
    factorise(pivot, jac, lu, controlled)
    drift = 0.0
    if r[LAWS] > 0.0:  # rates change with time: by a small difference too
        drift = 1e-4 * h
        slope(t + drift, y, new, 0, ob, ctx, r, d)
        for i in range(n):
            k[6 * n + i] = (new[i] - k[i]) / drift
    for stage in range(6):
        at = (stage + 1) * n if stage < 5 else 0
        for i in range(n):
            work[i] = y[i]
        if stage == 5:
            for i in range(n):
                work[i] = new[i]
        else:
            for j in range(stage):
                weight = RODAS_A[5 * stage + j]
                for i in range(n):
                    work[i] += weight * k[(j + 1) * n + i]
        if stage == 0:
            for i in range(n):
                jac[n * controlled + i] = k[i]  # the first slope is wanted again
        else:
            slope(t + RODAS_C[stage] * h, work, jac, n * controlled, ob, ctx, r, d)
        for j in range(stage):
            weight = RODAS_G[5 * stage + j] / h
            for i in range(n):
                jac[n * controlled + i] += weight * k[(j + 1) * n + i]
        if drift > 0.0:
            for i in range(n):
                jac[n * controlled + i] += h * RODAS_D[stage] * k[6 * n + i]
        solved(pivot, jac, lu, n, controlled, jac, n * controlled)
        if stage < 5:
            for i in range(n):
                k[at + i] = jac[n * controlled + i]
            if stage == 4:
                for i in range(n):
                    new[i] = work[i] + k[at + i]
    worst = 0.0
    for i in range(n):
        error = jac[n * controlled + i]
        new[i] += error
        if i < controlled:
            worst = max(worst, abs(error) / (d[O_FLUX] if i < controlled - 1 else d[O_SYNC]))
    slope(t + h, new, k, 6 * n, ob, ctx, r, d)
    return float(worst / d[O_TOLERANCE])


@scalar
def interpolant(h: float, y: Any, new: Any, k: Any, n: int, dense: int, c: Any, ctx: Any) -> None:
    """Five coefficients per dense state into c: fourth order between the ends of an explicit step, third of an implicit."""
    if ctx[C_STIFF] > 0.0:
        for i in range(dense):
            at = 5 * i
            c[at] = y[i]
            c[at + 1] = new[i] - y[i]
            c[at + 2] = 0.0
            c[at + 3] = 0.0
            c[at + 4] = 0.0
            for j in range(5):
                c[at + 2] += RODAS_2[j] * k[(j + 1) * n + i]
                c[at + 3] += RODAS_3[j] * k[(j + 1) * n + i]
        return
    for i in range(dense):
        change = new[i] - y[i]
        bend = h * k[i] - change
        at = 5 * i
        c[at] = y[i]
        c[at + 1] = change
        c[at + 2] = bend
        c[at + 3] = change - h * k[6 * n + i] - bend
        c[at + 4] = h * (
            -12715105075.0 / 11282082432.0 * k[i] + 87487479700.0 / 32700410799.0 * k[2 * n + i]
            - 10690763975.0 / 1880347072.0 * k[3 * n + i] + 701980252875.0 / 199316789632.0 * k[4 * n + i]
            - 1453857185.0 / 822651844.0 * k[5 * n + i] + 69997945.0 / 29380423.0 * k[6 * n + i]
        )  # fmt: skip


@scalar
def between(c: Any, co: int, dense: int, part: float, out: Any) -> None:
    """Dense states at `part` (0 to 1) of the step into out."""
    rest = 1.0 - part
    for i in range(dense):
        at = co + 5 * i
        out[i] = c[at] + part * (c[at + 1] + rest * (c[at + 2] + part * (c[at + 3] + rest * c[at + 4])))


# Coefficients of RODAS: of the states, of the increments, of the time derivative, times, and of the dense output.
RODAS_A = (
    0.0, 0.0, 0.0, 0.0, 0.0,
    1.544, 0.0, 0.0, 0.0, 0.0,
    0.9466785280815826, 0.2557011698983284, 0.0, 0.0, 0.0,
    3.314825187068521, 2.896124015972201, 0.9986419139977817, 0.0, 0.0,
    1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 0.0,
)  # fmt: skip
RODAS_G = (
    0.0, 0.0, 0.0, 0.0, 0.0,
    -5.6688, 0.0, 0.0, 0.0, 0.0,
    -2.430093356833875, -0.2063599157091915, 0.0, 0.0, 0.0,
    -0.1073529058151375, -9.594562251023355, -20.47028614809616, 0.0, 0.0,
    7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160, 0.0,
    8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054,
)  # fmt: skip
RODAS_D = (0.25, -0.1043, 0.1035, -0.03620000000000023, 0.0, 0.0)
RODAS_C = (0.0, 0.386, 0.21, 0.63, 1.0, 1.0)
RODAS_2 = (10.12623508344586, -7.487995877610167, -34.80091861555747, -7.992771707568823, 1.025137723295662)
RODAS_3 = (-0.6762803392801253, 6.087714651680015, 16.43084320892478, 24.76722511418386, -6.594389125716872)

# What can happen inside a step.
NONE, TO_SPEED, TO_CURRENT, TO_REST, LET_GO, POLE_A, POLE_B, POLE_C, LAST_POLE, RUN_AWAY = range(10)
KINDS = 10

ARMED_AFTER = 31.41592653589793  # rad of the source: five periods, before which a falling current does not end a stage
LONGEST = 0.1  # s, of one step
LONG, IN_A_ROW, TOO_SHORT = 1.2, 6.0, 1.0  # rad of the supply, steps, rad: when to step implicitly, and when not
QUIET = 0.05  # s without change after which a stage has settled
LAST_BIT = 1e-12  # s, taken for nothing
FIRST = 1e-4  # s, first step of a stage at most
MOST_STEPS = 120_000.0  # of one march: an ordinary start takes some thousands


@scalar
def phase_of(vector: Any, phase: int) -> float:
    """Instantaneous value of one phase (0, 1, 2) of a space vector at rest."""
    if phase == 0:
        return float(vector.real)
    if phase == 1:
        return float(-0.5 * vector.real + SQRT3_2 * vector.imag)
    return float(-0.5 * vector.real - SQRT3_2 * vector.imag)


@scalar
def unit(angle: float) -> Any:
    """The unit vector at `angle` (rad)."""
    return complex(math.cos(angle), math.sin(angle))


@scalar
def frame_angle(t: float, shaft: float, ob: Any, ctx: Any, r: Any) -> float:
    """Angle of the frame of reference at time t within the step under way. [rad]"""
    if ctx[C_MODE] == RUN:
        dt = t - ctx[C_TIME]
        return float(ctx[C_ANGLE] + (ob[B_OMEGA] - 0.5 * ob[B_SLOPE] * dt) * dt)
    if ctx[C_MODE] == TWO:
        return 0.0
    return float(ctx[C_ANGLE] + r[POLES] * (shaft - ctx[C_SHAFT]))


@scalar
def lines_at_rest(t: float, shaft: float, ob: Any, ctx: Any, r: Any, d: Any) -> Any:
    """Space vector of the line currents, stationary frame. [A]"""
    if r[INVERTER] > 0.0:
        return inverter_line(t, ob, r, d)
    return line_current(ob, r) * unit(frame_angle(t, shaft, ob, ctx, r))


@scalar
def current_counts(t: float, ctx: Any, d: Any, s: int) -> bool:
    """Whether the stage ends by current, and its inrush has had time to pass."""
    return bool(d[s + ENDS] == CURRENT and t >= ctx[C_BEGIN] + ARMED_AFTER / d[O_OMEGA] - LAST_BIT)


@scalar
def below_current(t: float, y: Any, ob: Any, ctx: Any, r: Any, d: Any, s: int) -> float:
    """How far the rms line current is below the value that ends the stage. [A]"""
    line = lines_at_rest(t, y[3 + 2 * int(d[O_BRANCHES])], ob, ctx, r, d)
    return float(d[s + VALUE] - abs(line) * 0.7071067811865476)


@scalar
def beyond_hold(ob: Any, d: Any) -> float:
    """How far the torque on a resting shaft is beyond what holds it. [N m]"""
    head = int(d[O_LOAD])
    return float(abs(ob[B_TORQUE] - d[head + H_PULL]) - d[head + H_HOLD])


@scalar
def free(ob: Any, ctx: Any, d: Any) -> None:
    """The shaft begins to move, the way the torque drives it."""
    ctx[C_SIGN] = 1.0 if ob[B_TORQUE] > d[int(d[O_LOAD]) + H_PULL] else -1.0


@scalar
def armed(kind: int, t: float, y: Any, ctx: Any, d: Any, s: int) -> bool:
    """Whether this event can happen now."""
    mode = ctx[C_MODE]
    opening = ctx[C_OPENING] > 0.0
    if kind == TO_SPEED:
        return bool(d[s + ENDS] == SPEED or d[s + ENDS] == FALLS)
    if kind == TO_CURRENT:
        return bool(current_counts(t, ctx, d, s))
    if kind == TO_REST:
        return bool(ctx[C_SIGN] * y[2 + 2 * int(d[O_BRANCHES])] > 0.0)
    if kind == LET_GO:
        return bool(ctx[C_SIGN] == 0.0)
    if kind == LAST_POLE:
        return bool(opening and mode == TWO)
    if kind == RUN_AWAY:
        return True
    return bool(opening and mode == RUN)


@scalar
def event_value(kind: int, t: float, y: Any, ob: Any, ctx: Any, r: Any, d: Any, s: int) -> float:
    """A smooth function of the state whose sign changes where the event is."""
    m = int(d[O_BRANCHES])
    if kind == TO_SPEED:
        return float(y[2 + 2 * m] - d[s + VALUE])
    if kind == RUN_AWAY:
        return float(abs(y[2 + 2 * m]) - 2.0 * d[O_SYNC])
    if kind == TO_CURRENT:
        return float(below_current(t, y, ob, ctx, r, d, s))
    if kind == TO_REST:
        return float(-ctx[C_SIGN] * y[2 + 2 * m])
    if kind == LET_GO:
        return float(beyond_hold(ob, d))
    if kind == LAST_POLE:
        return float(ob[B_I_RE] * ctx[C_AXIS_RE] + ob[B_I_IM] * ctx[C_AXIS_IM])
    return float(phase_of(lines_at_rest(t, y[3 + 2 * m], ob, ctx, r, d), kind - POLE_A))


@scalar
def crossing(
    kind: int, before: float, t: float, h: float, c: Any, dense: int, work: Any, waste: Any, ob: Any, ctx: Any, r: Any,
    d: Any, s: int,
) -> float:  # fmt: skip
    """Part of the step at which the event's value changes sign, by bisection on the dense output."""
    low = 0.0
    high = 1.0
    for _ in range(46):
        middle = 0.5 * (low + high)
        between(c, 0, dense, middle, work)
        observe(t + middle * h, work, waste, ob, ctx, r, d)
        value = event_value(kind, t + middle * h, work, ob, ctx, r, d, s)
        if (value > 0.0) == (before > 0.0):
            low = middle
        else:
            high = middle
    return high


@scalar
def calm(y: Any, new: Any, ctx: Any, d: Any, s: int) -> bool:
    """Whether the step from y to new can have held no event, seen at a glance."""
    if ctx[C_OPENING] > 0.0 or ctx[C_SIGN] == 0.0 or d[s + ENDS] == CURRENT:
        return False
    at = 2 + 2 * int(d[O_BRANCHES])
    after = new[at] * ctx[C_SIGN]
    if after <= 0.0 or after >= 2.0 * d[O_SYNC]:
        return False
    if d[s + ENDS] != SPEED and d[s + ENDS] != FALLS:
        return True
    return bool((new[at] >= d[s + VALUE]) == (y[at] >= d[s + VALUE]))


@scalar
def first_event(
    t: float, h: float, y: Any, new: Any, c: Any, dense: int, work: Any, waste: Any, seen: Any, ctx: Any, r: Any, d: Any,
    s: int,
) -> int:  # fmt: skip
    """The event that comes first in the step from y to new, or NONE; where it is goes into C_PART."""
    event = NONE
    ctx[C_PART] = 1.0
    for kind in range(1, KINDS):
        if not armed(kind, t, y, ctx, d, s):
            continue
        observe(t, y, waste, seen, ctx, r, d)
        before = event_value(kind, t, y, seen, ctx, r, d, s)
        observe(t + h, new, waste, seen, ctx, r, d)
        after = event_value(kind, t + h, new, seen, ctx, r, d, s)
        if (before > 0.0) == (after > 0.0):
            continue
        part = crossing(kind, before, t, h, c, dense, work, waste, seen, ctx, r, d, s)
        if event == NONE or part < ctx[C_PART]:
            event = kind
            ctx[C_PART] = part
    return event


@scalar
def note_peaks(
    t: float, h: float, c: Any, dense: int, work: Any, waste: Any, ob: Any, ctx: Any, r: Any, d: Any, marks: Any,
    mo: int, inner: Any,
) -> None:  # fmt: skip
    """Extremes of torque and currents inside the step just taken, by parabolas through close samples of the dense output."""
    m = int(d[O_BRANCHES])
    count = int(h * max(d[O_OMEGA], abs(ob[B_OMEGA])) / 0.35) + 1
    # inner holds the last three samples of torque, of three line currents, of three winding currents.
    for j in range(-1, count + 2):
        part = j / count
        at = t + part * h
        between(c, 0, dense, part, work)
        observe(at, work, waste, ob, ctx, r, d)
        current = complex(ob[B_I_RE], ob[B_I_IM]) * unit(frame_angle(at, work[3 + 2 * m], ob, ctx, r))
        winding = current * complex(r[WINDING_RE], r[WINDING_IM])
        here = current * complex(r[A_RE], -r[A_IM])
        if r[INVERTER] > 0.0:
            here = inverter_line(at, ob, r, d)
        for q in range(7):
            inner[3 * q] = inner[3 * q + 1]
            inner[3 * q + 1] = inner[3 * q + 2]
        inner[2] = ob[B_TORQUE]
        for phase in range(3):
            inner[3 * phase + 5] = phase_of(here, phase)
            inner[3 * phase + 14] = phase_of(winding, phase)
        if j >= 1:
            for q in range(7):
                extreme(q, t + (j - 1) * h / count, h / count, inner, marks, mo)


@scalar
def extreme(q: int, when: float, spacing: float, inner: Any, marks: Any, mo: int) -> None:
    """Take the middle one of three samples of quantity q, or the top of the parabola through them, into the peaks."""
    a = inner[3 * q]
    best = inner[3 * q + 1]
    d = inner[3 * q + 2]
    bend = a - 2.0 * best + d
    if (best - a) * (d - best) <= 0.0 and bend != 0.0:
        shift = 0.5 * (a - d) / bend
        best -= 0.25 * (a - d) * shift
        when += shift * spacing
    if q == 0:
        if best > marks[mo + M_TMAX]:
            marks[mo + M_TMAX] = best
            marks[mo + M_TMAX_AT] = when
        if best < marks[mo + M_TMIN]:
            marks[mo + M_TMIN] = best
            marks[mo + M_TMIN_AT] = when
    elif q < 4:
        if abs(best) > marks[mo + M_LINE]:
            marks[mo + M_LINE] = abs(best)
            marks[mo + M_LINE_AT] = when
            marks[mo + M_PHASE] = q - 1.0
    elif abs(best) > marks[mo + M_WINDING]:
        marks[mo + M_WINDING] = abs(best)


@scalar
def worth_a_look(torque: float, square: float, ob: Any, r: Any, marks: Any, mo: int) -> bool:
    """Whether a step may hold a new extreme, from torque and motor current at both ends.

    A swing near its extremes keeps steps to a small part of it, so that the ends cannot both be far below its peak.
    """
    now = ob[B_I_RE] * ob[B_I_RE] + ob[B_I_IM] * ob[B_I_IM]
    winding = r[WINDING_RE] * r[WINDING_RE] + r[WINDING_IM] * r[WINDING_IM]
    known = marks[mo + M_WINDING] * marks[mo + M_WINDING]
    if r[INVERTER] > 0.0 or max(now, square) * winding > 0.8 * known:
        return True
    high = max(torque, ob[B_TORQUE])
    low = min(torque, ob[B_TORQUE])
    return bool(high > 0.9 * marks[mo + M_TMAX] or low < 0.9 * marks[mo + M_TMIN])


@scalar
def fetch(r: Any, d: Any, stage: int) -> None:
    """The row of a stage into r."""
    width = BRANCHES + PER_BRANCH * int(d[O_BRANCHES])
    at = int(d[O_TABLE]) + stage * width
    for i in range(width):
        r[i] = d[at + i]


@scalar
def join(t: float, y: Any, ob: Any, ctx: Any, r: Any, d: Any, stage: int, waste: Any) -> None:
    """Close the motor onto `stage` from whatever it was in the row r; state, context and row are changed.

    The flux linkage of the loop that stays closed is kept: that of the stator winding, and of every line and series
    inductance that both stages share, with the current it carried. What energy disappears went into the arcs.
    """
    m = int(d[O_BRANCHES])
    observe(t, y, waste, ob, ctx, r, d)
    stored = magnetic(y, ob, r, d)
    turn = unit(frame_angle(t, y[3 + 2 * m], ob, ctx, r))
    current = complex(ob[B_I_RE], ob[B_I_IM])
    line = line_current(ob, r)
    if r[INVERTER] > 0.0:
        line = 0.0j
    gap = complex(ob[B_LM_RE], ob[B_LM_IM])
    own = r[L1]
    before = r[OMEGA]
    old_grid = r[L_GRID]
    old_line = r[L_LINE]
    old_series = r[L_SERIES]

    fetch(r, d, stage)
    ctx[C_FED] = stage
    angle = d[O_OMEGA] * t + d[O_ANGLE]
    if r[INVERTER] > 0.0:
        angle = ctx[C_SOURCE]
    if r[OMEGA] < 0.0:
        angle = -angle
    if r[OMEGA] == 0.0:
        angle = 0.0
    if before * r[OMEGA] <= 0.0:  # the lines lead elsewhere now: what they carried is interrupted
        line = 0.0j
    ctx[C_MODE] = RUN
    ctx[C_ANGLE] = angle
    ctx[C_TIME] = t
    ctx[C_BEGAN] = t
    ctx[C_MIDDLE] = t + LAST_BIT
    factor = feed(t, y[2 + 2 * m], ctx, r, d)[0]
    shared = min(old_grid, r[L_GRID]) * factor + min(old_line, r[L_LINE])
    loop = (own + min(old_series, r[L_SERIES])) * current + gap + complex(r[A_RE], r[A_IM]) * shared * line
    turn = turn * unit(-angle)
    loop = loop * turn
    axis = complex(r[AXIS_RE], r[AXIS_IM])
    if axis != 0.0j:
        ctx[C_MODE] = TWO
        ctx[C_AXIS_RE] = axis.real
        ctx[C_AXIS_IM] = axis.imag
        loop = complex((loop * axis.conjugate()).real, 0.0)
    y[0] = loop.real
    y[1] = loop.imag
    for k in range(m):
        linked = complex(y[2 + 2 * k], y[3 + 2 * k]) * turn
        y[2 + 2 * k] = linked.real
        y[3 + 2 * k] = linked.imag
    observe(t, y, waste, ob, ctx, r, d)
    ctx[C_BROKEN] += stored - magnetic(y, ob, r, d)


@scalar
def part_poles(t: float, phase: int, y: Any, ob: Any, ctx: Any, r: Any, d: Any, waste: Any) -> None:
    """The pole of one phase opens: its line current stays zero, the flux along the other axis lives on, frame at rest.

    At a current zero nothing is lost.
    """
    m = int(d[O_BRANCHES])
    observe(t, y, waste, ob, ctx, r, d)
    stored = magnetic(y, ob, r, d)
    third = 2.0943951023931953
    ratio = complex(r[A_RE], r[A_IM])
    axis = complex(0.0, 1.0 / abs(ratio)) * ratio * unit(third * phase if phase < 2 else -third)
    turn = unit(ctx[C_ANGLE])
    ctx[C_MODE] = TWO
    ctx[C_AXIS_RE] = axis.real
    ctx[C_AXIS_IM] = axis.imag
    y[0] = (complex(y[0], y[1]) * turn * axis.conjugate()).real
    y[1] = 0.0
    for k in range(m):
        linked = complex(y[2 + 2 * k], y[3 + 2 * k]) * turn
        y[2 + 2 * k] = linked.real
        y[3 + 2 * k] = linked.imag
    observe(t, y, waste, ob, ctx, r, d)
    ctx[C_BROKEN] += stored - magnetic(y, ob, r, d)


@scalar
def part_last(t: float, y: Any, ob: Any, ctx: Any, r: Any, d: Any, waste: Any) -> None:
    """No pole conducts any more: the frame goes on with the rotor from the angle it has now.

    At a current zero nothing is lost; a forced opening loses the energy of the current it breaks.
    """
    observe(t, y, waste, ob, ctx, r, d)
    stored = magnetic(y, ob, r, d)
    ctx[C_SOURCE] = ctx[C_ANGLE]
    ctx[C_ANGLE] = ctx[C_ANGLE] if ctx[C_MODE] == RUN else 0.0
    ctx[C_MODE] = OPEN
    ctx[C_SHAFT] = y[3 + 2 * int(d[O_BRANCHES])]
    ctx[C_OPENING] = 0.0
    y[0] = 0.0
    y[1] = 0.0
    observe(t, y, waste, ob, ctx, r, d)
    ctx[C_BROKEN] += stored - magnetic(y, ob, r, d)


@scalar
def next_kink(r: Any, d: Any, since: float) -> float:
    """Next kink, after `since` s in the stage, of its laws against time; infinity when there is none."""
    found = math.inf
    for head in (LAW_V, LAW_F):
        start = int(r[head])
        for i in range(int(r[head + 1])):
            if d[start + i] > since + LAST_BIT:
                found = min(found, d[start + i])
    return found


@scalar
def clock(s: int, ctx: Any, d: Any) -> Any:
    """When the stage ends at the latest, and the reason it then has."""
    seconds = d[s + VALUE] if d[s + ENDS] == ELAPSED else d[s + TIMEOUT]
    if ctx[C_BEGIN] + seconds <= d[O_MAX_TIME]:
        return ctx[C_BEGIN] + seconds, TIMED
    return d[O_MAX_TIME], OVER


@scalar
def stop_at(t: float, s: int, ctx: Any, r: Any, d: Any) -> float:
    """The next moment a step must end at: the stage's end, a kink of a law, or the arming of a current criterion."""
    stop = clock(s, ctx, d)[0]
    if ctx[C_MODE] != OPEN:
        stop = min(stop, ctx[C_BEGAN] + next_kink(r, d, t - ctx[C_BEGAN]))
    if d[s + ENDS] == CURRENT:
        arming = ctx[C_BEGIN] + ARMED_AFTER / d[O_OMEGA]
        if t < arming - LAST_BIT:
            stop = min(stop, arming)
    return float(stop)


@scalar
def react(event: int, t: float, y: Any, ob: Any, ctx: Any, r: Any, d: Any, waste: Any) -> None:
    """What an event changes: the reason of the stage's end, the hold on the shaft, the poles."""
    m = int(d[O_BRANCHES])
    if event in (TO_SPEED, TO_CURRENT):
        ctx[C_REASON] = REACHED
    elif event == RUN_AWAY:
        ctx[C_REASON] = AWAY
    elif event == TO_REST:
        y[2 + 2 * m] = 0.0
        free(ob, ctx, d)
        if beyond_hold(ob, d) <= 0.0:
            ctx[C_SIGN] = 0.0
    elif event == LET_GO:
        free(ob, ctx, d)
    elif event == LAST_POLE:
        part_last(t, y, ob, ctx, r, d, waste)
    elif event != NONE:
        part_poles(t, event - POLE_A, y, ob, ctx, r, d, waste)


@scalar
def settled(t: float, k: Any, s: int, ctx: Any, r: Any, d: Any) -> bool:
    """Whether a stage without a clock has come to its end: speed and fluxes unchanged for QUIET seconds."""
    if d[s + ENDS] == ELAPSED or d[s + TIMEOUT] < math.inf or ctx[C_MODE] == TWO:
        return False
    if ctx[C_MODE] == RUN and next_kink(r, d, t - ctx[C_BEGAN]) < math.inf:
        return False
    m = int(d[O_BRANCHES])
    restless = abs(k[2 + 2 * m]) * d[O_INERTIA] / r[SETTLE_TORQUE]
    for i in range(2 + 2 * m):
        restless = max(restless, abs(k[i]) / d[O_VOLTAGE])
    if restless > 1.0:
        ctx[C_QUIET] = -1.0
    elif ctx[C_QUIET] < 0.0:
        ctx[C_QUIET] = t
    return bool(ctx[C_QUIET] >= 0.0 and t - ctx[C_QUIET] > QUIET)


@scalar
def keep(
    records: Any, kept: int, h: float, c: Any, dense: int, y: Any, k: Any, omega: float, omega_slope: float, ctx: Any, d: Any
) -> None:  # fmt: skip
    """Note the step just taken: whole when recording, otherwise time, size, speed and acceleration only."""
    if d[O_RECORD] == 0.0:
        at = 4 * kept
        records[at] = ctx[C_TIME]
        records[at + 1] = h
        records[at + 2] = y[dense - 2]
        records[at + 3] = k[dense - 2]
        return
    at = kept * (STEP_HEAD + 5 * dense)
    records[at + S_TIME] = ctx[C_TIME]
    records[at + S_SIZE] = h
    records[at + S_MODE] = ctx[C_MODE]
    records[at + S_SIGN] = ctx[C_SIGN]
    records[at + S_FED] = ctx[C_FED]
    records[at + S_STAGE] = ctx[C_STAGE]
    records[at + S_ANGLE] = ctx[C_ANGLE]
    records[at + S_OMEGA] = omega
    records[at + S_SLOPE] = omega_slope
    records[at + S_SHAFT] = ctx[C_SHAFT]
    records[at + S_BEGAN] = ctx[C_BEGAN]
    records[at + S_AXIS_RE] = ctx[C_AXIS_RE]
    records[at + S_AXIS_IM] = ctx[C_AXIS_IM]
    for i in range(5 * dense):
        records[at + STEP_HEAD + i] = c[i]


@scalar
def begin_stage(y: Any, ob: Any, waste: Any, marks: Any, ctx: Any, r: Any, d: Any, s: int) -> None:
    """What the begin of a stage changes: connections, or poles that start to open; its end, if that is reached already."""
    t = ctx[C_TIME]
    stage = int(ctx[C_STAGE])
    marks[stage * MARKS + M_BEGIN] = t
    ctx[C_BEGIN] = t
    ctx[C_QUIET] = -1.0
    ctx[C_FRESH] = 1.0
    ctx[C_STIFF] = 0.0
    ctx[C_LONG] = 0.0
    ctx[C_SIZE] = min(ctx[C_SIZE], FIRST)
    if d[s + CONNECTED] > 0.0:
        join(t, y, ob, ctx, r, d, stage, waste)
    elif ctx[C_MODE] != OPEN and (r[OMEGA] == 0.0 or r[INVERTER] > 0.0):  # no zeros to open at; valves block at once
        part_last(t, y, ob, ctx, r, d, waste)
    elif ctx[C_MODE] != OPEN:
        ctx[C_OPENING] = 1.0
    speed = y[2 + 2 * int(d[O_BRANCHES])]
    if d[s + ENDS] == SPEED and speed >= d[s + VALUE]:
        ctx[C_REASON] = REACHED
    if d[s + ENDS] == FALLS and speed <= d[s + VALUE]:
        ctx[C_REASON] = REACHED


@scalar
def end_stage(y: Any, ob: Any, waste: Any, marks: Any, ctx: Any, r: Any, d: Any, s: int) -> bool:
    """Whether the stage under way is over and was the last: notes why, and goes on to the next."""
    t = ctx[C_TIME]
    stage = int(ctx[C_STAGE])
    if ctx[C_REASON] == 0.0 and current_counts(t, ctx, d, s):
        observe(t, y, waste, ob, ctx, r, d)
        if below_current(t, y, ob, ctx, r, d, s) >= 0.0:
            ctx[C_REASON] = REACHED
    limit, word = clock(s, ctx, d)
    if ctx[C_REASON] == 0.0 and t >= limit - LAST_BIT:
        ctx[C_REASON] = word
    if ctx[C_REASON] == 0.0 and ctx[C_STEPS] >= MOST_STEPS:
        ctx[C_REASON] = ENDLESS
    if ctx[C_REASON] == 0.0:
        return False
    marks[stage * MARKS + M_END] = t
    marks[stage * MARKS + M_SPEED] = y[2 + 2 * int(d[O_BRANCHES])]
    marks[stage * MARKS + M_REASON] = ctx[C_REASON]
    if ctx[C_OPENING] > 0.0:  # over before the poles have parted by themselves: they are torn open
        part_last(t, y, ob, ctx, r, d, waste)
    if ctx[C_REASON] >= SETTLED_DOWN or stage == int(d[O_STAGES]) - 1:
        return True
    ctx[C_STAGE] += 1.0
    ctx[C_REASON] = 0.0
    ctx[C_BEGINS] = 1.0
    return False


@scalar
def choose(h: float, omega: float, calm_step: bool, ctx: Any) -> None:
    """Which method the next step takes: implicit after a run of explicit steps that swings of the supply no longer need."""
    if ctx[C_STIFF] > 0.0:
        if not calm_step or h * abs(omega) < TOO_SHORT:
            ctx[C_STIFF] = 0.0
            ctx[C_LONG] = 0.0
        return
    ctx[C_LONG] = ctx[C_LONG] + 1.0 if calm_step and h * abs(omega) > LONG else 0.0
    if ctx[C_LONG] >= IN_A_ROW:
        ctx[C_STIFF] = 1.0


@scalar
def stride(
    stop: float, y: Any, new: Any, work: Any, k: Any, n: int, jac: Any, lu: Any, waste: Any, ob: Any, seen: Any, inner: Any,
    c: Any, records: Any, marks: Any, ctx: Any, r: Any, d: Any, s: int,
) -> None:  # fmt: skip
    """One accepted step, no further than `stop`, with all that happens in it."""
    m = int(d[O_BRANCHES])
    dense = 4 + 2 * m
    mo = int(ctx[C_STAGE]) * MARKS
    t = ctx[C_TIME]
    mode = ctx[C_MODE]
    if ctx[C_FRESH] > 0.0:
        ctx[C_FRESH] = 0.0
        ctx[C_MIDDLE] = t + LAST_BIT
        slope(t, y, k, int(ctx[C_ZERO]), ob, ctx, r, d)
        if ctx[C_SIGN] == 0.0 and beyond_hold(ob, d) > 0.0:
            free(ob, ctx, d)
            slope(t, y, k, int(ctx[C_ZERO]), ob, ctx, r, d)
    omega = ob[B_OMEGA]
    omega_slope = ob[B_SLOPE]
    torque = ob[B_TORQUE]
    square = ob[B_I_RE] * ob[B_I_RE] + ob[B_I_IM] * ob[B_I_IM]
    h = min(ctx[C_SIZE], LONGEST)
    if ctx[C_OPENING] > 0.0:
        h = min(h, 0.25 / d[O_OMEGA])

    last = False
    event = NONE
    error = 2.0
    following = h
    while True:  # again with a smaller step when the error is too large, and once more up to an event inside
        if event == NONE:
            last = h >= (stop - t) * (1.0 - 1e-9)
            if last:
                h = stop - t
        if ctx[C_STIFF] > 0.0:
            error = stiff_step(t, h, y, new, work, k, n, dense - 1, jac, lu, ob, ctx, r, d)
        else:
            error = step(t, h, y, new, work, k, n, dense - 1, ob, ctx, r, d)
        if event != NONE:
            break
        if error > 1.0:
            h = h * max(0.2, 0.9 * error**-0.2)
            continue
        following = 5.0 * h
        if error > 1e-4:
            following = h * min(5.0, 0.9 * error**-0.2)
        if calm(y, new, ctx, d, s):
            break
        interpolant(h, y, new, k, n, dense, c, ctx)
        event = first_event(t, h, y, new, c, dense, work, waste, seen, ctx, r, d, s)
        if event == NONE:
            break
        last = False
        h = h * ctx[C_PART]
    ctx[C_STEPS] += 1.0
    look = worth_a_look(torque, square, ob, r, marks, mo)
    if look or d[O_RECORD] > 0.0:
        interpolant(h, y, new, k, n, dense, c, ctx)
    if look:
        note_peaks(t, h, c, dense, work, waste, seen, ctx, r, d, marks, mo, inner)
    keep(records, int(ctx[C_KEPT]), h, c, dense, y, k, omega, omega_slope, ctx, d)
    ctx[C_KEPT] += 1.0

    if ctx[C_MODE] != OPEN:
        ctx[C_ANGLE] += (omega + 0.5 * omega_slope * h) * h
        ctx[C_SOURCE] = ctx[C_ANGLE]
    t = stop if last else t + h
    ctx[C_TIME] = t
    for i in range(n):
        y[i] = new[i]
        k[i] = k[6 * n + i]
    ctx[C_TOP] = max(ctx[C_TOP], y[2 + 2 * m])
    ctx[C_SIZE] = following if event == NONE else max(1e-5, min(h, following))
    if not last:
        pace = omega if omega != 0.0 else ob[B_ROTOR]
        smooth = mode == RUN or (mode == TWO and omega == 0.0)
        choose(h, pace, event == NONE and smooth and ctx[C_OPENING] == 0.0, ctx)
    if event != NONE or last:
        ctx[C_FRESH] = 1.0
    if event != NONE:
        react(event, t, y, ob, ctx, r, d, waste)
    elif settled(t, k, s, ctx, r, d):
        ctx[C_REASON] = HELD if ctx[C_SIGN] == 0.0 else SETTLED_DOWN


@scalar
def advance(
    y: Any, new: Any, work: Any, k: Any, n: int, jac: Any, lu: Any, waste: Any, ob: Any, seen: Any, inner: Any, c: Any,
    records: Any, marks: Any, ctx: Any, r: Any, d: Any,
) -> bool:  # fmt: skip
    """March on to the end; True when the records are full and more room is needed to go on."""
    m = int(d[O_BRANCHES])
    width = BRANCHES + PER_BRANCH * m
    row = STEP_HEAD + 5 * (4 + 2 * m) if d[O_RECORD] > 0.0 else 4
    room_for = len(records) // row
    while ctx[C_KEPT] < room_for:
        s = int(d[O_TABLE]) + int(ctx[C_STAGE]) * width
        if ctx[C_BEGINS] > 0.0:
            ctx[C_BEGINS] = 0.0
            begin_stage(y, ob, waste, marks, ctx, r, d, s)
        stop = stop_at(ctx[C_TIME], s, ctx, r, d)
        if ctx[C_REASON] == 0.0 and stop - ctx[C_TIME] > LAST_BIT:
            stride(stop, y, new, work, k, n, jac, lu, waste, ob, seen, inner, c, records, marks, ctx, r, d, s)
        if end_stage(y, ob, waste, marks, ctx, r, d, s):
            return False
    return True


@scalar
def set_off(y: Any, ctx: Any, d: Any) -> None:
    """A dead machine at its first speed, held at rest where the load can hold it."""
    head = int(d[O_LOAD])
    speed = d[O_SPEED]
    y[2 + 2 * int(d[O_BRANCHES])] = speed
    ctx[C_MODE] = OPEN
    ctx[C_SOURCE] = d[O_ANGLE]
    ctx[C_TOP] = speed
    ctx[C_SIZE] = FIRST
    ctx[C_BEGINS] = 1.0
    ctx[C_SIGN] = -1.0 if speed < 0.0 else 1.0
    if speed == 0.0 and abs(d[head + H_PULL]) > d[head + H_HOLD]:
        ctx[C_SIGN] = -1.0 if d[head + H_PULL] > 0.0 else 1.0
    elif speed == 0.0 and d[head + H_HOLD] > 0.0:
        ctx[C_SIGN] = 0.0


def march(d: Any) -> Any:
    """One start through all its stages; gives (steps, marks, energies, answer), each a flat vector as laid out above."""
    m = int(d[O_BRANCHES])
    dense = 4 + 2 * m
    n = dense
    if d[O_BOOKS] > 0.0:
        n += E_ROTOR + m
    y = room(n)
    new = room(n)
    work = room(n)
    k = room(7 * n)
    waste = room(n)
    jac = room((n + 1) * (dense - 1) + n)
    lu = room((dense - 1) * (dense - 1))
    ob = room(OBSERVED)
    seen = room(OBSERVED)
    inner = room(21)
    ctx = room(CONTEXT)
    c = room(5 * dense)
    records = room(2048)
    marks = room(MARKS * int(d[O_STAGES]))
    answer = room(ANSWER)
    energies = room(E_ROTOR + m)
    r = room(BRANCHES + PER_BRANCH * m)
    fetch(r, d, int(ctx[C_ZERO]))
    set_off(y, ctx, d)
    while advance(y, new, work, k, n, jac, lu, waste, ob, seen, inner, c, records, marks, ctx, r, d):
        longer = room(4 * len(records))
        longer[: len(records)] = records
        records = longer
    observe(ctx[C_TIME], y, waste, ob, ctx, r, d)
    for i in range(n - dense):
        energies[i] = y[dense + i]
    answer[T_END] = ctx[C_TIME]
    answer[T_SPEED] = y[2 + 2 * m]
    answer[T_STEPS] = ctx[C_STEPS]
    answer[T_STAGES] = ctx[C_STAGE] + 1.0
    answer[T_REASON] = ctx[C_REASON]
    answer[T_INTERRUPTION] = ctx[C_BROKEN]
    answer[T_MAGNETIC] = magnetic(y, ob, r, d)
    answer[T_KINETIC] = 0.5 * d[O_INERTIA] * (y[2 + 2 * m] ** 2 - d[O_SPEED] ** 2)
    answer[T_TOP_SPEED] = ctx[C_TOP]
    answer[T_RECORDS] = ctx[C_KEPT]
    return records, marks, energies, answer


@scalar
def voltages_at_rest(t: float, shaft: float, ob: Any, ctx: Any, r: Any, d: Any, s: int) -> Any:
    """Space vector of the phase voltages, stationary frame: at the busbar while connected, else the motor's own. [V]

    Connected: equivalent source less the drop of line current in the equivalent impedance (an inverter's own output
    while it feeds). Not connected: residual voltage of the motor, star equivalent of the running connection.
    """
    turn = unit(frame_angle(t, shaft, ob, ctx, r))
    current = complex(ob[B_I_RE], ob[B_I_IM])
    rate = complex(ob[B_DI_RE], ob[B_DI_IM])
    frame = 0.0
    if ctx[C_MODE] == RUN:
        frame = ob[B_OMEGA]
    elif ctx[C_MODE] == OPEN:
        frame = ob[B_ROTOR]
    rate = rate + complex(0.0, frame) * current
    if d[s + CONNECTED] == 0.0:
        gap = complex(ob[B_LM_RE], ob[B_LM_IM])
        at_gap = complex(ob[B_DLM_RE], ob[B_DLM_IM]) + complex(0.0, frame) * gap
        return (r[R1] * current + r[L1] * rate + at_gap) * turn
    source = complex(r[U_RE], r[U_IM])
    if r[INVERTER] > 0.0:
        return source * ob[B_FACTOR] * turn
    back = complex(r[A_RE], -r[A_IM])
    squared = r[A_RE] ** 2 + r[A_IM] ** 2
    drop = back * (r[R_PATH] / squared * current + r[L_GRID] * rate)
    return (source * back / squared - drop) * turn


@scalar
def fill(
    records: Any, count: int, times: Any, y: Any, waste: Any, ob: Any, ctx: Any, r: Any, d: Any, out: Any
) -> None:  # fmt: skip
    """The samples of `sample` into out."""
    m = int(d[O_BRANCHES])
    width = BRANCHES + PER_BRANCH * m
    dense = 4 + 2 * m
    row = STEP_HEAD + 5 * dense
    table = int(d[O_TABLE])
    j = 0
    for i in range(len(times)):
        t = times[i]
        while j < count - 1 and t >= records[(j + 1) * row + S_TIME]:
            j += 1
        at = j * row
        if records[at + S_FED] != ctx[C_FED] or i == 0:
            ctx[C_FED] = records[at + S_FED]
            fetch(r, d, int(ctx[C_FED]))
        ctx[C_MODE] = records[at + S_MODE]
        ctx[C_SIGN] = records[at + S_SIGN]
        ctx[C_AXIS_RE] = records[at + S_AXIS_RE]
        ctx[C_AXIS_IM] = records[at + S_AXIS_IM]
        ctx[C_ANGLE] = records[at + S_ANGLE]
        ctx[C_TIME] = records[at + S_TIME]
        ctx[C_BEGAN] = records[at + S_BEGAN]
        ctx[C_MIDDLE] = records[at + S_TIME] + 0.5 * records[at + S_SIZE]
        ctx[C_SHAFT] = records[at + S_SHAFT]
        between(records, at + STEP_HEAD, dense, (t - records[at + S_TIME]) / records[at + S_SIZE], y)
        observe(t, y, waste, ob, ctx, r, d)
        lines = lines_at_rest(t, y[3 + 2 * m], ob, ctx, r, d)
        winding = complex(ob[B_I_RE], ob[B_I_IM]) * complex(r[WINDING_RE], r[WINDING_IM])
        winding = winding * unit(frame_angle(t, y[3 + 2 * m], ob, ctx, r))
        voltage = voltages_at_rest(t, y[3 + 2 * m], ob, ctx, r, d, table + int(records[at + S_STAGE]) * width)
        to = SAMPLE * i
        out[to + V_SPEED] = y[2 + 2 * m]
        out[to + V_TORQUE] = ob[B_TORQUE]
        out[to + V_LOAD] = ob[B_LOAD]
        for phase in range(3):
            out[to + V_LINE + phase] = phase_of(lines, phase)
            out[to + V_WINDING + phase] = phase_of(winding, phase)
            out[to + V_VOLTAGE + phase] = phase_of(voltage, phase)


def sample(records: Any, count: int, times: Any, d: Any) -> Any:
    """Speed, torque, load, line and winding currents and voltages at ascending `times`, SAMPLE numbers each."""
    m = int(d[O_BRANCHES])
    y = room(4 + 2 * m + E_ROTOR + m)
    waste = room(4 + 2 * m + E_ROTOR + m)
    out = room(SAMPLE * len(times))
    fill(records, count, times, y, waste, room(OBSERVED), room(CONTEXT), room(BRANCHES + PER_BRANCH * m), d, out)
    return out


@scalar
def rise_time(records: Any, begin: int, kept: int, speed: float, level: float) -> float:
    """When the speed last rose through `level`, from short records and the speed at the end; 0 when it never was below."""
    after = speed
    rate = 0.0
    for j in range(kept - 1, -1, -1):
        at = begin + 4 * j
        h = records[at + 1]
        before = records[at + 2]
        if before < level and after >= level:
            low = 0.0
            high = 1.0
            for _ in range(40):  # on the cubic through both ends and their slopes
                x = 0.5 * (low + high)
                here = before + x * x * (3.0 - 2.0 * x) * (after - before)
                here += h * x * (1.0 - x) * ((1.0 - x) * records[at + 3] - x * rate)
                if here < level:
                    low = x
                else:
                    high = x
            return float(records[at] + high * h)
        after = before
        rate = records[at + 3]
    return 0.0


# What a start in a batch answers.
Q_END, Q_SPEED, Q_REASON, Q_STAGES, Q_TMAX, Q_TMIN, Q_LINE, Q_WINDING, Q_TOP, Q_RISE, Q_STEPS = range(11)
QUICK = 11


@scalar
def summed(marks: Any, answer: Any, out: Any, to: int) -> None:
    """End, outcome and peaks over all stages into out[to:]."""
    out[to + Q_END] = answer[T_END]
    out[to + Q_SPEED] = answer[T_SPEED]
    out[to + Q_REASON] = answer[T_REASON]
    out[to + Q_STAGES] = answer[T_STAGES]
    out[to + Q_TOP] = answer[T_TOP_SPEED]
    out[to + Q_STEPS] = answer[T_STEPS]
    for stage in range(int(answer[T_STAGES])):
        mo = MARKS * stage
        out[to + Q_TMAX] = max(out[to + Q_TMAX], marks[mo + M_TMAX])
        out[to + Q_TMIN] = min(out[to + Q_TMIN], marks[mo + M_TMIN])
        out[to + Q_LINE] = max(out[to + Q_LINE], marks[mo + M_LINE])
        out[to + Q_WINDING] = max(out[to + Q_WINDING], marks[mo + M_WINDING])


def many(decks: Any, begins: Any, first: int, last: int, out: Any) -> None:
    """March the decks `first` to `last` - 1, which stand end to end in one vector, and put QUICK numbers each into out."""
    for i in range(first, last):
        records, marks, _, answer = march(decks[int(begins[i]) : int(begins[i + 1])])
        summed(marks, answer, out, QUICK * i)
        level = 0.99 * answer[T_SPEED]
        out[QUICK * i + Q_RISE] = rise_time(records, 0, int(answer[T_RECORDS]), answer[T_SPEED], level)
