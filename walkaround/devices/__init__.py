"""The only room that touches clock, sound, models, disk and keys."""
