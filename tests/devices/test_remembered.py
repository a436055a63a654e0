"""A passphrase in the system's keyring: kept only where it is safe, read only where asked for.

With the optional package `keyring` and a file backend of `keyrings.alt`, or a secret service on
the session's bus, the real thing is tried too (`tests/devices/secret_service.sh`).
"""

from __future__ import annotations

import importlib.util
import json
import os
import sys
from pathlib import Path

import pytest

from walkaround.cli.unlocking import keep_the_new_one, unlocked
from walkaround.devices.keys import KeyStore
from walkaround.devices.remembered import Remembered
from walkaround.errors import SigningKeyError
from walkaround.records.signature import WalkKind

WALK = WalkKind.WALK
INSTALLED = importlib.util.find_spec("keyring") is not None
needs_keyring = pytest.mark.skipif(
    not INSTALLED, reason="the optional package is not installed (extra 'keyring')"
)
SECRET_SERVICE = os.environ.get("WALKAROUND_SECRET_SERVICE") == "1"
needs_service = pytest.mark.skipif(
    not SECRET_SERVICE, reason="no secret service: run tests/devices/secret_service.sh"
)


def says(answer: object) -> tuple[str, ...]:
    """A child that gives this answer whatever it is asked."""
    return (sys.executable, "-c", f"print({json.dumps(answer)!r})")


@pytest.mark.skipif(INSTALLED, reason="the package is installed here")
def test_without_the_package_a_sentence_says_what_to_install(tmp_path: Path) -> None:
    kept = Remembered(tmp_path / "device.pem")
    for ask in (kept.passphrase, lambda: kept.keep(b"several words"), kept.forget):
        with pytest.raises(SigningKeyError, match=r"install 'walkaround\[keyring\]'; the passph"):
            ask()
    assert not kept.is_on


def test_nothing_is_asked_of_a_keyring_without_the_mark(tmp_path: Path) -> None:
    store = KeyStore(tmp_path)
    key = store.make(WALK, None)
    assert unlocked(store, WALK).thumbprint == key.thumbprint
    keep_the_new_one(store, WALK, b"another")
    assert not Remembered(store.path(WALK)).is_on


def test_a_keyring_that_fails_leaves_the_prompt(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No terminal is there either: the key stays locked, and both reasons are told."""
    store = KeyStore(tmp_path)
    store.make(WALK, b"several words")
    store.path(WALK).with_suffix(".remembered").write_text("a keyring\n")
    with pytest.raises(SigningKeyError, match="locked"):
        unlocked(store, WALK)
    assert "the passphrase is asked for at the start instead" in capsys.readouterr().err


@needs_keyring
@pytest.mark.parametrize(
    ("command", "told"),
    [
        ((sys.executable, "-c", "import time; time.sleep(60)"), "gave no answer in 0.5 s"),
        ((sys.executable, "-c", "raise SystemExit(1)"), "its child failed"),
        (("/nowhere/python",), "its child failed"),
        ((sys.executable, "-c", "print([])"), "does not help (no answer)"),
        (says({"why": "it is locked"}), "does not help (it is locked)"),
        (says({"ring": "r", "priority": 5.0, "passphrase": None}), "no longer holds"),
        (says({"ring": "r", "priority": 5.0, "passphrase": 5}), "no longer holds"),
    ],
)
def test_a_child_that_does_not_answer_well(
    tmp_path: Path, command: tuple[str, ...], told: str
) -> None:
    with pytest.raises(SigningKeyError) as bad:
        Remembered(tmp_path / "device.pem", command, limit_s=0.5).passphrase()
    assert told in str(bad.value)


@needs_keyring
def test_a_keyring_that_is_a_plain_file_gets_nothing(tmp_path: Path) -> None:
    """The backend of keyrings.alt, or none at all: whichever there is has a priority below 1."""
    if SECRET_SERVICE:
        pytest.skip("a real one runs here")
    kept = Remembered(tmp_path / "device.pem")
    with pytest.raises(SigningKeyError, match=r"protects nothing|does not help"):
        kept.keep(b"several words")
    assert not kept.is_on


@needs_service
def test_a_real_secret_service_keeps_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store = KeyStore(tmp_path)
    old = store.make(WALK, "Keile vor Schlüssel".encode())
    kept = Remembered(store.path(WALK))
    with pytest.raises(SigningKeyError, match="no longer holds"):
        kept.passphrase()
    kept.keep("Keile vor Schlüssel".encode())
    assert kept.is_on
    assert Remembered(store.path(WALK)).passphrase() == "Keile vor Schlüssel".encode()
    assert unlocked(store, WALK).thumbprint == old.thumbprint
    assert "Keile" not in "".join(at.read_text("utf-8", "replace") for at in tmp_path.iterdir())

    new = store.rotate(WALK, old, b"chocks before keys")
    with pytest.raises(SigningKeyError, match="locked"):
        unlocked(store, WALK)  # what the keyring holds does not fit, and nobody can be asked
    keep_the_new_one(store, WALK, b"chocks before keys")
    assert unlocked(store, WALK).thumbprint == new.thumbprint

    kept.forget()
    assert not kept.is_on
    with pytest.raises(SigningKeyError, match="locked"):
        unlocked(store, WALK)
    kept.forget()  # twice is no fault
    capsys.readouterr()
