"""The speech model: which one, where from, is it whole, and how it is put in place."""

from walkaround.devices.model.install import ensure_model, model_home, present_model
from walkaround.devices.model.manifest import Manifest, Source, folder_hash, read_manifest
from walkaround.devices.model.overlay import decoding_folder

__all__ = [
    "Manifest",
    "Source",
    "decoding_folder",
    "ensure_model",
    "folder_hash",
    "model_home",
    "present_model",
    "read_manifest",
]
