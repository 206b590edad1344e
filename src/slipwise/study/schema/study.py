"""The whole study file as one model of validation: a section of the file is a field of it."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, create_model

from slipwise.study.schema.disturbance import DisturbanceSection
from slipwise.study.schema.fields import Line, Section
from slipwise.study.schema.group import GroupSection
from slipwise.study.schema.load import LoadSection
from slipwise.study.schema.motor import MotorSection
from slipwise.study.schema.protection import ProtectionSection
from slipwise.study.schema.speed import speed_section, tariff_section
from slipwise.study.schema.starting import LimitsSection, TolerancesSection, starting_section
from slipwise.study.schema.stopping import stopping_section
from slipwise.study.schema.supply import SupplySection
from slipwise.study.schema.thermal import ThermalSection


class StudySections(Section):
    """A study: one motor, one load, one supply, and the ways of starting to be compared."""

    title: Annotated[str | None, Line("What the study is about.", '"Raw-water pump P3"')] = None
    motor: MotorSection = Field(description="The motor.")
    load: LoadSection = Field(description="The driven machine.")
    supply: SupplySection = Field(description="The way from the network or generator to the motor's terminals.")
    limits: LimitsSection = Field(default=LimitsSection(), description="Limits beside those of the busbars.")
    tolerances: TolerancesSection = Field(default=TolerancesSection(), description="What the worst case takes off.")
    thermal: ThermalSection | None = Field(default=None, description="How the motor warms; duties to be judged.")
    group: GroupSection | None = Field(default=None, description="Several motors on this supply path.")
    disturbance: tuple[DisturbanceSection, ...] = Field(
        default=(), max_length=20, description="What is wrong with the supply."
    )
    protection: ProtectionSection | None = Field(
        default=None, description="Relay, trips and switchgear as they are; what is left out is proposed."
    )


class MotorFile(BaseModel):
    """The motor of a file, whatever else stands in it."""

    model_config = ConfigDict(frozen=True, arbitrary_types_allowed=True)

    motor: MotorSection = Field(description="The motor.")


@cache
def study_file() -> type[StudySections]:
    """The model of a study file, with `[starting]`, `[speed]` and `[stopping]` as the ways on offer make them."""
    section, speed, tariff = starting_section(), speed_section(), tariff_section()
    fields: dict[str, Any] = {
        "starting": (section, Field(default=section(), description="The ways of starting to be compared.")),
        "speed": (speed | None, Field(default=None, description="The ways of speed control to be compared.")),
        "stopping": (
            stopping_section() | None,
            Field(default=None, description="The ways of stopping to be compared."),
        ),
        "tariff": (tariff | None, Field(default=None, description="What energy and each way cost.")),
    }
    return create_model("StudyFile", __base__=StudySections, __doc__=StudySections.__doc__, **fields)
