# Sourced by deploy/start and deploy/check: the environment, Node, the built PWA, Chromium.
# Each step leaves a stamp holding the digest of what it was made from, and is skipped while that
# digest stands, so that a second start costs seconds.

say() { printf '%s\n' "$*" >&2; }
die() { say "$*"; exit 1; }
digest() { sha256sum "$@" | sha256sum | cut -d' ' -f1; }
stamped() { [ -f "$1" ] && [ "$(cat "$1")" = "$2" ]; }

as_root_or_say() {
    # $1: what is missing; the rest: Debian packages that bring it
    local what=$1; shift
    [ "$(id -u)" = 0 ] || die "$what is missing. As root, once: apt-get install $*"
    say "Installing $* ($what is missing) ..."
    apt-get update -qq >&2 && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$@" >&2
}

find_python() {
    local name
    for name in python3.11 python3 python3.12 python3.13; do
        if command -v "$name" >/dev/null && "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
            PYTHON=$name
            return
        fi
    done
    die "Python 3.11 or newer is needed."
}

set_up_python() {
    # $1: the lock file to install; the one for tests contains all of the other
    local lock=$1 want stamp=.venv/.installed
    find_python
    "$PYTHON" -c 'import ensurepip, venv' 2>/dev/null || as_root_or_say "Python's venv module" python3-venv
    [ -x .venv/bin/python ] || "$PYTHON" -m venv .venv
    want=$(digest pyproject.toml "$lock")
    if ! stamped "$stamp" "$want" && ! stamped "$stamp" "$(digest pyproject.toml deploy/requirements-dev.txt)"; then
        say "Installing Python packages ..."
        .venv/bin/pip install --quiet --disable-pip-version-check --require-hashes -r "$lock"
        .venv/bin/pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
        printf '%s' "$want" >"$stamp"
    fi
}

node_fits() {
    command -v node >/dev/null && command -v npm >/dev/null && node -e '
        const [a, b] = process.versions.node.split(".").map(Number);
        process.exit((a === 20 && b >= 19) || (a === 22 && b >= 12) || a > 22 ? 0 : 1)'
}

set_up_node() {
    PATH=$PWD/.venv/bin:$PATH
    export PATH
    node_fits && return
    say "No Node.js that fits; installing one beside Python's packages ..."
    .venv/bin/pip install --quiet --disable-pip-version-check --require-hashes -r deploy/requirements-node.txt
    hash -r  # forget where the one that did not fit was found
    node_fits || die "Node.js 20.19 or newer of 20, or 22.12 or newer, is needed."
}

install_pwa_packages() {
    local want stamp=pwa/node_modules/.installed
    want=$(digest pwa/package-lock.json)
    stamped "$stamp" "$want" && return
    say "Installing the tablet app's packages ..."
    (cd pwa && npm ci --no-audit --no-fund --loglevel=error >&2)
    printf '%s' "$want" >"$stamp"
}

build_pwa() {
    local want stamp=pwa/dist/.built files
    mapfile -t files < <(find pwa/src pwa/public pwa/index.html pwa/*.json pwa/*.ts pwa/scripts api/dose/constants.json api/dose/references.md -type f | LC_ALL=C sort)
    want=$(digest "${files[@]}")
    stamped "$stamp" "$want" && return
    set_up_node
    install_pwa_packages
    say "Building the tablet app ..."
    (cd pwa && npm run --silent build >&2)
    printf '%s' "$want" >"$stamp"
}

set_up_chromium() {
    local name
    for name in chromium chromium-browser google-chrome; do
        if command -v "$name" >/dev/null; then
            CHROMIUM=$(command -v "$name")
            export CHROMIUM
            return
        fi
    done
    as_root_or_say "Chromium" chromium
    CHROMIUM=$(command -v chromium)
    export CHROMIUM
}
