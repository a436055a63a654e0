"""A walk's folder: begun or taken up again, kept by one walk at a time, closed with a record.

journal.jsonl   every event, chained, synced before the walk goes on
sources/        the very data files it was made with, named by their hash
openings.json   a person's particulars, where some were given; may be removed
sound/          the answers as FLAC, where that was asked for; may be removed
record.jws      the signed record, one line; stopped.jws while the walk is unfinished
record.html     the same to read and print
"""

from __future__ import annotations

import secrets
import signal
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import Self

from walkaround import __version__
from walkaround.cli.folder import COPIES_NAME, begin_folder
from walkaround.cli.logs import logs_of
from walkaround.cli.material import Material, files_from_copies, judge_of, load
from walkaround.cli.reached import (
    must_be_its_openings,
    must_reach_logged,
    must_reach_signed,
)
from walkaround.cli.resuming import goes_on_with
from walkaround.cli.screen import complain, show
from walkaround.cli.stopping import StoppableStage, StopSignals
from walkaround.devices.clock import boot_id, boot_ms, today, wall_now
from walkaround.devices.disk import (
    JOURNAL_NAME,
    FolderLock,
    JournalFile,
)
from walkaround.devices.keys import KeyStore
from walkaround.devices.personal import is_over
from walkaround.engine.state import State
from walkaround.errors import (
    DiskError,
    JournalError,
    NothingToResumeError,
    SigningKeyError,
    UsageError,
    WalkaroundError,
)
from walkaround.exchange import Event, SittingOpened, Wording
from walkaround.records.journal import (
    Ended,
    Head,
    JournalReading,
    events,
    key_named,
    read_journal,
)
from walkaround.records.keys import SigningKey
from walkaround.records.opening import Opening, outline_of
from walkaround.records.particulars import SALT_BYTES, commit
from walkaround.records.signature import WalkKind
from walkaround.records.wording import SOUND_NOTICE
from walkaround.speech.ports import Stage
from walkaround.walk import Keeper, Recorder, Walk, closing_for, may_go_on, replay

Watch = Callable[[Event, State], None]


def _watch_nothing(_event: Event, _state: State) -> None:
    """Nobody looks on."""


@dataclass(frozen=True, slots=True)
class Sat:
    """How a sitting went. `ended` None: the input ended before the walk did; `told` is the
    signal that made it end, None when it just ended."""

    ended: Ended | None
    state: State
    at_ms: int
    told: signal.Signals | None = None


@dataclass(slots=True)
class Session(AbstractContextManager["Session"]):
    """One sitting in a walk's folder. Leaving it frees the folder; nothing else is undone."""

    folder: Path
    kind: WalkKind
    key: SigningKey | None
    material: Material
    journal: JournalFile
    lock: FolderLock
    head: Head
    state: State = field(default_factory=State)
    torn: int = 0  # bytes of a last line that a crash had cut short
    signals: StopSignals = field(default_factory=StopSignals)
    sound_until: str = ""  # a day: answers are recorded, and kept until then

    @property
    def sitting(self) -> int:
        """The number of the sitting that is to be opened."""
        return self.state.sitting + 1

    def walk(
        self,
        stage: Stage,
        wording: Wording,
        watch: Watch = _watch_nothing,
        *,
        reach: tuple[str, ...] = (),
    ) -> Sat:
        """One sitting on this stage, until it is finished, stopped, or told to stop.

        Whichever it is, the journal has its closing, unless the disk failed. Raises DiskError,
        and the errors of the stage.
        """
        material = self.material
        keeper = Keeper(self.journal, self.head, self.kind, self.key, self._recorder(stage))
        signals = self.signals.__enter__()  # until the record is written, too
        walk = Walk(
            material.plan,
            StoppableStage(stage, signals),
            keeper,
            judge_of(material),
            material.language,
            state=self.state,
            watch=watch,
        )
        opening = SittingOpened(self.sitting, wall_now(), boot_id(), boot_ms(), wording, reach)
        ended, fault = _run(walk, opening)
        if ended is None:
            keeper.closing(closing_for(walk.state, Ended.STOPPED, stage.now_ms()))
        # A signal to the whole group ends the voice and the ear too: no fault of theirs.
        if fault is not None and signals.asked is None:
            raise fault
        return Sat(ended, walk.state, stage.now_ms(), signals.asked)

    @property
    def records_sound(self) -> bool:
        """Whether the walk's opening asks for it, and its time is not over."""
        return bool(self.sound_until) and not is_over(self.sound_until, today())

    def _recorder(self, stage: Stage) -> Recorder | None:
        """None unless answers are recorded; says so on the screen and aloud."""
        if not self.records_sound:
            return None
        # Imported here: few record, and the library should not cost the others their start.
        from walkaround.devices.sound_clips import SoundRecorder  # noqa: PLC0415

        notice = SOUND_NOTICE.format(day=self.sound_until)
        show(notice)
        stage.say((), [notice])
        return SoundRecorder(self.folder, complain)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.signals.__exit__(kind, error, trace)
        self.journal.close()
        self.lock.release()


