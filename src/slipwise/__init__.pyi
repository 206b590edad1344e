from slipwise.doors.python import load as load
from slipwise.doors.python import read_results as read_results
from slipwise.doors.python import run as run
from slipwise.quantity.errors import Fault as Fault
from slipwise.quantity.errors import InputError as InputError
from slipwise.results.study import StudyResult as StudyResult
from slipwise.study.model import Study as Study

__version__: str
__all__ = ["Fault", "InputError", "Study", "StudyResult", "__version__", "load", "read_results", "run"]
