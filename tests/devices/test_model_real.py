"""The pinned model itself, where it is installed."""

from __future__ import annotations

from pathlib import Path

import pytest

from walkaround.devices.library import Library
from walkaround.devices.model import decoding_folder, present_model, read_manifest
from walkaround.errors import ModelError


def test_the_manifest_names_the_model() -> None:
    manifest = read_manifest(Library().read("models", "manifest"))
    assert manifest.name == "vosk-model-small-en-us-0.15"
    assert manifest.licence == "Apache-2.0"
    assert [source.kind for source in manifest.sources] == ["maven", "vosk catalogue"]
    assert len(manifest.files_sha256) == 64


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"name = ", "no model manifest"),
        (b"name = 'x'\nlicence = 'y'", "'files_sha256' is missing"),
        (b"name = '../x'\nlicence = 'y'", "plain folder name"),
        (b"\xff", "no model manifest"),
    ],
)
def test_a_broken_manifest_is_named(tmp_path: Path, text: bytes, said: str) -> None:
    found = Library().read("models", "manifest")
    broken = type(found)("manifest", text, found.origin, "", str(tmp_path / "manifest.toml"))
    with pytest.raises(ModelError, match=said):
        read_manifest(broken)


@pytest.mark.model
def test_the_installed_model_is_whole_and_loads_without_its_own_end_of_turn(
    tmp_path: Path,
) -> None:
    import vosk  # noqa: PLC0415 - loads the recogniser's library

    folder = present_model(read_manifest(Library().read("models", "manifest")))
    if folder is None:
        pytest.skip("the speech model is not installed (walkaround setup)")
    vosk.SetLogLevel(-1)
    model = vosk.Model(str(decoding_folder(folder, tmp_path)))
    recogniser = vosk.KaldiRecognizer(model, 16_000, '["yes", "no", "[unk]"]')
    ended = [recogniser.AcceptWaveform(bytes(3200)) for _ in range(120)]  # 12 s of silence
    assert not any(ended)
    assert model.vosk_model_find_word("governor") >= 0
    assert model.vosk_model_find_word("gladhand") < 0
