"""What a computing process of the desk does: each task from plain arguments to the bytes of its answer, with the same library
calls as the command line."""

from __future__ import annotations

import gc
import json
import threading
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from importlib import import_module
from typing import Any

from slipwise.doors.desk.edits import checked_text, moved_along
from slipwise.doors.desk.messages import encode
from slipwise.doors.desk.studies import start_studies
from slipwise.doors.desk.uploads import Files, files_of, motor_with
from slipwise.quantity.errors import InputError
from slipwise.results.study import StudyResult
from slipwise.study.model import Study

Tell = Callable[[str, float | None], None]
Arguments = Mapping[str, Any]
STUDIES, RESULTS = 64, 6  # kept in one process: pure answers to texts, nothing of who asked


def prepare() -> None:
    """Loads what the first task would wait for."""
    for name in ("doors.desk.forms", "doors.desk.view_steady", "study.picture", "study.reader"):
        import_module(f"slipwise.{name}")
    _study(start_studies()[0]["text"], Files())  # what a first study loads, before it is asked for
    gc.collect()
    gc.freeze()  # what is loaded stays loaded: no need to look through it again and again
    gc.set_threshold(20_000, 20, 50)


def perform(task: bytes, tell: Tell) -> bytes:
    """One task from its message.

    Raises:
        InputError: the study, or what is asked of it; with the text after edits as `text`.
    """
    asked = json.loads(task)
    return TASKS[asked["task"]](asked["arguments"], tell)


class TextError(InputError):
    """An InputError that brings the text after edits along, so that nothing typed is lost."""

    text: str = ""

    @classmethod
    def with_text(cls, error: InputError, text: str) -> TextError:
        made = cls(*error.faults)
        made.text = text
        return made


def read(arguments: Arguments) -> tuple[str, Study]:
    """The text after edits, and the study in it."""
    text, wrong = checked_text(arguments["text"], arguments["edits"])
    if wrong is not None:
        raise TextError.with_text(wrong, text)
    try:
        return text, _study(text, files_of(arguments["files"]))
    except InputError as error:
        raise TextError.with_text(error, text) from None


@lru_cache(maxsize=STUDIES)
def _study(text: str, files: Files) -> Study:
    from slipwise.study.reader import loads

    return loads(text, files=files.contents)


def ready(_arguments: Arguments, _tell: Tell) -> bytes:
    """Nothing; the answer says that the process has loaded."""
    return b"{}"


def fields(arguments: Arguments, _tell: Tell) -> bytes:
    """The fields; those of a text with mistakes too, with the faults beside them."""
    from slipwise.doors.desk.forms import form
    from slipwise.doors.desk.messages import fault_dict

    faults: list[dict[str, Any]] = []
    try:
        text, study = read(arguments)
        title, inputs = study.title, study.inputs
    except TextError as error:
        text, title, inputs = error.text, "", ()
        faults = [fault_dict(fault) for fault in error.faults]
    moved = moved_along(arguments["text"], text, arguments["edits"])
    return encode({"text": text, "title": title, "faults": faults, "moved": moved, **form(text, inputs)})


def steady(arguments: Arguments, _tell: Tell) -> bytes:
    """Curves of all ways."""
    from slipwise.doors.desk.forms import form
    from slipwise.doors.desk.view_steady import CURRENTS, steady_dict
    from slipwise.study.picture import picture

    text, study = read(arguments)
    try:
        found = picture(study, held=arguments["held"], points=arguments["points"])
    except InputError as error:
        raise TextError.with_text(error, text) from None
    currents = CURRENTS if arguments["currents"] else CURRENTS[:1]
    fields = form(text, study.inputs) if arguments["fields"] else {}
    moved = moved_along(arguments["text"], text, arguments["edits"])
    return encode({"text": text, "moved": moved, **steady_dict(study, found, currents), **fields})


def computed(arguments: Arguments, tell: Tell, *, transients: bool, whole: bool = False) -> tuple[str, StudyResult]:
    """The text after edits and the whole answer to it, kept for what is asked of it next."""
    text, study = read(arguments)
    files = files_of(arguments["files"]).key
    for key in ((text, files, transients, whole), (text, files, True, True)):
        if key in _RESULTS:
            _RESULTS[key] = _RESULTS.pop(key)
            return text, _RESULTS[key]
    from slipwise.study.run import MEMBERS, run

    members = MEMBERS if whole else 0
    try:
        result = run(study, transients=transients, boundaries=whole, ensemble=members, progress=tell)
    except InputError as error:
        raise TextError.with_text(error, text) from None
    _RESULTS[(text, files, transients, whole)] = result
    while len(_RESULTS) > RESULTS:
        del _RESULTS[next(iter(_RESULTS))]
    return text, result


