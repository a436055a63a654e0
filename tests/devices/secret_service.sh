#!/bin/sh
# The tests of the keyring beside a real secret service, on a session bus of its own.
#   sh tests/devices/secret_service.sh PYTHON
# Needs dbus-run-session and gnome-keyring-daemon, and 'keyring' installed for that Python.
set -e
if [ -z "$WALKAROUND_SECRET_SERVICE" ]; then
    home=$(mktemp -d)
    mkdir -m 700 "$home/run"
    env HOME="$home" XDG_DATA_HOME="$home/data" XDG_RUNTIME_DIR="$home/run" \
        WALKAROUND_SECRET_SERVICE=1 dbus-run-session -- sh "$0" "$@"
    rm -rf "$home"
    exit
fi
printf 'a login' | gnome-keyring-daemon --unlock --components=secrets > /dev/null
"$1" -m pytest -q tests/devices/test_remembered.py
