"""One file per command: chooses the devices, hands them to the walk, prints."""
