"""`python3 walkaround COMMAND`: sets a checkout up where needed, then runs the command.

A bootstrap only: standard library, nothing imported from the package.  Run as a folder,
Python puts that folder first on its path; it is taken off again, so that the package's
modules are never top-level names.  `python -m walkaround` (an installed wheel) just runs.
"""

import sys

LOCKS = ("requirements.lock",)


def main() -> None:
    # Imported here: a Ctrl-C while they load is answered below.
    import importlib.util  # noqa: PLC0415
    import runpy  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    here = Path(__file__).resolve().parent
    bootstrap = here.parent / ".ci" / "bootstrap.py"
    if __package__ or not bootstrap.is_file():
        runpy.run_module("walkaround.cli", run_name="__main__", alter_sys=True)
        return
    sys.path[:] = [at for at in sys.path if Path(at or ".").resolve() != here]
    spec = importlib.util.spec_from_file_location("bootstrap", bootstrap)
    if spec is None or spec.loader is None:
        raise SystemExit(f"{bootstrap} cannot be read; restore it")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.become(LOCKS, ["-m", "walkaround.cli", *sys.argv[1:]])


if __name__ == "__main__":
    try:
        main()
    except KeyboardInterrupt:
        sys.exit(130)
