#!/bin/sh
# SPDX-License-Identifier: MIT
# Make sure the programs of a PostgreSQL server are on this machine, for the tests of the record.
# No server is started and none of the machine is touched; the tests make a private one of their own.
set -eu

say() { printf '%s\n' "$*" >&2; }

found() {
    command -v initdb >/dev/null 2>&1 || ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1
}

found && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    say "Installing PostgreSQL's programs for the tests of the record ..."
    # Without this Debian would start a server for the whole machine.
    mkdir -p /etc/postgresql-common
    [ -e /etc/postgresql-common/createcluster.conf ] ||
        printf 'create_main_cluster = false\n' >/etc/postgresql-common/createcluster.conf
    apt-get update -qq >&2 &&
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq postgresql >&2 || true
fi
if ! found; then
    say "------------------------------------------------------------------------------------"
    say "PostgreSQL is missing: the tests of a record in PostgreSQL will be SKIPPED."
    say "On Debian or Ubuntu an administrator can add it: apt-get install postgresql"
    say "------------------------------------------------------------------------------------"
fi
