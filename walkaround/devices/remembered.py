"""A passphrase kept in the system's keyring, so that a locked key opens without a prompt.

Only where somebody asked for it: a mark beside the key says so, and without one the keyring
is never touched.
"""

from __future__ import annotations

import importlib.util
import json
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from walkaround.devices.child import child_environment, module_command
from walkaround.devices.disk import disk_error, write_finished
from walkaround.errors import SigningKeyError

LIMIT_S = 30.0
"""As long as somebody may take to unlock the keyring in its own window."""
RECOMMENDED = 1
"""Keyrings below this priority keep the text in a file (the library's own measure)."""
_OTHERWISE = "the passphrase is asked for at the start instead"


class Remembered:
    """The passphrase of one key file. `command` is the child that asks the keyring."""

    def __init__(
        self, key_file: Path, command: Sequence[str] = (), *, limit_s: float = LIMIT_S
    ) -> None:
        self._name = str(key_file.absolute())
        self._mark = key_file.with_suffix(".remembered")
        self._command = command or module_command("walkaround.devices.keyring_process")
        self._limit_s = limit_s

    @property
    def is_on(self) -> bool:
        """Whether somebody asked for it."""
        return self._mark.exists()

    def passphrase(self) -> bytes:
        """The passphrase. Raises SigningKeyError, saying why it cannot be had."""
        kept = self._asked("get").get("passphrase")
        if not isinstance(kept, str):
            raise SigningKeyError(
                f"the system's keyring no longer holds the passphrase of {self._name}; "
                f"keep it anew with 'keys --remember'; {_OTHERWISE}"
            )
        return kept.encode()

    def keep(self, passphrase: bytes) -> str:
        """Put it there; returns the keyring's name. Raises SigningKeyError, DiskError."""
        told = self._asked("get")  # which keyring is it, before anything is given to it?
        ring = str(told.get("ring"))
        if float(told.get("priority", 0)) < RECOMMENDED:
            raise SigningKeyError(
                f"this system's only keyring ({ring}) would keep the passphrase in a file beside "
                f"the key, which protects nothing; start a real one (such as the desktop's secret "
                f"service), or {_OTHERWISE}"
            )
        self._asked("set", passphrase.decode())
        write_finished(self._mark, f"{ring}\n".encode(), mode=0o600)
        return ring

    def forget(self) -> None:
        """Take it out again. The mark goes first: what is left then is never read."""
        try:
            self._mark.unlink(missing_ok=True)
        except OSError as bad:
            raise disk_error(self._mark, bad) from bad
        self._asked("delete")

    def _asked(self, do: str, passphrase: str = "") -> dict[str, Any]:
        if importlib.util.find_spec("keyring") is None:
            raise SigningKeyError(
                "the package 'keyring' is not installed, so the system's keyring cannot be asked; "
                f"install 'walkaround[keyring]'; {_OTHERWISE}"
            )
        question = json.dumps({"do": do, "name": self._name, "passphrase": passphrase})
        try:
            done = subprocess.run(
                self._command,
                input=question,
                capture_output=True,
                text=True,
                timeout=self._limit_s,
                env=child_environment(),
                check=False,
            )
            told = json.loads(done.stdout)
        except subprocess.TimeoutExpired:
            raise SigningKeyError(
                f"the system's keyring gave no answer in {self._limit_s:g} s; unlock it first; "
                f"{_OTHERWISE}"
            ) from None
        except (OSError, ValueError):
            raise SigningKeyError(
                f"the system's keyring cannot be asked (its child failed); {_OTHERWISE}"
            ) from None
        if not isinstance(told, dict) or "why" in told:
            why = told.get("why") if isinstance(told, dict) else "no answer"
            raise SigningKeyError(f"the system's keyring does not help ({why}); {_OTHERWISE}")
        return told
