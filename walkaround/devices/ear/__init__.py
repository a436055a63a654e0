"""Hearing: one supervised child process holds recogniser, voice activity and sound streams.

ear.fed      sound in, transcripts out (demo, tests, benchmarks)
ear.live     the microphone and the loudspeakers, for stage_live
ear.child    starts the child, notices its death, starts another
ear.process  the child's main program
ear.listener blocks of any size in, utterances out: the same for fed and live
"""

from walkaround.devices.ear.fed import FedEar

__all__ = ["FedEar"]