def _run(walk: Walk, opening: SittingOpened) -> tuple[Ended | None, WalkaroundError | None]:
    """How the walk ended, or the fault of voice, ear or sound that broke it off."""
    try:
        return walk.run(opening), None
    except DiskError:
        raise
    except WalkaroundError as fault:
        return None, fault


def begin(
    folder: Path,
    material: Material,
    kind: WalkKind,
    key: SigningKey | None,
    vehicle: Mapping[str, str],
    *,
    person: Mapping[str, str] = MappingProxyType({}),
    sound_until: str = "",
) -> Session:
    """A new walk in a folder of its own, which is not there before. Raises InUseError, DiskError.

    Answers are recorded and kept until the day `sound_until`, if there is one.
    The record commits to the particulars of `person`; they themselves lie in a file that can be
    removed. When it cannot be begun no folder is left: nothing was heard yet.
    """
    commitments, openings = commit(person, secrets.token_bytes(SALT_BYTES))
    opening = Opening(
        kind=kind,
        walk_id=folder.name,
        program=f"walkaround {__version__}",
        script=material.plan.script,
        places=material.places,
        sources=material.sources(),
        outline=outline_of(material.plan),
        vehicle=vehicle,
        device=key.thumbprint if key else "",
        particulars=commitments,
        sound_until=sound_until,
    )
    begun = begin_folder(folder, opening, material, key, openings=openings if person else b"")
    return Session(
        folder,
        kind,
        key,
        material,
        begun.journal,
        begun.lock,
        begun.head,
        sound_until=sound_until,
    )


@dataclass(frozen=True, slots=True)
class OpenJournal:
    """A walk's journal, held, read, and whole: what a crash left torn is cut off."""

    journal: JournalFile
    lock: FolderLock
    reading: JournalReading


def open_journal_in(folder: Path, held: ExitStack) -> OpenJournal:
    """Hold the folder and read its journal; `held` lets go of both.

    Raises UsageError when there is none, InUseError, JournalError naming the file, DiskError.
    """
    path = folder / JOURNAL_NAME
    if not path.is_file():
        raise UsageError(f"there is no walk in {folder} (no {JOURNAL_NAME}); check the path")
    lock = FolderLock(folder)
    held.callback(lock.release)
    journal = JournalFile(path)
    held.callback(journal.close)
    reading = reading_of(journal)
    return OpenJournal(journal, lock, reading)


def reading_of(journal: JournalFile) -> JournalReading:
    """What stands in it, as far as a crash left it whole. Raises JournalError naming the file."""
    try:
        return read_journal(journal.read(), after_crash=True)
    except JournalError as bad:
        raise JournalError(f"{journal.path}: {bad}") from None


def take_up(folder: Path, key_for: Callable[[WalkKind], SigningKey | None]) -> Session:
    """An unfinished walk, replayed to where it was.

    Raises NothingToResumeError, JournalError, also for a journal that was cut back behind a
    signed record, RecordError, UsageError, SigningKeyError when the key is
    another than the one that the walk was begun with: no record could be made of both.
    """
    with ExitStack() as held:
        opened = open_journal_in(folder, held)
        reading, opening = opened.reading, opened.reading.opening
        must_reach_signed(folder, reading)
        must_go_on(folder, reading)
        show(goes_on_with(folder, reading))
        must_reach_logged(folder, reading, logs_of(KeyStore(), (), ()).own)
        must_be_its_openings(folder, reading)
        key = key_for(opening.kind)
        must_be_its_key(folder, reading, key)
        files = files_from_copies(opening, folder / COPIES_NAME)
        material = load(files, opening.script, opening.places)
        state = replay(material.plan, events(reading.entries))
        if state.sitting and not may_go_on(state):
            raise NothingToResumeError(_finished(folder))
        if reading.torn_tail:
            opened.journal.cut_to(reading.whole_bytes)
        held.pop_all()
    return Session(
        folder,
        opening.kind,
        key,
        material,
        opened.journal,
        opened.lock,
        reading.head,
        state,
        torn=len(reading.torn_tail),
        sound_until=opening.sound_until,
    )


def must_go_on(folder: Path, reading: JournalReading) -> None:
    """Raises NothingToResumeError for a walk that was gone through to its end."""
    if reading.head.complete:
        raise NothingToResumeError(_finished(folder))


def _finished(folder: Path) -> str:
    return (
        f"the walk in {folder} is finished; start a new one. "
        f"If it has no record yet, make it with: keys --sign {folder}"
    )


def must_be_its_key(folder: Path, reading: JournalReading, key: SigningKey | None) -> None:
    """Raises SigningKeyError for another key than the walk's; without a key it goes on unsigned."""
    bound = key_named(reading)
    if key is not None and bound not in ("", key.thumbprint):
        raise SigningKeyError(
            f"the walk in {folder} was begun with the key {bound}, and the key here is "
            f"{key.thumbprint}: a record of both would be refused. Put that key back, "
            "or start a new walk"
        )
