"""The folder of a problem sheet: questions, keys, answers, form, and files for learning platforms; whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from slipwise.present.export import whole_folder
from slipwise.teach.sheet import Paper, Sheet
from slipwise.teach.sheet_pdf import keys, questions
from slipwise.teach.sheet_tables import answers_csv, answers_json, form_csv


def write_sheet(
    sheet: Sheet,
    chosen: Sequence[Paper],
    folder: Path,
    *,
    each: bool = False,
    qti: Sequence[str] = ("2.1", "2.2"),
    progress: Callable[[str, float | None], None] | None = None,
) -> Path:
    """Writes questions.pdf, keys.pdf, answers.csv, answers.json, answer_form.csv, and one qti_*.zip a version.

    Args:
        sheet: with its papers `chosen`, one a student.
        folder: to be made; one that exists is replaced only if slipwise made it and nothing was added since.
        each: also one PDF a student, in the folders questions and keys.
        qti: versions of the exchange format; empty for none.
        progress: told what is being written, and the share done.

    Raises:
        InputError: `folder` cannot be written, is not ours, or holds other files.
        ValueError: an unknown version of QTI.
    """
    tell = progress or (lambda _words, _share: None)
    with whole_folder(folder) as fresh:
        tell("questions", None)
        (fresh / "questions.pdf").write_bytes(questions(sheet, chosen))
        tell("keys", None)
        (fresh / "keys.pdf").write_bytes(keys(sheet, chosen))
        if each:
            _each(sheet, chosen, fresh, tell)
        tell("answers", None)
        for name, text in (
            ("answers.csv", answers_csv(sheet, chosen)),
            ("answers.json", answers_json(sheet, chosen)),
            ("answer_form.csv", form_csv(chosen)),
        ):
            (fresh / name).write_text(text, encoding="utf-8", newline="\n")
        _qti(sheet, chosen, fresh, qti, tell)
    return folder


def _each(sheet: Sheet, chosen: Sequence[Paper], fresh: Path, tell: Callable[[str, float | None], None]) -> None:
    for kind, made in (("questions", questions), ("keys", keys)):
        (fresh / kind).mkdir()
        for number, paper in enumerate(chosen):
            tell(f"{kind}: {paper.student.key}", number / len(chosen))
            (fresh / kind / f"{paper.student.key}.pdf").write_bytes(made(sheet, [paper]))


def _qti(
    sheet: Sheet,
    chosen: Sequence[Paper],
    fresh: Path,
    versions: Sequence[str],
    tell: Callable[[str, float | None], None],
) -> None:
    if not versions:
        return
    from slipwise.teach.qti import package

    for version in versions:
        tell(f"QTI {version}", None)
        (fresh / f"qti_{version.replace('.', '_')}.zip").write_bytes(package(sheet, chosen, version))
