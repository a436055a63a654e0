"""`walkaround keys`: the signing key of this device, and whose records are trusted here.

Without an option it lists the trusted keys. --sign makes the record of a walk that ended
without one, because the key was locked or something failed.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from walkaround.cli import key_log
from walkaround.cli.options import must_be_printable
from walkaround.cli.recording import sign_later
from walkaround.cli.screen import tell
from walkaround.cli.unlocking import (
    ask_new_passphrase,
    forget_passphrase,
    remember,
    unlocked,
)
from walkaround.devices.clock import wall_now
from walkaround.devices.keys import KeyStore
from walkaround.devices.regular import KEY_BYTES, read_regular
from walkaround.errors import SigningKeyError, UsageError
from walkaround.records.keys import parse_public
from walkaround.records.signature import WalkKind
from walkaround.records.trust import TrustedKey, TrustList
from walkaround.records.wording import SIGNED_LATER


def add(parser: argparse.ArgumentParser) -> None:
    """The command's options."""
    parser.add_argument("--make", action="store_true", help="make this device's key, locked")
    parser.add_argument(
        "--remember", action="store_true", help="keep its passphrase in the system's keyring"
    )
    parser.add_argument(
        "--forget-passphrase", action="store_true", help="take it out of the keyring again"
    )
    parser.add_argument("--export", action="store_true", help="print the public key, to be given")
    parser.add_argument("--trust", type=Path, metavar="FILE", help="trust a public key")
    parser.add_argument("--name", default="", help="whose key that is")
    parser.add_argument("--thumbprint", default="", help="its thumbprint, as you were told it")
    parser.add_argument("--distrust", default="", metavar="THUMBPRINT", help="trust it no more")
    key_log.add(parser)
    parser.add_argument(
        "--sign", type=Path, metavar="FOLDER", help="make and sign the record of the walk in there"
    )


def run(arguments: argparse.Namespace) -> int:
    """Does what is asked, then lists the trusted keys."""
    store = KeyStore()
    if arguments.sign:
        written = sign_later(arguments.sign, lambda kind: unlocked(store, kind))
        tell(f"Record:  {written.signed}\nTo read: {written.page}")
        if written.later:
            tell(SIGNED_LATER)
        return 0
    if arguments.make:
        store.make(WalkKind.WALK, ask_new_passphrase())
    if arguments.remember:
        remember(store, WalkKind.WALK)
    if arguments.forget_passphrase:
        forget_passphrase(store, WalkKind.WALK)
    if arguments.export:
        tell(json.dumps(unlocked(store, WalkKind.WALK).public.jwk()))
        return 0
    if key_log.printed(store, arguments):
        return 0
    if arguments.rotate:
        key_log.rotate(store)
    if arguments.trust:
        _trust(store, arguments)
    if arguments.keep_head:
        key_log.keep_head(store, arguments.keep_head)
    if arguments.distrust:
        key_log.distrust(store, arguments.distrust, arguments.covered, arguments.why)
    for trusted in store.trust().keys:
        tell(_told(trusted, store.trust()))
    return 0


def _told(trusted: TrustedKey, trust: TrustList) -> str:
    thumbprint, scope = trusted.key.thumbprint, ", ".join(trusted.scope)
    revoked = trust.revoked(thumbprint)
    gone = f"; taken back {revoked.at} ({revoked.why})" if revoked is not None else ""
    return f"{thumbprint}  {trusted.name} ({scope}), added {trusted.added}{gone}"


def _trust(store: KeyStore, arguments: argparse.Namespace) -> None:
    try:
        content = read_regular(arguments.trust, KEY_BYTES)
    except OSError as bad:
        raise UsageError(f"cannot read {arguments.trust} ({bad.strerror}); check the path") from bad
    key = parse_public(content)
    must_be_printable("--name", arguments.name)
    if arguments.thumbprint != key.thumbprint:
        raise SigningKeyError(
            f"this key's thumbprint is {key.thumbprint}; compare it with its owner "
            "and give it with --thumbprint"
        )
    scope = (WalkKind.WALK, WalkKind.PRACTICE)
    trusted = TrustedKey(key, scope, arguments.name or "unnamed", wall_now())
    store.save_trust(store.trust().with_key(trusted))
