"""Where the device's keys and the trust list live on this machine.

Real and practice walks share the device's key; simulated walks have one of their own,
so that neither can pass for the other.  A key is made at its first use, readable by its
owner only, and enters this device's own trust list.  A stranger's key is imported by a
person who has compared its thumbprint.
"""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable
from pathlib import Path

import platformdirs

from walkaround.devices.clock import wall_now
from walkaround.devices.disk import disk_error, make_folder, write_finished
from walkaround.errors import SigningKeyError
from walkaround.records.keys import SEED_BYTES, SigningKey, make_key, parse_key, serialise_key
from walkaround.records.signature import WalkKind
from walkaround.records.trust import TrustedKey, TrustList, parse_trust, serialise_trust

Passphrase = Callable[[], bytes | None]
"""Asks a person; None means that there is none to give. Never an argument of a command."""

_TRUST_NAME = "trust.json"
_ENCRYPTED = b"ENCRYPTED PRIVATE KEY"


def no_passphrase() -> bytes | None:
    """Nobody is there to be asked."""
    return None


class KeyStore:
    """The keys in one folder; the platform's configuration folder when none is given."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder or platformdirs.user_config_path("walkaround", appauthor=False)

    def path(self, kind: WalkKind) -> Path:
        """The file of the key that signs walks of this kind."""
        return self.folder / ("simulated.pem" if kind is WalkKind.SIMULATED else "device.pem")

    def is_locked(self, kind: WalkKind) -> bool:
        """Whether the key has a passphrase."""
        return _ENCRYPTED in self._read(self.path(kind))

    def key(self, kind: WalkKind, ask: Passphrase = no_passphrase) -> SigningKey:
        """The key for walks of this kind, made at the first use.

        Raises SigningKeyError when it is locked, damaged or cannot be read, DiskError.
        """
        path = self.path(kind)
        if not path.exists():
            return self.make(kind, None)
        content = self._read(path)
        return parse_key(content, ask() if _ENCRYPTED in content else None)

    def make(self, kind: WalkKind, passphrase: bytes | None) -> SigningKey:
        """A new key, trusted here from now on. Raises SigningKeyError when there is one already."""
        path = self.path(kind)
        if path.exists():
            raise SigningKeyError(f"there is a key in {path} already; move it away first")
        key = make_key(secrets.token_bytes(SEED_BYTES))
        make_folder(self.folder)
        write_finished(path, serialise_key(key, passphrase), mode=0o600)
        simulated = kind is WalkKind.SIMULATED
        scope = (WalkKind.SIMULATED,) if simulated else (WalkKind.WALK, WalkKind.PRACTICE)
        name = "this device, simulated" if simulated else "this device"
        self.save_trust(self.trust().with_key(TrustedKey(key.public, scope, name, wall_now())))
        return key

    def trust(self) -> TrustList:
        """Whose records are trusted here; empty when nobody's. Raises SigningKeyError."""
        path = self.folder / _TRUST_NAME
        return parse_trust(self._read(path)) if path.exists() else TrustList()

    def save_trust(self, trust: TrustList) -> None:
        """Replace the trust list. Raises DiskError."""
        make_folder(self.folder)
        write_finished(self.folder / _TRUST_NAME, serialise_trust(trust))

    def _read(self, path: Path) -> bytes:
        try:
            return path.read_bytes()
        except OSError as bad:
            if not os.path.lexists(path):
                raise SigningKeyError(f"there is no key in {path}; make one with 'keys'") from None
            raise disk_error(path, bad) from bad
