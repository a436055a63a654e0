"""The inspection script and the vehicle profile: model, load, check, expand to a plan."""
