"""A recording from disk or from memory: which reader, and which second file belongs to it, by the name of the first."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from slipwise.identify.comtrade import read_combined, read_comtrade
from slipwise.identify.csv_recording import read_csv
from slipwise.identify.recording import Channel, Recording, phase_of
from slipwise.quantity.errors import InputError

LARGEST = 500_000_000  # bytes
TABLES = (".csv", ".txt", ".tsv")
DATA = (".dat", ".DAT", ".Dat")  # of the file beside a .cfg


def read_recording(path: Path, *, names: Mapping[str, str] | None = None) -> Recording:
    """Reads a recording: a text table (.csv, .txt, .tsv), COMTRADE (.cfg with its .dat beside it), or both in one (.cff).

    Args:
        path: of the file.   names: what a channel is, by its name in the file ("CH1": "ia"), where the name does not say;
            of COMTRADE the phase only, since the unit says what is measured.

    Raises:
        InputError: the file cannot be read or is none of these; as the readers.
    """
    return _read(path.name, lambda: _content(path), lambda: _content(_data_beside(path)), names)


def recording_of(name: str, contents: Mapping[str, bytes], *, names: Mapping[str, str] | None = None) -> Recording:
    """As `read_recording`, of files held in memory. contents: by plain name; that of `name` is among them."""

    def data() -> bytes:
        stem = Path(name).stem
        for suffix in DATA:
            if (found := contents.get(stem + suffix)) is not None:
                return found
        raise _without_data(name)

    return _read(name, lambda: contents[name], data, names)


def _read(
    name: str, content: Callable[[], bytes], data: Callable[[], bytes], names: Mapping[str, str] | None
) -> Recording:
    """data: of the second file of COMTRADE."""
    kind = Path(name).suffix.lower()
    if kind in TABLES:
        return read_csv(content(), source=name, names=names)
    if kind == ".cff":
        return _named(read_combined(content(), source=name), names)
    if kind == ".cfg":
        return _named(read_comtrade(content(), data(), source=name), names)
    known = ", ".join((*TABLES, ".cfg", ".cff"))
    raise InputError.of("recording.file", name, "what kind of recording it is cannot be told", f"name it {known}")


def _data_beside(path: Path) -> Path:
    for suffix in DATA:
        if (found := path.with_suffix(suffix)).exists():
            return found
    raise _without_data(path.name)


def _without_data(name: str) -> InputError:
    words = "its data file is not beside it"
    return InputError.of("recording.file", name, words, f"put {Path(name).stem}.dat there")


def _content(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise InputError.of("recording.file", path.name, "it is a folder", "name the file of the recording")
        if path.stat().st_size > LARGEST:
            raise InputError.of("recording.file", path.name, "it is larger than 500 MB", "export the start alone")
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError.of("recording.file", str(path), "there is no such file", "check name and folder") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError.of("recording.file", path.name, f"it cannot be read ({reason})", "check the file") from None


def _named(recording: Recording, names: Mapping[str, str] | None) -> Recording:
    """Channels with the phases that `names` gives them."""
    if not names:
        return recording
    unknown = sorted(set(names) - {channel.name for channel in recording.channels})
    if unknown:
        raise InputError.of("recording.names", unknown[0], "no channel has this name", "use the names of the file")
    channels = tuple(
        _renamed(channel, names[channel.name]) if channel.name in names else channel for channel in recording.channels
    )
    return Recording(time=recording.time, channels=channels, source=recording.source, steps=recording.steps)


def _renamed(channel: Channel, name: str) -> Channel:
    phase, sign = phase_of(name, "", channel.kind) if channel.phase else ("", 1.0)
    return Channel(
        name=name,
        kind=channel.kind,
        phase=phase,
        values=sign * channel.values,
        rms=channel.rms,
        resolution=channel.resolution,
    )
