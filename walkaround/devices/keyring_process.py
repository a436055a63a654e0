"""The short-lived child that asks the system's keyring: one question, one answer.

Reads one JSON object from stdin, {"do": "get" | "set" | "delete", "name", "passphrase"}, and
writes one to stdout: {"ring", "priority", "passphrase"} or {"why"}.

Why so: a keyring may open a window and wait for somebody who is not there, and it loads what
it needs of the desktop.  A child can be given up; a passphrase goes through a pipe, never an
argument.  The library is optional (the extra `keyring`).
"""

from __future__ import annotations

import json
import sys
from typing import Any

SERVICE = "walkaround"


def answer(asked: dict[str, str]) -> dict[str, Any]:
    """What the keyring says; `passphrase` is None when it holds none of that name."""
    import keyring  # noqa: PLC0415 - optional, and wanted only here
    from keyring.errors import KeyringError, PasswordDeleteError  # noqa: PLC0415

    ring = keyring.get_keyring()
    ring = next(iter(getattr(ring, "backends", ())), ring)  # of several, the one written to
    told: dict[str, Any] = {"ring": ring.name, "priority": float(ring.priority)}
    try:
        if asked["do"] == "set":
            keyring.set_password(SERVICE, asked["name"], asked["passphrase"])
        elif asked["do"] == "delete":
            keyring.delete_password(SERVICE, asked["name"])
        else:
            told["passphrase"] = keyring.get_password(SERVICE, asked["name"])
    except PasswordDeleteError:
        return told  # there was none
    except KeyringError as bad:
        return {**told, "why": str(bad).partition(".")[0][:120] or type(bad).__name__}
    return told


if __name__ == "__main__":
    json.dump(answer(json.load(sys.stdin)), sys.stdout)
