"""The command line: parse, hand over, say what went wrong in one paragraph, return an exit code.

Commands are named by import path, so that `slipwise --help` loads none of them.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from enum import IntEnum

from cyclopts import App, CycloptsError, Parameter

from slipwise import __version__
from slipwise.quantity.errors import InputError

TRACE = "SLIPWISE_TRACE"  # set to 1: a fault of ours is shown with its traceback


class Exit(IntEnum):
    """Exit codes. The verdict stands in the data; only --strict turns a failing one into a code."""

    COMPUTED = 0
    OUR_FAULT = 1
    BAD_INPUT = 2
    FAILING_VERDICT = 3
    INTERRUPTED = 130


COMMANDS = (
    ("study", "Everything: judge every way of starting and of speed control, write tables, curves, report and data."),
    ("start", "Judge every way of starting; the answer in the terminal only."),
    ("speed", "Judge every way of speed control over a year's duty; the answer in the terminal only."),
    ("stop", "Judge every way of stopping; the answer in the terminal only."),
    ("curves", "Torque and current against speed, per way and stage, to CSV and figures."),
    ("point", "Speed, torque, current, power factor, efficiency at given speeds, slips or load torques."),
    (
        "identify",
        "A motor from its plate or from bench readings: against the model, and the lines to paste into a file.",
    ),
    (
        "commission",
        "A recorded start laid over what a study predicted: deviations, and settings found against proposed.",
    ),
    ("settings", "The sheet for the panel: every dial of a way with its value, and what to expect at the first start."),
    ("explain", "Any number of a study: which formula, which inputs, which source."),
    ("teach", "For lecture, laboratory and exam: formulas, worked steps and what holds for the motor at hand."),
    ("desk", "The local web page on which a motor, a load and a supply are tried out."),
    ("export", "Render a saved study.json again in another format, without computing anything."),
    ("schema", "The JSON Schema of the study file or of the results."),
)


def application() -> App:
    """The command-line application; every command is loaded only when called."""
    app = App(
        name="slipwise",
        help="Starting and speed control of three-phase induction motors: which way brings the load up to speed and holds "
        "the speeds it needs, what the supply, the motor and the shaft see meanwhile, and which limit binds.",
        help_epilogue="Exit codes: 0 computed, 2 bad input, 1 our fault; with --strict, 3 when no way passes.",
        version=__version__,
        version_flags=["--version"],
        print_error=False,
        exit_on_error=False,
        suppress_keyboard_interrupt=False,
        result_action="return_value",
        default_parameter=Parameter(negative=(), show_default=False),
    )
    for order, (name, summary) in enumerate(COMMANDS):
        app.command(f"slipwise.doors.cli.{name}:{name}", name=name, help=summary, sort_key=order)
    return app


def main(words: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code. words: the arguments; those of the process when None."""
    try:
        code = application()(words)
        sys.stdout.flush()
        return int(code or Exit.COMPUTED)
    except InputError as error:
        say(*(str(fault) for fault in error.faults))
        return Exit.BAD_INPUT
    except CycloptsError as error:
        say(f"slipwise: {error}", "Try slipwise --help, or slipwise COMMAND --help.")
        return Exit.BAD_INPUT
    except BrokenPipeError:  # the reader of a pipe had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.COMPUTED
    except KeyboardInterrupt:
        say("slipwise: interrupted; nothing was written.")
        return Exit.INTERRUPTED
    except Exception as error:
        return our_fault(error)


def say(*paragraphs: str) -> None:
    """One paragraph each on the standard error stream, plain text."""
    sys.stderr.write("\n\n".join(paragraphs) + "\n")


def our_fault(error: Exception) -> int:
    """Says briefly that slipwise itself failed, or its installation, and what to do; the traceback only when asked for."""
    if os.environ.get(TRACE):
        raise error
    where = error.__traceback__
    while where is not None and where.tb_next is not None:
        where = where.tb_next
    place = f" at {where.tb_frame.f_globals.get('__name__')}:{where.tb_lineno}" if where else ""
    if isinstance(error, ImportError):
        say(
            f"slipwise {__version__}: the installation is broken: {type(error).__name__}: {error}{place}. Your file is not the "
            "reason. Install slipwise again, with everything it needs, into a fresh environment."
        )
        return Exit.OUR_FAULT
    say(
        f"slipwise {__version__} failed on input it should handle: {type(error).__name__}: {error}{place}. "
        f"This is a fault of slipwise, not of your file. Please report it with the study file and the output of the same "
        f"command with {TRACE}=1 set."
    )
    return Exit.OUR_FAULT


def entry() -> None:
    """The installed command."""
    sys.exit(main())
