"""The dialogue on the screen, as it happens: who spoke when, in two columns."""

from __future__ import annotations

from collections.abc import Sequence

from walkaround.cli.screen import show

Line = tuple[int, str, str]
"""(milliseconds of the sitting, who, words)"""

_WHO = {"prompt": "  ", "driver": "> ", "tone": "~ "}


class ScreenTranscript:
    """Prints what was added since it was last shown."""

    def __init__(self, *, quiet: bool) -> None:
        self._quiet, self._shown = quiet, 0

    def show(self, said: Sequence[Line]) -> None:
        """Print the new lines."""
        for at_ms, who, words in said[self._shown :]:
            if not self._quiet:
                show(f"{clock(at_ms)}  {_WHO.get(who, '  ')}{words}")
        self._shown = len(said)


def clock(at_ms: int) -> str:
    """`12:05`: minutes and seconds of the sitting."""
    return f"{at_ms // 60_000:02d}:{at_ms // 1000 % 60:02d}"
