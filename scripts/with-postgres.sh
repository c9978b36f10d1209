#!/usr/bin/env bash
# Runs a command with a PostgreSQL server of its own, for tests only:
#
#	scripts/with-postgres.sh go test ./store/...
#
# The server is a private cluster in a temporary folder that only its user can
# enter. It listens on a socket in that folder and on no network port, so that
# no port can be taken and nobody else can reach it. The command finds it in
# WINTERBENCH_TEST_POSTGRES. When the command ends, or is interrupted, the server
# is stopped and the folder removed. A server named in that variable beforehand
# is used as it is. PostgreSQL refuses to run as root: for root, it runs as the
# user postgres, or as nobody.
set -euo pipefail
[ $# -gt 0 ] || { echo "usage: $0 COMMAND [ARGUMENT...]" >&2; exit 2; }
[ -z "${WINTERBENCH_TEST_POSTGRES:-}" ] || exec "$@"

here=$(cd "$(dirname "$0")" && pwd)
source "$here/find.sh"
bin=$(pg_bin) || { echo "missing: the PostgreSQL server (Debian and Ubuntu: sudo apt-get install postgresql)" >&2; exit 1; }

# A socket's path has at most 107 bytes, which a long TMPDIR would pass.
folder=$(mktemp -d /tmp/winterbench-pg.XXXXXX)

as_server=()
if [ "$(id -u)" = 0 ]; then
	user=postgres
	id "$user" >/dev/null 2>&1 || user=nobody
	chown "$user" "$folder"
	if command -v setpriv >/dev/null; then
		as_server=(setpriv --reuid="$user" --regid="$(id -g "$user")" --clear-groups --)
	else
		as_server=(runuser -u "$user" --)
	fi
fi

server() { (cd / && exec env -u PGDATA -u PGHOST -u PGPORT -u PGUSER -u PGDATABASE ${as_server[@]+"${as_server[@]}"} "$bin/$@"); }

cleanup() {
	local status=$?
	trap - EXIT
	trap '' INT TERM HUP
	if [ -f "$folder/data/postmaster.pid" ]; then
		server pg_ctl stop -D "$folder/data" -m immediate -s || true
	fi
	rm -rf "$folder"
	exit "$status"
}
trap cleanup EXIT
trap 'exit 130' INT
trap 'exit 143' TERM
trap 'exit 129' HUP

server initdb -D "$folder/data" -U winterbench -A trust -E UTF8 --locale=C --no-sync >"$folder/init.log" 2>&1 ||
	{ cat "$folder/init.log" >&2; exit 1; }
settings="-c listen_addresses= -c unix_socket_directories=$folder -c max_connections=300 -c autovacuum=off"
if [ "${WINTERBENCH_TEST_DURABLE:-}" != 1 ]; then # nothing here must outlive a crash
	settings+=" -c fsync=off -c synchronous_commit=off -c full_page_writes=off"
fi
if ! server pg_ctl start -D "$folder/data" -l "$folder/log" -w -s -t 60 -o "$settings" >"$folder/start.log" 2>&1; then
	echo "PostgreSQL did not start:" >&2
	cat "$folder/start.log" "$folder/log" >&2
	exit 1
fi

cat >"$folder/again" <<-END
	#!/usr/bin/env bash
	cd / && exec env -u PGDATA -u PGHOST -u PGPORT -u PGUSER -u PGDATABASE ${as_server[@]+${as_server[*]}} \
		"$bin/pg_ctl" restart -D "$folder/data" -l "$folder/log" -w -s -t 60 -m "\$1" -o "$settings"
END
chmod 755 "$folder/again"
export WINTERBENCH_TEST_POSTGRES_AGAIN="$folder/again"
export WINTERBENCH_TEST_POSTGRES="postgres://winterbench@/postgres?host=$folder"
# The command gets a process group of its own: a signal is handed on to all of
# it, and the server goes only after it has ended.
set -m
"$@" &
child=$!
set +m
hand_on() {
	trap '' INT TERM HUP
	kill -s "$1" -- "-$child" 2>/dev/null || true
	wait "$child" || true
	exit "$2"
}
trap 'hand_on INT 130' INT
trap 'hand_on TERM 143' TERM
trap 'hand_on HUP 129' HUP
wait "$child"
