"""How this package starts a process of its own: by module name, seeing the same package."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping

from walkaround.devices.library import package_folder


def module_command(module: str) -> list[str]:
    """The command line that runs a module of this package with this Python."""
    return [sys.executable, "-m", module]


def child_environment(extra: Mapping[str, str] | None = None) -> dict[str, str]:
    """This process's environment, with the running package first on the child's path."""
    environment = dict(os.environ)
    paths = [str(package_folder().parent), *environment.get("PYTHONPATH", "").split(os.pathsep)]
    environment["PYTHONPATH"] = os.pathsep.join(path for path in paths if path)
    environment.update(extra or {})
    return environment
