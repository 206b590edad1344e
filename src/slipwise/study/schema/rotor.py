"""`[motor.bars]` and `[motor.saturation]`: current displacement in the rotor, and iron that saturates."""

from __future__ import annotations

from typing import Annotated

from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Quantity, Section, Word


class BarsSection(Section):
    """Rectangular rotor bars, in which current is displaced; R2 and X2 of `[motor.circuit]` then hold when running."""

    depth: Annotated[Parsed, Quantity("Radial depth of a bar.", '"38 mm"', unit="m", above=0.0, high=0.5)]
    width: Annotated[Parsed | None, Quantity("Width of a bar.", '"5 mm"', unit="m", above=0.0, high=0.2)] = None
    slot_width: Annotated[
        Parsed | None,
        Quantity("Width of its slot; that of the bar when not given.", '"5.5 mm"', unit="m", above=0.0, high=0.2),
    ] = None
    material: Annotated[str | None, Word("Metal of the bars.", '"copper"', words=("copper", "aluminium"))] = None
    temperature: Annotated[
        Parsed | None,
        Quantity(
            "Temperature of the bars; that of R2 when not given.", '"75 degC"', unit="degC", low=-60.0, high=400.0
        ),
    ] = None
    share: Annotated[
        Parsed | None,
        Quantity(
            "Part of R2 that is in the bars, the rest being in the rings.", '"70 %"', unit="pu", above=0.0, high=1.0
        ),
    ] = None


class SaturationSection(Section):
    """Iron that saturates: leakage paths at high current, the main path at high voltage."""

    leakage_knee: Annotated[
        Parsed | None,
        Quantity(
            "Line current, rms, above which leakage paths saturate, or its ratio to rated; X1 and X2 hold below it.",
            "2.0",
            unit=("pu", "A"),
            above=0.0,
            bare_high=10.0,
        ),
    ] = None
    stator_share: Annotated[
        Parsed | None, Quantity("Part of X1 that saturates.", '"40 %"', unit="pu", low=0.0, high=1.0)
    ] = None
    rotor_share: Annotated[
        Parsed | None, Quantity("Part of each rotor reactance that saturates.", '"50 %"', unit="pu", low=0.0, high=1.0)
    ] = None
    leakage_floor: Annotated[
        Parsed | None,
        Quantity("Slope left in the saturating part far above the knee.", '"10 %"', unit="pu", low=0.0, high=1.0),
    ] = None
    main_unsaturated: Annotated[
        Parsed | None,
        Quantity("Xm at little flux, of Xm at rated voltage.", "1.3", unit="", low=1.0, high=5.0, bare_high=5.0),
    ] = None
    main_exponent: Annotated[
        Parsed | None, Quantity("How sharp the knee of the main path is.", "7", unit="", low=1.0, high=20.0)
    ] = None
