"""A view of the model for decoding: the same weights, with settings of its own.

Vosk 0.3.45 ends an utterance by rules in `conf/model.conf` and has no call to change them;
its rule fires before ours in some answers, so those rules are pushed away.  It keeps only
readings within 2 of the best, mostly a single one; within 6 the rivals are there to be
compared, for a fifth more time (a wider search beam, 13, cost three times as much and heard
nothing better).  And it adds a little random noise to every
sound (`dither` in `conf/mfcc.conf`), which moves a likelihood by some tenths from run to
run; without it the same sound is heard the same.  Patched copies of these two files stand
in a folder of links beside the hashed model, which stays untouched.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

import platformdirs

from walkaround.devices.disk import disk_error

_NEVER_S = "1000.0"
_SETTINGS: Mapping[str, Mapping[str, str]] = {
    "model.conf": {
        "--endpoint.rule1.min-trailing-silence": _NEVER_S,
        "--endpoint.rule2.min-trailing-silence": _NEVER_S,
        "--endpoint.rule3.min-trailing-silence": _NEVER_S,
        "--endpoint.rule4.min-trailing-silence": _NEVER_S,
        "--endpoint.rule5.min-utterance-length": _NEVER_S,
        "--lattice-beam": "6.0",
    },
    "mfcc.conf": {"--dither": "0.0"},
}


def decoding_folder(model: Path, cache: Path | None = None) -> Path:
    """The folder to load the model from; made once and then reused. Raises DiskError."""
    home = cache if cache is not None else platformdirs.user_cache_path("walkaround", False)
    model = model.resolve()
    try:
        patched = {name: _patched(model / "conf" / name, own) for name, own in _SETTINGS.items()}
        if _is_whole(model, model, patched):
            return model  # it is such a folder already
        key = hashlib.sha256(repr((str(model), patched)).encode()).hexdigest()[:16]
        folder = home / f"decoding-{key}"
        if not _is_whole(folder, model, patched):
            _build(folder, model, patched)
        if not _is_whole(folder, model, patched):
            raise OSError(None, "a folder there stands in the way")
    except OSError as bad:
        raise disk_error(home, bad) from bad
    return folder


def _patched(path: Path, own: Mapping[str, str]) -> str:
    """The file's settings, with `own` in place of those of the same name."""
    lines = path.read_text(encoding="ascii").splitlines()
    kept = [line for line in lines if line.partition("=")[0].strip() not in own]
    return "\n".join([*kept, *(f"{name}={value}" for name, value in own.items())]) + "\n"


def _is_whole(folder: Path, model: Path, patched: Mapping[str, str]) -> bool:
    try:
        same = all(
            (folder / "conf" / name).read_text(encoding="ascii") == text
            for name, text in patched.items()
        )
        return same and all((folder / at.name).exists() for at in model.iterdir())
    except OSError:
        return False


def _build(folder: Path, model: Path, patched: Mapping[str, str]) -> None:
    folder.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=".decoding-", dir=folder.parent))
    try:
        for at in model.iterdir():
            if at.name != "conf":
                _link(at, fresh / at.name)
        shutil.copytree(model / "conf", fresh / "conf")
        for name, text in patched.items():
            (fresh / "conf" / name).write_text(text, encoding="ascii")
        if folder.exists():
            folder.rename(fresh / ".old")
        with contextlib.suppress(OSError):  # another one was quicker: its folder is as good
            fresh.rename(folder)
        shutil.rmtree(folder / ".old", ignore_errors=True)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _link(source: Path, target: Path) -> None:
    try:
        target.symlink_to(source, target_is_directory=source.is_dir())
    except OSError:  # a system or a person without leave to make links
        if source.is_dir():
            shutil.copytree(source, target)
        else:
            shutil.copy2(source, target)
