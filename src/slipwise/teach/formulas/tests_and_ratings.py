"""Bench tests reduced, and ratings for duties other than continuous."""

from __future__ import annotations

from slipwise.identify.bench import formulas as bench
from slipwise.model.machine.formulas import RATED_SLIP, RATED_TORQUE
from slipwise.model.thermal.ratings import INTERMITTENT, SHORT_TIME
from slipwise.study.speed.explain import COST, PAYBACK, TOTAL
from slipwise.teach.formulas.build import CHAPMAN, DUBEY_RATING, PRACTICE, formula

BENCH = (
    bench.TERMINALS,
    formula("bench.star_phase", "Stator resistance of a phase, star", "R1 = R_t / 2", CHAPMAN, "two phases in series"),
    formula("bench.mean_current", "Mean of three currents", "I_av = (I_a + I_b + I_c) / 3", "definition", "nearly balanced"),
    formula("bench.two_wattmeters", "Power by two wattmeters", "P = P_a + P_b", "three-wire circuit", "any load, no neutral"),
    formula("bench.wattmeter_angle", "Tangent of the angle by two wattmeters",
            "tan_phi = sqrt(3) * (P_a - P_b) / (P_a + P_b)", "three-wire circuit", "balanced, sinusoidal"),
    bench.NO_LOAD_R1,
    bench.STATOR_LOSS,
    bench.CONSTANT_LOSS,
    bench.NO_LOAD_Z,
    bench.NO_LOAD_R,
    bench.NO_LOAD_X,
    bench.LOCKED_R,
    bench.LOCKED_Z,
    bench.LOCKED_X,
    bench.SHARE_OF_FREQUENCY,
    bench.LOCKED_X_RATED,
    bench.SHORT_R2,
    bench.SHORT_X2,
    bench.SHORT_XSUM,
    bench.SHORT_XM,
    bench.SERIES_X2,
    bench.SERIES_X1,
    bench.SERIES_XM,
    bench.SERIES_R2,
    formula("bench.locked_torque", "Torque at standstill from the locked-rotor test", "T_l = (P_k - 3 * I_k**2 * R1) / omega_s",
            CHAPMAN, "core loss neglected; at the voltage of the test"),
    formula("bench.retardation_inertia", "Inertia from coasting down", "J = P_fw / (omega * alpha)", PRACTICE,
            "alpha: retardation on passing omega, supply off; P_fw: friction and windage there", alpha="rad/s2"),
    formula("bench.load_slip", "Slip in the load test", "s = (omega_s - omega) / omega_s", CHAPMAN, "speed by tachometer"),
)  # fmt: skip
DUTY = (
    RATED_TORQUE,
    RATED_SLIP,
    SHORT_TIME,
    formula("duty.continuous", "Continuous power of a short-time rating",
            "P_S1 = P_S2 / sqrt((1 + a) / (1 - exp(-t_on / tau)) - a)", DUBEY_RATING,
            "one body, cold at the beginning, full cooling before the next time"),
    formula("duty.loss_share", "Constant over variable loss from the load of best efficiency", "a = y**2", DUBEY_RATING,
            "y: load of highest efficiency over rated"),
    INTERMITTENT,
    formula("duty.on_share", "Cyclic duration factor", "e = t_on / (t_on + t_off)", "IEC 60034-1 (from memory)", "duty S3"),
    formula("duty.equivalent_torque", "Equivalent torque of three parts of a cycle",
            "T_eq = sqrt((T_1**2 * t_1 + T_2**2 * t_2 + T_3**2 * t_3) / (t_1 + t_2 + t_3))", DUBEY_RATING,
            "constant flux and cooling, cycle short against the time constant"),
    formula("duty.equivalent_power", "Equivalent power of two parts of a cycle",
            "P_eq = sqrt((P_1**2 * t_1 + P_2**2 * t_2) / (t_1 + t_2))", DUBEY_RATING,
            "speed nearly constant, cycle short against the time constant"),
    formula("duty.highest_rise", "Highest rise of a two-level cycle from the lowest",
            "theta_h = theta_0 + (theta_l - theta_0) * exp(t_off / tau)", DUBEY_RATING, "one body, the cycle settled"),
    formula("duty.steady_rise", "Steady rise of the high level",
            "theta_s = (theta_h - theta_l * exp(-t_on / tau)) / (1 - exp(-t_on / tau))", DUBEY_RATING,
            "one body, the cycle settled"),
    COST,
    TOTAL,
    PAYBACK,
)  # fmt: skip
