"""`python -m walkaround.cli`: the command of a checkout, in the environment made for it.

The bootstrap holds Ctrl-C back while this Python starts; it is let through here, where a
sentence answers it.
"""

import signal
import sys


def _start() -> int:
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    from walkaround.cli import main  # noqa: PLC0415 - within reach of the sentence below

    return main()


if __name__ == "__main__":
    try:
        sys.exit(_start())
    except KeyboardInterrupt:
        sys.exit(130)
