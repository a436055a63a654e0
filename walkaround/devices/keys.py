"""Where the device's keys, its trust list and its log live on this machine.

Real and practice walks share the device's key and log; simulated walks have their own, so
that neither can pass for the other.  A key is made at its first use, readable by its
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
from walkaround.devices.device_log import LogFiles
from walkaround.devices.disk import disk_error, make_folder, read_error, write_finished
from walkaround.devices.regular import LIST_BYTES, read_regular
from walkaround.errors import SigningKeyError
from walkaround.records.keys import (
    SEED_BYTES,
    PublicKey,
    SigningKey,
    make_key,
    parse_key,
    serialise_key,
)
from walkaround.records.log import LogLine, Note, What, read_log
from walkaround.records.signature import WalkKind
from walkaround.records.trust import Revoked, TrustedKey, TrustList, parse_trust, serialise_trust

Passphrase = Callable[[], bytes | None]
"""Asks a person; None means that there is none to give. Never an argument of a command."""

_TRUST_NAME = "trust.jsonl"
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

    def log(self, kind: WalkKind) -> LogFiles:
        """The logs that walks of this kind are noted in."""
        simulated = kind is WalkKind.SIMULATED
        return LogFiles(self.folder, "simulated-log" if simulated else "device-log")

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
        key = self._parsed(path, ask)
        if self._waiting(kind).exists() and self._take_over(kind, key):
            return self._parsed(path, ask)  # a change of keys had been cut short
        return key

    def _parsed(self, path: Path, ask: Passphrase) -> SigningKey:
        content = self._read(path)
        try:
            return parse_key(content, ask() if _ENCRYPTED in content else None)
        except SigningKeyError as bad:
            raise SigningKeyError(f"{path}: {bad}") from None

    def make(self, kind: WalkKind, passphrase: bytes | None) -> SigningKey:
        """A new key, trusted here from now on. Raises SigningKeyError when there is one already."""
        path = self.path(kind)
        if path.exists():
            raise SigningKeyError(f"there is a key in {path} already; move it away first")
        key = make_key(secrets.token_bytes(SEED_BYTES))
        make_folder(self.folder)
        write_finished(path, serialise_key(key, passphrase), mode=0o600)
        self.save_trust(self.trust().with_key(_own(key.public, kind)))
        return key

    def rotate(self, kind: WalkKind, old: SigningKey, passphrase: bytes | None) -> SigningKey:
        """A new key in place of the old one, which names it in the log as its last act.

        Records that the old key signed stay good by their place in the log. The old key's
        file is overwritten. A crash on the way is made good when the key is next asked for.
        Raises SigningKeyError, LogError, DiskError.
        """
        key = make_key(secrets.token_bytes(SEED_BYTES))
        # The new key is on the disk before the log names it: a crash in between leaves a
        # file that nobody needs, never a log whose key is lost.
        write_finished(self._waiting(kind), serialise_key(key, passphrase), mode=0o600)
        self.log(kind).note(Note(What.ROTATED, wall_now(), key=key.public), old, kind)
        self._take_over(kind, old)
        return key

    def _waiting(self, kind: WalkKind) -> Path:
        return self.path(kind).with_suffix(".next")

    def _take_over(self, kind: WalkKind, old: SigningKey) -> bool:
        """Put the key that the old one named in its place; False when it named none."""
        line = self._named_by(kind, old)
        if line is None or line.note.key is None:
            return False
        before = trust = self.trust()
        if trust.find(line.note.key.thumbprint) is None:
            trust = trust.with_key(_own(line.note.key, kind))
        if trust.find(old.thumbprint) is not None and trust.revoked(old.thumbprint) is None:
            gone = Revoked(old.thumbprint, "a new key took over", line.note.at, line.position)
            trust = trust.without(gone)
        if trust != before:
            self.save_trust(trust)
        try:
            self._waiting(kind).replace(self.path(kind))
        except OSError as bad:
            raise disk_error(self.path(kind), bad) from bad
        return True

    def _named_by(self, kind: WalkKind, old: SigningKey) -> LogLine | None:
        for content in self.log(kind).read_all():
            for line in read_log(content).lines:
                if line.note.what is What.ROTATED and line.key_id == old.thumbprint:
                    return line
        return None

    def trust(self) -> TrustList:
        """Whose records are trusted here; empty when nobody's. Raises SigningKeyError."""
        path = self.folder / _TRUST_NAME
        if not path.exists():
            return TrustList()
        try:
            return parse_trust(self._read(path))
        except SigningKeyError as bad:
            raise SigningKeyError(f"{path}: {bad}") from None

    def save_trust(self, trust: TrustList) -> None:
        """Put the longer list in place of the shorter, whole. Raises DiskError, SigningKeyError."""
        path = self.folder / _TRUST_NAME
        content = serialise_trust(trust)
        if path.exists() and not content.startswith(self._read(path)):
            raise SigningKeyError(
                "the trust list only grows, and this one leaves out what stands in it; "
                "do it again, another command wrote to the list meanwhile"
            )
        make_folder(self.folder)
        write_finished(path, content)

    def _read(self, path: Path) -> bytes:
        try:
            return read_regular(path, LIST_BYTES)
        except OSError as bad:
            if not os.path.lexists(path):
                raise SigningKeyError(f"there is no key in {path}; make one with 'keys'") from None
            raise read_error(path, bad) from bad


def _own(key: PublicKey, kind: WalkKind) -> TrustedKey:
    if kind is WalkKind.SIMULATED:
        return TrustedKey(key, (kind,), "this device, simulated", wall_now())
    return TrustedKey(key, (WalkKind.WALK, WalkKind.PRACTICE), "this device", wall_now())
