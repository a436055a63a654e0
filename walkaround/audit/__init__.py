"""Was it a proper check? From the records and the script alone; never from the engine's word."""