_RESULTS: dict[tuple[Any, ...], StudyResult] = {}  # by text, files, and what was asked


def judge(arguments: Arguments, tell: Tell) -> bytes:
    """Every way judged."""
    from slipwise.doors.desk.view_study import study_dict

    text, result = computed(arguments, tell, transients=arguments["transients"], whole=arguments["whole"])
    return encode({"text": text, **study_dict(result)})


def explain(arguments: Arguments, tell: Tell) -> bytes:
    """The numbers of that name, or whose names begin so."""
    from slipwise.doors.desk.view_study import explanation_dict

    name = arguments["name"]
    text, result = computed(arguments, tell, transients=False)
    found = [item for item in result.explanations if item.name == name]
    found = found or [item for item in result.explanations if item.name.startswith(name)]
    if not found:
        raise InputError.of("name", name, "no number of this study has this name", "take one that /judge lists")
    return encode({"text": text, "items": [explanation_dict(item) for item in found[:60]]})


def start(arguments: Arguments, _tell: Tell) -> bytes:
    """One start of one way in one case, in time."""
    from math import radians

    from slipwise.doors.desk.view_start import start_dict
    from slipwise.solve.transient import transient as march
    from slipwise.study.cases import NOMINAL, cases_of
    from slipwise.study.load_cases import each_load, heaviest
    from slipwise.study.picture import designed

    text, study = read(arguments)
    state = each_load(study)[heaviest(study)]
    case = cases_of(state)[arguments["case"]]
    way = designed(study, arguments["way"], arguments["held"])
    plan = way.stages(case.drive)
    run_up = case.run_up(plan, quick=arguments["quick"])
    transient = None
    if arguments["transient"]:
        if arguments["case"] != NOMINAL:
            raise InputError.of("case", arguments["case"], "a transient is that of the nominal case", "ask for nominal")
        transient = march(plan, case.drive, switching_angle=radians(arguments["angle_deg"]))
        _compile_soon()
    rating = study.motor.rating
    scales = (rating.synchronous_speed, rating.torque, rating.current)
    return encode(
        {"text": text, "way": way.key, "title": way.title, **start_dict(run_up, transient, scales, arguments["points"])}
    )


@cache
def _compile_soon() -> None:
    """Loads the compiled solver beside the work, so that the next transient finds it."""
    from slipwise.solve.transient.engine import kernel

    threading.Thread(target=kernel, args=("compiled",), daemon=True).start()


def circuit(arguments: Arguments, _tell: Tell) -> bytes:
    """The power circuit of a way as SVG."""
    from slipwise.present.diagrams import diagram
    from slipwise.study.picture import designed

    _, study = read(arguments)
    return diagram(
        designed(study, arguments["way"], arguments["held"]).wiring(), arguments["stage"], arguments["lettering"]
    )


def identify(arguments: Arguments, tell: Tell) -> bytes:
    """A motor from its plate, its readings or a recording."""
    from slipwise.doors.desk.view_identify import identified_dict

    text, wrong = checked_text(arguments["text"], arguments["edits"])
    if wrong is not None:
        raise TextError.with_text(wrong, text)
    tell("reading", None)
    try:
        built = motor_with(text, arguments["recording"], files_of(arguments["files"]))
        return encode({"text": text, **identified_dict(built, text, tell)})
    except InputError as error:
        raise TextError.with_text(error, text) from None


def export(arguments: Arguments, tell: Tell) -> bytes:
    """A file to be taken home."""
    from slipwise.doors.desk.takeaway import bundle, made

    if arguments["what"] == "study":
        text, _ = checked_text(arguments["text"], arguments["edits"])
        return encode(bundle(text, arguments["key"], files_of(arguments["files"]).contents))
    whole = arguments["what"] in {"report", "results"}
    _, result = computed(arguments, tell, transients=arguments["transients"], whole=whole)
    return encode(made(result, arguments, tell))


TASKS: Mapping[str, Callable[[Arguments, Tell], bytes]] = {
    task.__name__: task for task in (ready, fields, steady, judge, explain, start, circuit, identify, export)
}
