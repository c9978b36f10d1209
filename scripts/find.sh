# Where programs are, for the other scripts to source.

# pg_bin prints the folder of PostgreSQL's server programs, the newest when
# there are several.
pg_bin() {
	local dir
	for dir in $(ls -d /usr/lib/postgresql/*/bin /usr/pgsql-*/bin /opt/homebrew/opt/postgresql*/bin /usr/local/opt/postgresql*/bin 2>/dev/null | sort -rV); do
		if [ -x "$dir/initdb" ] && [ -x "$dir/pg_ctl" ] && [ -x "$dir/postgres" ]; then
			echo "$dir"
			return
		fi
	done
	dir=$(command -v initdb) && dirname "$dir"
}

# chromium_bin prints the path of a browser that speaks the DevTools protocol.
chromium_bin() {
	command -v "${WINTERBENCH_CHROMIUM:-}" || command -v chromium || command -v chromium-browser || command -v google-chrome
}
