#!/usr/bin/env bash
# Makes sure that what the tests need is there: the PostgreSQL server, a C
# compiler for the race detector, poppler-utils to read the PDF documents, and
# node, npm and chromium for the walk in a browser. As root on a system with
# apt-get it installs what is missing; elsewhere it says in one line what to
# install, and fails.
set -euo pipefail
cd "$(dirname "$0")/.."
source scripts/find.sh

missing() {
	pg_bin >/dev/null || echo postgresql
	command -v gcc >/dev/null || command -v clang >/dev/null || echo gcc
	command -v pdftotext >/dev/null && command -v pdftoppm >/dev/null || echo poppler-utils
	[ -f /usr/include/stdlib.h ] || [ "$(uname)" != Linux ] || echo libc6-dev
	if [ -f browser/package.json ]; then
		command -v node >/dev/null || echo nodejs
		command -v npm >/dev/null || echo npm
		chromium_bin >/dev/null || echo chromium
	fi
}

# Debian's PostgreSQL package makes and starts a server of its own unless told
# not to. The tests need only the programs.
without_main_cluster() {
	local conf=/etc/postgresql-common/createcluster.d/winterbench.conf
	mkdir -p "$(dirname "$conf")"
	echo 'create_main_cluster = false' >"$conf"
	local status=0
	"$@" || status=$?
	rm -f "$conf"
	return "$status"
}

command -v go >/dev/null || { echo "missing: Go 1.26 or newer; install it and run again" >&2; exit 1; }
packages=$(missing)
[ -n "$packages" ] || exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
	echo "installing: ${packages//$'\n'/ }"
	export DEBIAN_FRONTEND=noninteractive
	apt-get update -qq
	# shellcheck disable=SC2086
	without_main_cluster apt-get install -y -qq --no-install-recommends $packages >/dev/null
	packages=$(missing)
	[ -n "$packages" ] || exit 0
fi
echo "missing: ${packages//$'\n'/ } (Debian and Ubuntu: sudo apt-get install ${packages//$'\n'/ }); install and run again" >&2
exit 1
