"""The part of `walkaround keys` about the device's log: heads given away and kept, keys changed."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from walkaround.cli.beside import read_limited
from walkaround.cli.options import must_be_printable
from walkaround.cli.screen import must_have_output, tell
from walkaround.cli.unlocking import ask_new_passphrase, keep_the_new_one, unlocked
from walkaround.devices.clock import wall_now
from walkaround.devices.keys import KeyStore
from walkaround.errors import SigningKeyError
from walkaround.records.log import CopiedHead, read_head
from walkaround.records.signature import WalkKind
from walkaround.records.trust import Revoked, SeenHead, TrustList

_KIND = WalkKind.WALK


def add(parser: argparse.ArgumentParser) -> None:
    """The options that have to do with the log."""
    parser.add_argument(
        "--head",
        action="store_true",
        help="print the newest line of this device's log, to be given",
    )
    parser.add_argument("--log", action="store_true", help="print this device's whole log")
    parser.add_argument(
        "--keep-head", type=Path, metavar="FILE", help="keep the head of another device's log"
    )
    parser.add_argument("--rotate", action="store_true", help="a new key; the old one names it")
    parser.add_argument(
        "--covered", type=Path, metavar="FILE", help="with --distrust: good up to that head"
    )
    parser.add_argument("--why", default="taken back by hand", help="with --distrust: the reason")


def printed(store: KeyStore, arguments: argparse.Namespace) -> bool:
    """Print the head or the log where that was asked for. Raises LogError, DiskError."""
    if not (arguments.head or arguments.log):
        return False
    log = store.log(_KIND)
    must_have_output()
    content = log.read() if arguments.log else log.head() + b"\n"
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()
    return True


def rotate(store: KeyStore) -> None:
    """A new key in place of the old one. Raises SigningKeyError, LogError, DiskError."""
    if not store.path(_KIND).exists():
        raise SigningKeyError("there is no key to change; make the first one with 'keys --make'")
    old, passphrase = unlocked(store, _KIND), ask_new_passphrase()
    key = store.rotate(_KIND, old, passphrase)
    keep_the_new_one(store, _KIND, passphrase)
    tell(f"The key is now {key.thumbprint}. Give its public part away again: keys --export")


def keep_head(store: KeyStore, path: Path) -> None:
    """Put the head of another device's log on the trust list. Raises LogError, SigningKeyError."""
    trust = store.trust()
    head = _head(trust, path)
    store.save_trust(trust.with_head(SeenHead(head.key_id, head.position, wall_now())))
    tell(f"Kept: line {head.position.seq + 1} of the log of {head.key_id}, as of {head.at}")


def distrust(store: KeyStore, thumbprint: str, covered: Path | None, why: str) -> None:
    """Take a key back, good up to a head if one is given. Raises LogError, SigningKeyError."""
    must_be_printable("--why", why, "reason")
    trust, position = store.trust(), None
    if covered is not None:
        head = _head(trust, covered)
        if head.key_id != thumbprint:
            raise SigningKeyError(f"that head is of the key {head.key_id}, not of {thumbprint}")
        position = head.position
    store.save_trust(trust.without(Revoked(thumbprint, why, wall_now(), position)))


def _head(trust: TrustList, path: Path) -> CopiedHead:
    return read_head(read_limited(path), [trusted.key for trusted in trust.keys])
