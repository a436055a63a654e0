"""Words and meaning, both ways. Knows language; never a device, a limit or a step."""
