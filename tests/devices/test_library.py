"""The locator: which place wins, what is said when nothing is there."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from walkaround.devices.library import Layer, Library, Origin, checkout_folder, standard_layers
from walkaround.errors import UsageError


def _put(root: Path, name: str, text: str) -> None:
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


@pytest.fixture
def library(tmp_path: Path) -> Library:
    _put(tmp_path, "user/scripts/truck.yaml", "mine")
    _put(tmp_path, "checkout/scripts/truck.yaml", "theirs")
    _put(tmp_path, "checkout/scripts/bus.yaml", "bus")
    _put(tmp_path, "checkout/scripts/rules/ca-on.yaml", "rule")
    _put(tmp_path, "checkout/walkaround/speech/thresholds.yaml", "measured")
    _put(tmp_path, "user/speech/thresholds.yaml", "wished for")
    _put(tmp_path, "wheel/scripts/bus.yaml", "shipped bus")
    _put(tmp_path, "wheel/scripts/tea.yaml", "tea")
    checkout = tmp_path / "checkout"
    return Library(
        [
            Layer(Origin.USER, tmp_path / "user"),
            Layer(Origin.CHECKOUT, checkout, checkout / "walkaround"),
            Layer(Origin.WHEEL, tmp_path / "wheel", checkout / "walkaround"),
        ]
    )


def test_the_users_folder_wins_then_the_checkout_then_the_wheel(library: Library) -> None:
    found = library.read_all("scripts")
    assert list(found) == ["bus", "tea", "truck"]
    assert [(f.content, f.origin) for f in found.values()] == [
        (b"bus", Origin.CHECKOUT),
        (b"tea", Origin.WHEEL),
        (b"mine", Origin.USER),
    ]


def test_what_is_found_carries_its_hash_and_its_place(library: Library) -> None:
    found = library.read("rules", "ca-on")
    assert found.sha256 == hashlib.sha256(b"rule").hexdigest()
    assert found.file.endswith("ca-on.yaml")


def test_measured_thresholds_cannot_be_replaced_from_the_users_folder(library: Library) -> None:
    found = library.read("thresholds", "thresholds")
    assert (found.content, found.origin) == (b"measured", Origin.CHECKOUT)


@pytest.mark.parametrize("name", ["lorry", "../truck", "rules/ca-on", "", "truck.yaml"])
def test_an_unknown_name_is_answered_with_the_known_ones(library: Library, name: str) -> None:
    with pytest.raises(UsageError, match="bus, tea, truck"):
        library.read("scripts", name)


def test_an_unknown_kind_is_answered_with_the_kinds(library: Library) -> None:
    with pytest.raises(UsageError, match="scripts, steps"):
        library.names("recipes")


def test_an_empty_kind_says_so(library: Library) -> None:
    with pytest.raises(UsageError, match="none at all"):
        library.read("vehicles", "any")


def test_the_running_checkout_is_one_of_the_standard_places(tmp_path: Path) -> None:
    root = checkout_folder()
    origins = [layer.origin for layer in standard_layers(tmp_path)]
    assert root is not None
    assert origins == [Origin.USER, Origin.CHECKOUT, Origin.WHEEL]
