#!/usr/bin/env bash
# Runs all checks: layout of the code, vet, staticcheck, and every test on both
# database engines, then all but the longest again with the race detector; fails
# when the tests of domain reach less than 90 % of its statements. What is
# missing is installed or named first (scripts/need.sh). "make test" and CI run this
# and nothing else.
set -euo pipefail
cd "$(dirname "$0")/.."
source scripts/find.sh

staticcheck_version=v0.8.2
least_coverage=90

# The second round runs with the server in place.
if [ "${1:-}" != with-server ]; then
	scripts/need.sh
	exec scripts/with-postgres.sh "$0" with-server
fi

started=$SECONDS
summary=() failed=0

# check NAME COMMAND... runs a check, goes on when it fails, and notes both.
check() {
	local name=$1 begin=$SECONDS
	shift
	echo "== $name"
	if "$@"; then
		summary+=("ok      $name ($((SECONDS - begin)) s)")
	else
		summary+=("FAILED  $name ($((SECONDS - begin)) s)")
		failed=$((failed + 1))
	fi
}

formatted() {
	local files
	files=$(gofmt -l .)
	[ -z "$files" ] || { echo "not formatted, run make fmt: ${files//$'\n'/ }" >&2; return 1; }
}

# The tool is built once and kept outside the module, whose go.mod stays small.
staticcheck() {
	local tool=.cache/bin/staticcheck-$staticcheck_version
	if [ ! -x "$tool" ]; then
		GOFLAGS='' GOBIN=$PWD/.cache/bin go install "honnef.co/go/tools/cmd/staticcheck@$staticcheck_version" || return 1
		mv .cache/bin/staticcheck "$tool"
	fi
	"$tool" ./...
}

browser_packages() {
	local lock=browser/package-lock.json kept=browser/node_modules/.package-lock.json
	[ "$kept" -nt "$lock" ] || (cd browser && npm ci --no-audit --no-fund --loglevel=error)
}

# Statements of domain that the tests of domain itself reach. All tests run, without
# the race detector, which makes sums of chances ten times as slow.
domain_tests() {
	go test -timeout 30m -coverpkg=./domain/... -coverprofile=coverage.out ./domain/... || return 1
	local percent
	percent=$(go tool cover -func=coverage.out | awk '$1 == "total:" { sub("%", "", $3); print $3 }')
	echo "domain: $percent % of statements are reached, $least_coverage % are wanted"
	awk -v got="$percent" -v want=$least_coverage 'BEGIN { exit !(got + 0 >= want) }'
}

# With the race detector, without those tests that leave themselves out under
# -short: they play or judge thousands of times what smaller tests do here.
domain_races() {
	go test -race -short -timeout 30m ./domain/...
}

others() { go list ./... | grep -v '^winterbench/domain\(/\|$\)'; }

# All tests of the other packages run once without the race detector. No test of
# this round may restart the server that all of them share.
other_tests() {
	local packages
	packages=$(others) || return 1
	# shellcheck disable=SC2086
	env -u WINTERBENCH_TEST_POSTGRES_AGAIN go test -timeout 30m $packages
}

# With the race detector, without the tests that need the whole invented shop: its
# winters take minutes to play there.
other_races() {
	local packages
	packages=$(others) || return 1
	# shellcheck disable=SC2086
	env -u WINTERBENCH_TEST_POSTGRES_AGAIN go test -race -short -timeout 45m $packages
}

# The test that restarts its database has a server to itself.
restart_tests() {
	env -u WINTERBENCH_TEST_POSTGRES -u WINTERBENCH_TEST_POSTGRES_AGAIN \
		scripts/with-postgres.sh go test -timeout 10m -run '^TestTortureTwoServers$' ./cmd/winterbench
}

if [ -f browser/package.json ]; then
	WINTERBENCH_CHROMIUM=$(chromium_bin)
	export WINTERBENCH_CHROMIUM
	check "browser packages" browser_packages
fi
check "formatted" formatted
check "vet" go vet ./...
check "staticcheck $staticcheck_version" staticcheck
check "tests of domain, coverage of at least $least_coverage %" domain_tests
check "tests of domain with the race detector" domain_races
check "all other tests, on SQLite and PostgreSQL" other_tests
check "all other tests with the race detector" other_races
check "a database restarted in the middle of work" restart_tests

echo
printf '%s\n' "${summary[@]}"
echo "${#summary[@]} checks, $failed failed, $((SECONDS - started)) s"
[ "$failed" = 0 ]
