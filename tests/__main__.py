"""`python3 tests [pytest's options]`: sets a checkout up where needed, then runs every check.

A bootstrap only, like `walkaround/__main__.py`; the checks stand in `.ci/check.py`.
"""

import importlib.util
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
LOCKS = ("requirements.lock", "requirements-dev.lock")  # the second holds the first


USAGE = """usage: python3 tests [--help] [PYTEST'S OPTIONS]

Sets the checkout up where needed, then runs every check: format, lint, types, the doors between
the rooms, and the tests. What is given goes to pytest:

  python3 tests                 all but the minutes-long tests
  python3 tests --slow          these too; about an hour
  python3 tests -k rules        only tests whose names have "rules"
"""


def main() -> None:
    if {"-h", "--help"} & set(sys.argv[1:]):
        print(USAGE, end="")
        return
    folder = HERE.parent / ".ci"
    sys.path[:] = [at for at in sys.path if Path(at or ".").resolve() != HERE]
    spec = importlib.util.spec_from_file_location("bootstrap", folder / "bootstrap.py")
    if spec is None or spec.loader is None:
        raise SystemExit(f"{folder} cannot be read; restore it")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.become(LOCKS, [str(folder / "check.py"), *sys.argv[1:]])


if __name__ == "__main__":
    try:
        main()
    except KeyboardInterrupt:
        sys.exit(130)
