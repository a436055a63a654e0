"""The places an archive can be fetched from. Each puts one file into a folder, or raises.

No address stands here: jgo knows the Maven repositories, the vosk package its own catalogue.
"""

from __future__ import annotations

import hashlib
import http.client
import shutil
import urllib.request
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from walkaround.devices.disk import is_of_the_disk
from walkaround.devices.model.manifest import Manifest, Source
from walkaround.errors import DownloadError, ModelError

Fetch = Callable[[Manifest, Source, Path], Path]
_PATIENCE_S = 30


def from_maven(manifest: Manifest, source: Source, into: Path) -> Path:
    """By jgo, without Java. Raises OSError or RuntimeError as jgo does."""
    del manifest
    from jgo.maven import MavenContext  # noqa: PLC0415 - 0.2 s that only a fetch needs

    context: Any = MavenContext(repo_cache=into, timeout=_PATIENCE_S)
    component = context.project(source.group, source.artifact).at_version(source.version)
    return Path(component.artifact(packaging=source.packaging).resolve())


def from_vosk_catalogue(manifest: Manifest, source: Source, into: Path) -> Path:
    """The archive of that name in the vosk package's catalogue. Raises OSError."""
    del source
    import vosk  # noqa: PLC0415 - loads 25 MB of library that only a fetch needs

    path = into / f"{manifest.name}.zip"
    address = vosk.MODEL_PRE_URL + path.name
    with (
        urllib.request.urlopen(address, timeout=_PATIENCE_S) as answer,
        path.open("wb") as file,
    ):
        shutil.copyfileobj(answer, file)
    return path


FETCHERS: Mapping[str, Fetch] = {"maven": from_maven, "vosk catalogue": from_vosk_catalogue}


def fetch(
    manifest: Manifest, source: Source, into: Path, fetchers: Mapping[str, Fetch] = FETCHERS
) -> Path:
    """The source's archive, checked by its hash where that is known.

    Raises DownloadError when it cannot be had, ModelError when it is another one.
    """
    if source.kind not in fetchers:
        raise ModelError(f"the manifest names an unknown kind of source: {source.kind!r}")
    try:
        archive = fetchers[source.kind](manifest, source, into)
    except (OSError, RuntimeError, ValueError, http.client.HTTPException) as bad:
        if isinstance(bad, OSError) and is_of_the_disk(bad):
            raise
        raise DownloadError(f"{source} did not answer ({type(bad).__name__})") from bad
    if source.sha256:
        _check(archive, source)
    return archive


def _check(archive: Path, source: Source) -> None:
    with archive.open("rb") as file:
        seen = hashlib.file_digest(file, "sha256").hexdigest()
    if seen != source.sha256:
        size = archive.stat().st_size
        raise ModelError(
            f"{source} sent another archive than the pinned one ({size} bytes, {seen[:12]}...)"
        )
