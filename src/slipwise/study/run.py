"""Run a study: every way asked for, judged and compared, one of them recommended."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial

from slipwise import __version__
from slipwise.limits.heat import assumed_stall
from slipwise.methods.way import StartingWay
from slipwise.results.criteria import Recommendation
from slipwise.results.ranking import Ranking
from slipwise.results.study import SCHEMA_VERSION, StudyResult
from slipwise.study.boundary import boundary
from slipwise.study.cases import cases_of
from slipwise.study.cautions import cautions_for
from slipwise.study.disturbance.run import disturbances
from slipwise.study.duty import duty_of
from slipwise.study.explain import explain_motor
from slipwise.study.group.explain import explain_group
from slipwise.study.group.run import run_group_study
from slipwise.study.model import Study
from slipwise.study.one_way import Answer, answer, way_of
from slipwise.study.protection.explain import explain_protection
from slipwise.study.ranking import ranking
from slipwise.study.rated import rated_values
from slipwise.study.speed.explain import explain_speed
from slipwise.study.speed.run import run_speed
from slipwise.study.stopping.run import run_stopping
from slipwise.study.thermal.explain import explain_heat
from slipwise.study.thermal.motor import motor_heat
from slipwise.study.thermal.way import with_heat
from slipwise.study.verdict import recommend

Progress = Callable[[str, float], None]
MEMBERS = 24  # motors that agree with the plate, over which a verdict is looked at
NOTHING_ASKED = Recommendation(way=None, runner_up=None, reason="No way of starting was asked for.", order=())


def run(
    study: Study,
    *,
    transients: bool = True,
    boundaries: bool = True,
    ensemble: int = MEMBERS,
    progress: Progress | None = None,
) -> StudyResult:
    """The whole answer to a study.

    Args:
        study: as the reader builds it.
        transients: also compute the electrical transient of each way, as a band over the switching angle.
        boundaries: also find how far the recommended way and its runner-up carry.
        ensemble: judge them too with this many motors that agree with the plate; 0 leaves it out, and so does a motor
            that was not fitted to a plate.
        progress: called with what is being done and the share that is done (0 to 1).

    Speed control is computed where the study has a duty. A way that this motor cannot have does not apply; a setting that
    cannot stand fails; each with its reason.

    Raises:
        InputError: a way has an unknown name.
    """
    tell = progress or (lambda _words, _share: None)
    study = _with_assumed(study)
    steps = len(study.ways) + boundaries + bool(ensemble)
    answers = _answers(study, transients, tell, steps)
    note = partial(_share, tell, len(study.ways) / steps if steps else 1.0)
    ways = tuple(with_heat(study, found.result, note) for found in answers.values())
    chosen = recommend(ways, study.order) if study.ways else NOTHING_ASKED
    group = run_group_study(study, lambda words: note(f"group: {words}"))
    speed = run_speed(study, ways, lambda words, _share: note(words))
    best = _best(answers, chosen)
    edges = tuple(boundary(study, way, note) for way in best) if boundaries else ()
    starts = tuple(sorted(ways, key=lambda way: way.key != chosen.way))
    stopping, stop_words = run_stopping(study, starts, lambda words, _share: note(words), transients=transients)
    disturbed, disturbed_words = disturbances(study, transients=transients, note=note)
    verdicts = _ranking(study, best, ensemble, note)
    tell("explaining the numbers", 1.0)
    rating = study.motor.rating
    duty, duty_note = duty_of(study)
    return StudyResult(
        title=study.title,
        slipwise_version=__version__,
        schema_version=SCHEMA_VERSION,
        inputs=study.inputs,
        rated=rated_values(study),
        plate=study.plate,
        ways=ways,
        recommendation=chosen,
        cautions=cautions_for(study),
        explanations=(
            *explain_motor(study),
            *(row for found in answers.values() for row in found.explanations),
            *(() if speed is None else explain_speed(study, speed)),
            *explain_heat(study, ways),
            *explain_group(study, group),
            *stop_words,
            *explain_protection(study, ways),
            *disturbed_words,
        ),
        synchronous_speed=rating.synchronous_speed,
        rated_torque=rating.torque,
        rated_current=rating.current,
        file=study.file.name if study.file is not None else "",
        boundaries=edges,
        duty=duty,
        duty_note=duty_note,
        ranking=verdicts,
        speed=speed,
        heat=motor_heat(study),
        stopping=stopping,
        disturbances=disturbed,
        group=group,
    )


def _with_assumed(study: Study) -> Study:
    """The study with what the criteria assume in the list of what was not given."""
    stall = assumed_stall(study.motor.stall)
    return study if stall is None else replace(study, inputs=(*study.inputs, stall))


def _answers(study: Study, transients: bool, tell: Progress, steps: int) -> dict[str, Answer]:
    cases = cases_of(study)
    found = {}
    for place, request in enumerate(study.ways):
        tell(way_of(request.key).title, place / steps)
        share = partial(_share, tell, place / steps)
        found[request.key] = answer(study, cases, request, transients, share)
    return found


def _share(tell: Progress, share: float, words: str) -> None:
    tell(words, share)


def _best(answers: Mapping[str, Answer], chosen: Recommendation) -> list[StartingWay]:
    """The recommended way and the runner-up, as designed."""
    keys = (chosen.way, chosen.runner_up)
    ways = (answers[key].way for key in keys if key is not None)
    return [way for way in ways if way is not None]


def _ranking(study: Study, ways: list[StartingWay], members: int, note: Callable[[str], None]) -> Ranking | None:
    """The verdict over motors that agree with the plate; None without a plate, a way, or the wish."""
    if not members or not ways or study.nameplate is None:
        return None
    from slipwise.identify.ensemble import draw

    note("motors that agree with the plate")
    return ranking(study, ways, draw(study.nameplate, members), note)
