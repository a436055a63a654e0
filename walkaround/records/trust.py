"""Whose records are believed, and of which kind: a list kept by whoever verifies.

The list only grows.  A stranger's first key is put on it by hand after its thumbprint was
compared by another way (read out over the telephone), never because a record carried it.
A key is taken back by a line of its own, which says how far into that device's log its
records stay good: as far as a head of the log reaches that somebody else held before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from walkaround.errors import SigningKeyError
from walkaround.records.canonical import Json
from walkaround.records.chain import chained, unchained
from walkaround.records.keys import PublicKey, public_key
from walkaround.records.position import Position, read_position
from walkaround.records.shape import Members
from walkaround.records.signature import WalkKind

FORMAT = "walkaround-trust-2"


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
class SeenHead:
    """A head of a device's log that was copied here: from `at` on, what it covers existed."""

    thumbprint: str
    position: Position
    at: str


@dataclass(frozen=True, slots=True)
class Revoked:
    """A key taken back for good; `covered` is the last line of its log that stays good, or None."""

    thumbprint: str
    why: str
    at: str
    covered: Position | None = None


Entry = TrustedKey | SeenHead | Revoked


@dataclass(frozen=True, slots=True)
class TrustList:
    """The entries in the order they were made; later ones never change earlier ones."""

    entries: tuple[Entry, ...] = ()
    _found: Mapping[str, TrustedKey] = field(init=False, repr=False, compare=False)
    _revoked: Mapping[str, Revoked] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        found = {trusted.key.thumbprint: trusted for trusted in self.keys}
        object.__setattr__(self, "_found", found)
        revoked = [entry for entry in self.entries if isinstance(entry, Revoked)]
        object.__setattr__(self, "_revoked", {entry.thumbprint: entry for entry in revoked})

    @property
    def keys(self) -> tuple[TrustedKey, ...]:
        """Every key that was ever added, those taken back later included."""
        return tuple(entry for entry in self.entries if isinstance(entry, TrustedKey))

    def find(self, thumbprint: str) -> TrustedKey | None:
        """The key of that thumbprint, computed from the key itself; taken back or not."""
        return self._found.get(thumbprint)

    def revoked(self, thumbprint: str) -> Revoked | None:
        """How the key was taken back, or None while it stands."""
        return self._revoked.get(thumbprint)

    def seen(self, thumbprint: str) -> tuple[Position, ...]:
        """Where the heads stand that were copied here from this key's log."""
        return tuple(
            entry.position
            for entry in self.entries
            if isinstance(entry, SeenHead) and entry.thumbprint == thumbprint
        )

    def with_key(self, trusted: TrustedKey) -> TrustList:
        """The list with one more key. Raises SigningKeyError when it was ever there."""
        if self.find(trusted.key.thumbprint) is not None:
            raise SigningKeyError(
                f"the key {trusted.key.thumbprint} is on the trust list already; "
                "one that was taken back stays so: make a new key"
            )
        return TrustList((*self.entries, trusted))

    def with_head(self, seen: SeenHead) -> TrustList:
        """The list with a copied head of a trusted key. Raises SigningKeyError."""
        self._must_stand(seen.thumbprint)
        return TrustList((*self.entries, seen))

    def without(self, revoked: Revoked) -> TrustList:
        """The list with a key taken back. Raises SigningKeyError when there is none to take."""
        self._must_stand(revoked.thumbprint)
        return TrustList((*self.entries, revoked))

    def _must_stand(self, thumbprint: str) -> None:
        if self.find(thumbprint) is None:
            raise SigningKeyError(f"the key {thumbprint} is not on the trust list")
        if self.revoked(thumbprint) is not None:
            raise SigningKeyError(f"the key {thumbprint} was taken back; that is never undone")


# ---------------------------------------------------------------- as a file


def serialise_trust(trust: TrustList) -> bytes:
    """The list as chained lines: that of a longer list begins with that of the shorter."""
    first: dict[str, Json] = {"is": "format", "format": FORMAT}
    return chained([first, *(_body(entry) for entry in trust.entries)])


def _body(entry: Entry) -> dict[str, Json]:
    match entry:
        case TrustedKey(key, scope, name, added):
            kinds: list[Json] = [kind.value for kind in scope]
            body: dict[str, Json] = {"is": "key", "thumbprint": key.thumbprint, "jwk": key.jwk()}
            return {**body, "scope": kinds, "name": name, "at": added}
        case SeenHead(thumbprint, position, at):
            return {"is": "head", "thumbprint": thumbprint, "head": position.plain(), "at": at}
        case Revoked(thumbprint, why, at, covered):
            body = {"is": "revoked", "thumbprint": thumbprint, "why": why, "at": at}
            return body if covered is None else {**body, "covered": covered.plain()}


def parse_trust(content: bytes) -> TrustList:
    """The list of a file. Raises SigningKeyError, naming the line, for anything out of order."""
    try:
        bodies = unchained(content)
    except ValueError as bad:
        raise SigningKeyError(f"the trust list, {bad}; restore it from your copy") from None
    if not bodies or bodies[0] != {"is": "format", "format": FORMAT}:
        raise SigningKeyError(f"this is not a trust list ({FORMAT}); look for the right file")
    trust = TrustList()
    for number, body in enumerate(bodies[1:], start=2):
        trust = _with(trust, Members(body, f"the trust list, line {number}", SigningKeyError))
    return trust


def _with(trust: TrustList, members: Members) -> TrustList:
    kind, thumbprint, at = (members.text(name) for name in ("is", "thumbprint", "at"))
    if kind == "key":
        longer = trust.with_key(_read_key(members, thumbprint, at))
    elif kind == "head":
        longer = trust.with_head(SeenHead(thumbprint, read_position(members.object("head")), at))
    elif kind == "revoked":
        covered = read_position(members.object("covered")) if "covered" in members.raw else None
        longer = trust.without(Revoked(thumbprint, members.text("why"), at, covered))
    else:
        raise SigningKeyError(
            f"the trust list holds a '{kind[:40]}', which is not known here; "
            "a newer version wrote it"
        )
    members.done()
    return longer


def _read_key(members: Members, thumbprint: str, added: str) -> TrustedKey:
    name = members.text("name")
    key = public_key(members.plain("jwk"))
    if thumbprint != key.thumbprint:
        raise SigningKeyError(
            f"the trusted key '{name}' does not have the thumbprint written beside it; "
            "import the key again into a new list"
        )
    try:
        scope = tuple(WalkKind(kind) for kind in members.texts("scope"))
    except ValueError:
        raise SigningKeyError(
            f"the scope of the trusted key '{name}' must be walk, practice or simulated"
        ) from None
    return TrustedKey(key, scope, name, added)
