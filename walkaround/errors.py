"""Every error the program can explain, each with its own exit code.

    WalkaroundError
    ├── UsageError           2   the command line asks for something that does not exist
    ├── SheetError          10   a data file is not readable as YAML text
    │   ├── ScriptError     11   an inspection script
    │   ├── RuleError       12   a rule file
    │   ├── PhraseError     13   a phrase file or the thresholds
    │   └── ProfileError    14   a vehicle profile
    ├── PlaceError          15   a place the rule book does not know
    ├── JournalError        20   a journal that cannot be read or does not chain
    ├── RecordError         21   a record that is malformed or altered
    ├── UntrustedKeyError   22   an intact record by a key that is not trusted
    ├── SigningKeyError     23   a signing key that is missing, locked or damaged
    ├── DiskError           24   a write or sync that failed
    ├── InUseError          25   another walk holds the folder
    ├── NothingToResumeError 26  no unfinished walk in the folder
    ├── RevokedKeyError     27   a key that was taken back, and nothing shows that it was earlier
    ├── LogError            28   a device's log that is broken, or does not hold the record
    ├── ModelError          30   the speech model is missing or does not match its hash
    │   └── DownloadError   31   it could not be fetched
    ├── RecogniserError     40   the recogniser stopped or refuses the sound
    ├── MicrophoneError     41   no usable sound comes in
    ├── LoudspeakerError    42   no sound goes out
    ├── VoiceError          43   the voice cannot speak
    └── IllegalMoveError    70   our own mistake: an event the engine has no move for

Exit code 1 is left to crashes, 3 to a walk that ended unfinished and was kept,
130 to an interrupt.  `spoken` is what the driver hears: at most twelve words, and
it says what to do.  `str(error)` is one printed sentence with a way on.
"""

from __future__ import annotations

from typing import ClassVar

UNFINISHED = 3
"""Exit code of a walk that was stopped, kept whole, and can be resumed."""


class WalkaroundError(Exception):
    """Base of all; never raised itself."""

    exit_code: ClassVar[int] = 1
    spoken: ClassVar[str] = "Something went wrong. Nothing is lost. Look at the screen."


class UsageError(WalkaroundError):
    exit_code = 2
    spoken = "I cannot do that. Look at the screen."


class SheetError(WalkaroundError):
    """A data file cannot be used. Carries file and line (1-based, 0 = whole file)."""

    exit_code = 10
    spoken = "A data file is broken. Look at the screen."

    def __init__(self, problem: str, *, file: str = "", line: int = 0, key: str = "") -> None:
        self.problem, self.file, self.line, self.key = problem, file, line, key
        where = file + (f", line {line}" if line else "")
        super().__init__(f"{where}: {problem}" if where else problem)


class ScriptError(SheetError):
    exit_code = 11
    spoken = "The inspection script is broken. Look at the screen."


class RuleError(SheetError):
    exit_code = 12
    spoken = "The rule book is broken. Look at the screen."


class PhraseError(SheetError):
    exit_code = 13
    spoken = "The phrase file is broken. Look at the screen."


class ProfileError(SheetError):
    exit_code = 14
    spoken = "The vehicle profile is broken. Look at the screen."


class PlaceError(WalkaroundError):
    exit_code = 15
    spoken = "I have no rules for that place. Look at the screen."


class JournalError(WalkaroundError):
    exit_code = 20
    spoken = "The journal reads badly. It is kept. Look at the screen."


class RecordError(WalkaroundError):
    exit_code = 21
    spoken = "The record is not intact. Look at the screen."


class UntrustedKeyError(WalkaroundError):
    exit_code = 22
    spoken = "The record is by a key I do not know."


class SigningKeyError(WalkaroundError):
    exit_code = 23
    spoken = "No signing key. The walk is kept to be signed later."


class DiskError(WalkaroundError):
    exit_code = 24
    spoken = "I cannot write to the disk. Stop here. Look at the screen."


class InUseError(WalkaroundError):
    exit_code = 25
    spoken = "Another walk is using this folder. Finish that one first."


class NothingToResumeError(WalkaroundError):
    exit_code = 26
    spoken = "There is no unfinished walk here. Start a new one."


class RevokedKeyError(WalkaroundError):
    exit_code = 27
    spoken = "That key was taken back. The record's time is not proven."


class LogError(WalkaroundError):
    exit_code = 28
    spoken = "The device's log does not fit. Look at the screen."


class ModelError(WalkaroundError):
    exit_code = 30
    spoken = "The speech model is missing. Run set up, or type."


class DownloadError(ModelError):
    exit_code = 31
    spoken = "The speech model could not be fetched. You can type instead."


class RecogniserError(WalkaroundError):
    exit_code = 40
    spoken = "I stopped hearing for a moment. Please say that again."


class MicrophoneError(WalkaroundError):
    exit_code = 41
    spoken = "The microphone is lost. Check the headset. I will wait."


class LoudspeakerError(WalkaroundError):
    exit_code = 42
    spoken = "The loudspeaker is lost. Look at the screen."


class VoiceError(WalkaroundError):
    exit_code = 43
    spoken = "I have no voice. Read the screen after the tone."


class IllegalMoveError(WalkaroundError):
    exit_code = 70
    spoken = "A mistake of mine. Nothing is lost. Look at the screen."
