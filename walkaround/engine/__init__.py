"""The state machine: events in, effects out. Knows no brake, no microphone, no clock, no file."""
