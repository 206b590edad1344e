"""The bodies that the endpoints take, every part of them bounded."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

LONGEST_TEXT = 200_000  # characters of a study
MOST_EDITS, MOST_FILES = 64, 16
_PART = re.compile(r"([A-Za-z0-9_-]+)((?:\[[0-9]{1,4}\])*)\Z")


def _encodable(text: str) -> str:
    """Refuses half a surrogate pair, which no file can hold."""
    if not text.isascii():
        try:
            text.encode("utf-8")
        except UnicodeEncodeError:
            raise ValueError("it holds half a character") from None
    return text


def _path(text: str) -> str:
    if not all(_PART.match(part) for part in text.split(".")):
        raise ValueError("a path is written as in supply.path[2].rating")
    return text


Text = Annotated[str, Field(max_length=LONGEST_TEXT), AfterValidator(_encodable)]
Short = Annotated[str, Field(max_length=120), AfterValidator(_encodable)]
Key = Annotated[str, Field(max_length=60, pattern=r"^[a-z0-9_]+$")]
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e12, le=1e12)]
Lettering = Annotated[Number, Field(ge=1, le=2)]
Setting = Annotated[Number | Short, Field(union_mode="left_to_right")]


class Body(BaseModel):
    """What all bodies share: unknown keys are refused, nothing is converted silently."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    def plain(self) -> dict[str, Any]:
        """As plain data, to be handed on."""
        return self.model_dump()


class Edit(Body):
    """One value written into the study. value: as typed, "40 kW"; null takes the key out. along: what belongs to it on the
    plate is moved with it; kept: paths of values that should rather stay. emptied: of a key taken out, its table goes too
    when nothing is left in it."""

    path: Annotated[str, Field(max_length=200), AfterValidator(_path)]
    value: Annotated[str, Field(max_length=4000), AfterValidator(_encodable)] | None
    along: bool = False
    kept: Annotated[list[Annotated[str, Field(max_length=200), AfterValidator(_path)]], Field(max_length=8)] = []
    emptied: bool = False


Base64 = Annotated[str, Field(max_length=33_000_000, pattern=r"^[A-Za-z0-9+/\r\n]*={0,2}$")]


class Companion(Body):
    """A file that the study names, by its plain name. base64: its content; sha256 alone is enough while the content is still
    kept from an earlier request, else the answer names `files.base64` as the field that is missing."""

    name: Annotated[
        str, Field(max_length=120, min_length=1, pattern=r"^[^/\\:\x00-\x1f\x7f]+$"), AfterValidator(_encodable)
    ]
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] | None = None
    base64: Base64 | None = None


class State(Body):
    """A study: its text, edits to be made in it first, and the files that it names."""

    text: Text
    edits: Annotated[list[Edit], Field(max_length=MOST_EDITS)] = []
    files: Annotated[list[Companion], Field(max_length=MOST_FILES)] = []


class Held(State):
    """A study, and settings that stand in place of a design, in SI by way and key."""

    held: Annotated[dict[Key, Annotated[dict[Key, Setting], Field(max_length=30)]], Field(max_length=30)] = {}


class Steady(Held):
    """Curves of all ways. points: on each curve; currents: those in the motor's leads and windings too; fields: as /fields."""

    points: Annotated[int, Field(ge=21, le=801)] = 121
    currents: bool = False
    fields: bool = False


class Judge(State):
    """Every way judged. transients: with the electrical transient; whole: also how far the best ways carry."""

    transients: bool = False
    whole: bool = False


class Start(Held):
    """One start in time. angle_deg: of switching, for the transient; points: of the transient at most; quick: good to about
    0.1 %, for while a slider moves."""

    way: Key
    case: Literal["nominal", "worst", "strong"] = "nominal"
    transient: bool = False
    angle_deg: Annotated[Number, Field(ge=-360, le=360)] = 0.0
    points: Annotated[int, Field(ge=200, le=20_000)] = 4000
    quick: bool = False


class Circuit(Held):
    """A power circuit. stage: whose contacts are closed; null draws it at rest. lettering: by which the type is enlarged."""

    way: Key
    stage: Short | None = None
    lettering: Lettering = 1.0


class Explain(State):
    """One number, or all whose names begin so."""

    name: Annotated[str, Field(max_length=200, min_length=1), AfterValidator(_encodable)]


class Upload(Body):
    """One file of a recording. Its name tells the kind only."""

    name: Annotated[str, Field(max_length=200, min_length=1), AfterValidator(_encodable)]
    base64: Base64


class Identify(State):
    """A motor from what the text says of it. recording: taken in place of the one it names, whatever it is called."""

    recording: Annotated[list[Upload], Field(max_length=2)] = []


class Export(State):
    """A file to be taken home. key: of the figure or table; the name of the study file, for the study with its files; else
    empty. lettering: as for a circuit."""

    what: Literal["figure", "table", "curves", "report", "results", "circuit", "study"]
    key: Annotated[str, Field(max_length=200), AfterValidator(_encodable)] = ""
    format: Literal["svg", "png", "pdf", "csv", "json", "zip"] = "svg"
    mode: Literal["light", "dark"] = "light"
    size: Literal["projector", "print"] = "projector"
    lettering: Lettering = 1.0
    transients: bool = False
