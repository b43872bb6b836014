#!/bin/sh
# SPDX-License-Identifier: MIT
# Make or complete the virtual environment .venv for one purpose: demo, build or test.
set -eu

purpose="${1:?usage: tools/environment.sh demo|build|test}"
cd "$(dirname "$0")/.."
venv=.venv

say() { printf '%s\n' "$*" >&2; }

recent_enough() {
    "$1" -c 'import sys; raise SystemExit(sys.version_info < (3, 11))' 2>/dev/null
}

find_python() {
    for candidate in ${PYTHON:-python3 python3.14 python3.13 python3.12 python3.11 python}; do
        if command -v "$candidate" >/dev/null 2>&1 && recent_enough "$candidate"; then
            command -v "$candidate"
            return 0
        fi
    done
    return 1
}

may_install_packages() {
    [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1
}

make_venv() {
    python="$(find_python)" || {
        say "middlecut needs Python 3.11 or newer, and none was found${PYTHON:+ at $PYTHON}."
        say "Install it (on Debian or Ubuntu: apt-get install python3 python3-venv), or name one:"
        say "  make $purpose PYTHON=/path/to/python3"
        exit 1
    }
    say "Making $venv with $("$python" --version 2>&1) ..."
    if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
        version="$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')"
        if may_install_packages; then
            say "This Python cannot make virtual environments; installing python$version-venv ..."
            apt-get update -qq >&2
            DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "python$version-venv" >&2
        else
            say "This Python cannot make virtual environments: its venv module is missing."
            say "On Debian or Ubuntu an administrator can add it: apt-get install python$version-venv"
            exit 1
        fi
    fi
    rm -rf "$venv"
    "$python" -m venv "$venv"
}

# A half-made or too old environment is made afresh.
if ! { [ -x "$venv/bin/python" ] && recent_enough "$venv/bin/python" &&
    "$venv/bin/python" -m pip --version >/dev/null 2>&1; }; then
    make_venv
fi

case "$purpose" in
    demo) what=. ;;
    build) what='.[build]' ;;
    test) what='.[test]' ;;
    *)
        say "usage: tools/environment.sh demo|build|test"
        exit 1
        ;;
esac

say "Installing what '$purpose' needs into $venv ..."
if ! "$venv/bin/python" -m pip install --quiet --disable-pip-version-check -e "$what"; then
    say "The packages could not be installed; the lines above say why."
    say "A first set-up needs a network connection and about 600 MB of disk."
    exit 1
fi
# The browser tests drive the machine's own Chromium. Where there is none they are skipped, aloud.
if [ "$purpose" = test ] && [ -z "${MIDDLECUT_CHROMIUM:-}" ] &&
    ! command -v chromium >/dev/null 2>&1 && ! command -v chromium-browser >/dev/null 2>&1 &&
    ! command -v google-chrome >/dev/null 2>&1; then
    if may_install_packages; then
        say "Installing Chromium for the browser tests ..."
        { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium; } \
            >/dev/null 2>&1 || say "It could not be installed: the browser tests will be skipped."
    else
        say "There is no Chromium here: the browser tests will be skipped. An administrator can add"
        say "it (on Debian or Ubuntu: apt-get install chromium), or name one: MIDDLECUT_CHROMIUM=..."
    fi
fi
# Whatever holds for a larger purpose holds for the smaller ones too.
touch "$venv/.ready-demo"
[ "$purpose" = demo ] || touch "$venv/.ready-$purpose"
