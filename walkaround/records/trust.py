"""Whose records are believed, and of which kind: a list kept by whoever verifies.

A stranger's first key is put on it by hand after its thumbprint was compared by another
way (read out over the telephone), never because a record carried it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from walkaround.errors import SigningKeyError
from walkaround.records.canonical import Json, parse_any_layout
from walkaround.records.keys import PublicKey, public_key
from walkaround.records.shape import Members
from walkaround.records.signature import WalkKind

FORMAT = "walkaround-trust-1"


@dataclass(frozen=True, slots=True)
class TrustedKey:
    """A key, the kinds of walk it is trusted for, whose it is, and when it was added (text).

    Raises SigningKeyError when simulated walks share a key with real ones: their trust
    is of its own.
    """

    key: PublicKey
    scope: tuple[WalkKind, ...]
    name: str
    added: str

    def __post_init__(self) -> None:
        if not self.scope:
            raise SigningKeyError(f"the trusted key '{self.name}' is trusted for nothing")
        if WalkKind.SIMULATED in self.scope and len(self.scope) > 1:
            raise SigningKeyError(
                f"the key '{self.name}' cannot be trusted for simulated and other walks at once; "
                "use one key for each"
            )


@dataclass(frozen=True, slots=True)
class TrustList:
    keys: tuple[TrustedKey, ...] = ()

    def find(self, thumbprint: str) -> TrustedKey | None:
        """The key of that thumbprint, computed from the key itself."""
        return self._by_thumbprint().get(thumbprint)

    def _by_thumbprint(self) -> Mapping[str, TrustedKey]:
        return MappingProxyType({trusted.key.thumbprint: trusted for trusted in self.keys})

    def with_key(self, trusted: TrustedKey) -> TrustList:
        """The list with one more key. Raises SigningKeyError when it is there already."""
        if self.find(trusted.key.thumbprint) is not None:
            raise SigningKeyError(f"the key {trusted.key.thumbprint} is on the trust list already")
        return TrustList((*self.keys, trusted))

    def without(self, thumbprint: str) -> TrustList:
        """The list without a key. Raises SigningKeyError when it is not there."""
        if self.find(thumbprint) is None:
            raise SigningKeyError(f"the key {thumbprint} is not on the trust list")
        return TrustList(tuple(t for t in self.keys if t.key.thumbprint != thumbprint))


def serialise_trust(trust: TrustList) -> bytes:
    """The list as a JSON file for a person to read."""
    body: dict[str, Json] = {
        "format": FORMAT,
        "keys": [
            {
                "thumbprint": trusted.key.thumbprint,
                "name": trusted.name,
                "scope": [kind.value for kind in trusted.scope],
                "added": trusted.added,
                "jwk": trusted.key.jwk(),
            }
            for trusted in trust.keys
        ],
    }
    return json.dumps(body, indent=2, ensure_ascii=False).encode("utf-8") + b"\n"


def parse_trust(content: bytes) -> TrustList:
    """The list of a file. Raises SigningKeyError, naming the key, for anything out of order."""
    try:
        plain = parse_any_layout(content)
    except ValueError:
        raise SigningKeyError(
            "the trust list is not readable as JSON; restore it from your copy"
        ) from None
    members = Members(plain, "the trust list", SigningKeyError)
    if members.text("format") != FORMAT:
        raise SigningKeyError(f"this is not a trust list ({FORMAT}); look for the right file")
    trust = TrustList()
    for item in members.objects("keys"):
        trust = trust.with_key(_read_key(item))
    members.done()
    return trust


def _read_key(members: Members) -> TrustedKey:
    name = members.text("name")
    key = public_key(members.plain("jwk"))
    if members.text("thumbprint") != key.thumbprint:
        raise SigningKeyError(
            f"the trusted key '{name}' does not have the thumbprint written beside it; "
            "remove it and import the key again"
        )
    try:
        scope = tuple(WalkKind(kind) for kind in members.texts("scope"))
    except ValueError:
        raise SigningKeyError(
            f"the scope of the trusted key '{name}' must be walk, practice or simulated"
        ) from None
    trusted = TrustedKey(key, scope, name, members.text("added"))
    members.done()
    return trusted
