"""The signing key, unlocked: from the system's keyring where that was asked for, else a prompt."""

from __future__ import annotations

import getpass
import sys

from walkaround.cli.screen import complain, show
from walkaround.devices.keys import KeyStore
from walkaround.devices.remembered import Remembered
from walkaround.errors import DiskError, SigningKeyError
from walkaround.records.keys import SigningKey
from walkaround.records.signature import WalkKind


def unlocked(store: KeyStore, kind: WalkKind) -> SigningKey:
    """The key for walks of this kind. A keyring that fails is told of, and the prompt asks.

    Raises SigningKeyError, DiskError.
    """
    kept = Remembered(store.path(kind))
    if kept.is_on:
        try:
            passphrase = kept.passphrase()
            return store.key(kind, lambda: passphrase)
        except SigningKeyError as bad:
            complain(str(bad))
    return store.key(kind, ask_passphrase)


def key_if_any(kind: WalkKind) -> SigningKey | None:
    """The device's key; without it the walk is kept and can be signed later."""
    try:
        return unlocked(KeyStore(), kind)
    except (SigningKeyError, DiskError) as error:
        complain(f"{error}; the walk will be kept unsigned, to be signed with 'keys --sign'")
        return None


def remember(store: KeyStore, kind: WalkKind) -> None:
    """Put the passphrase into the system's keyring, once it was seen to fit.

    Raises SigningKeyError, DiskError.
    """
    if not store.is_locked(kind):
        raise SigningKeyError(f"{store.path(kind)} has no passphrase; there is nothing to keep")
    passphrase = ask_passphrase()
    store.key(kind, lambda: passphrase)
    ring = Remembered(store.path(kind)).keep(passphrase or b"")
    show(f"Kept in {ring}. Take it out again with: keys --forget-passphrase")


def forget_passphrase(store: KeyStore, kind: WalkKind) -> None:
    """Take it out of the keyring. Raises SigningKeyError, DiskError."""
    Remembered(store.path(kind)).forget()
    show("The passphrase is asked for at the start of each walk from now on.")


def keep_the_new_one(store: KeyStore, kind: WalkKind, passphrase: bytes | None) -> None:
    """After the key was changed: the keyring holds the old one's passphrase, if any."""
    kept = Remembered(store.path(kind))
    if not kept.is_on:
        return
    try:
        if passphrase is None:
            kept.forget()
        else:
            kept.keep(passphrase)
    except SigningKeyError as bad:
        complain(str(bad))


def ask_passphrase() -> bytes | None:
    """Of the key, from the terminal; None where there is no terminal."""
    if not sys.stdin.isatty():
        return None
    return getpass.getpass("passphrase of the signing key: ").encode() or None


def ask_new_passphrase() -> bytes | None:
    """Of a new key, twice; an empty one leaves the key unlocked."""
    if not sys.stdin.isatty():
        return None
    first = getpass.getpass("new passphrase, several words (empty: none): ")
    if first != getpass.getpass("the same again: "):
        raise SigningKeyError("the two passphrases differ; try again")
    return first.encode() or None
