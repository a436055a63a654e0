"""A view of the model for decoding: the same files, but its own end of turn pushed away.

Vosk 0.3.45 ends an utterance by rules in `conf/model.conf` and has no call to change them.
Its rule fires before ours in some answers, so a patched copy of that one file stands in a
folder of links beside the hashed model, which stays untouched.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import tempfile
from pathlib import Path

import platformdirs

from walkaround.devices.disk import disk_error

_NEVER_S = 1000.0
_RULES = (
    "--endpoint.rule1.min-trailing-silence",
    "--endpoint.rule2.min-trailing-silence",
    "--endpoint.rule3.min-trailing-silence",
    "--endpoint.rule4.min-trailing-silence",
    "--endpoint.rule5.min-utterance-length",
)


def decoding_folder(model: Path, cache: Path | None = None) -> Path:
    """The folder to load the model from; made once and then reused. Raises DiskError."""
    home = cache if cache is not None else platformdirs.user_cache_path("walkaround", False)
    model = model.resolve()
    try:
        patched = patched_conf((model / "conf" / "model.conf").read_text(encoding="ascii"))
        key = hashlib.sha256(f"{model}\0{patched}".encode()).hexdigest()[:16]
        folder = home / f"decoding-{key}"
        if not _is_whole(folder, model, patched):
            _build(folder, model, patched)
        if not _is_whole(folder, model, patched):
            raise OSError(None, "a folder there stands in the way")
    except OSError as bad:
        raise disk_error(home, bad) from bad
    return folder


def patched_conf(text: str) -> str:
    """The same settings, with every end-of-turn rule out of reach."""
    kept = [line for line in text.splitlines() if line.partition("=")[0].strip() not in _RULES]
    return "\n".join([*kept, *(f"{rule}={_NEVER_S}" for rule in _RULES)]) + "\n"


def _is_whole(folder: Path, model: Path, patched: str) -> bool:
    try:
        same = (folder / "conf" / "model.conf").read_text(encoding="ascii") == patched
        return same and all((folder / at.name).exists() for at in model.iterdir())
    except OSError:
        return False


def _build(folder: Path, model: Path, patched: str) -> None:
    folder.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=".decoding-", dir=folder.parent))
    try:
        for at in model.iterdir():
            if at.name != "conf":
                _link(at, fresh / at.name)
        shutil.copytree(model / "conf", fresh / "conf")
        (fresh / "conf" / "model.conf").write_text(patched, encoding="ascii")
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
