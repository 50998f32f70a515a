# What the benchmarks share; sourced by them. Bash 3.2 is enough.
#
#   need COMMAND PACKAGE   installs the Debian package where the command is
#                          missing and we are root, else says what to install
#   machine                prints what the figures were measured on

need() {
	[ -n "$(type -P "$1")" ] && return
	if [ "$(id -u)" = 0 ] && [ -n "$(type -P apt-get)" ]; then
		echo "installing $2" >&2
		apt-get update -qq >&2
		DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends "$2" >&2
		hash -r
	fi
	if [ -z "$(type -P "$1")" ]; then
		echo "$0: $1 is missing; install it (Debian: apt-get install $2)" >&2
		exit 2
	fi
}

# GNU time says how much memory a process and its children held; the time of
# other systems has other options.
need_time() {
	need time time
	if ! "$(type -P time)" -f %M true >/dev/null 2>&1; then
		echo "$0: $(type -P time) is not GNU time; install that one first in the path" >&2
		exit 2
	fi
}

need_go() {
	if [ -z "$(type -P go)" ]; then
		echo "$0: go is missing; install Go as go.mod asks for it" >&2
		exit 2
	fi
}

machine() {
	local cpu os
	cpu=$(sed -n '/^model name/{s/[^:]*: *//p;q;}' /proc/cpuinfo 2>/dev/null || true)
	[ -n "$cpu" ] || cpu=$(sysctl -n machdep.cpu.brand_string 2>/dev/null || uname -m)
	os=$(sed -n 's/^PRETTY_NAME="\(.*\)"/\1/p' /etc/os-release 2>/dev/null || true)
	echo "machine      $cpu, $(getconf _NPROCESSORS_ONLN) cores"
	echo "system       ${os:-$(uname -s)}, $(uname -sr)"
	echo "go           $(go env GOVERSION) $(go env GOOS)/$(go env GOARCH)"
}
