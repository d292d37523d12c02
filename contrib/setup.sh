# Install what amble needs, build it, and then
#
#   sh contrib/setup.sh run      open a worked demo practice in a throw-away folder
#   sh contrib/setup.sh check    run every test, analyzer and fuzzer; ends with "N passed, N failed"
#   sh contrib/setup.sh deps     nothing more
#
# For Debian 12 and its relatives. Nothing is installed that is there already.
# shellcheck disable=SC2086 # lists of packages are meant to be split
set -eu
cd "$(dirname "$0")/.."

to_build='gcc make libc6-dev libsqlite3-dev libyaml-dev libsodium-dev zlib1g-dev
    libncurses-dev'
to_check='libcmocka-dev libjansson-dev libvterm-dev libgsl-dev clang libclang-rt-14-dev clang-tidy
    clang-format cppcheck mandoc units'

stop() {
    echo "setup: $1" >&2
    exit 1
}

# ---- packages ----
missing_of() {
    for package; do
        case $(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null) in
        installed) ;;
        *) printf '%s ' "$package" ;;
        esac
    done
}

as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        env DEBIAN_FRONTEND=noninteractive "$@"
    elif [ -t 0 ]; then
        sudo env DEBIAN_FRONTEND=noninteractive "$@"
    else
        sudo -n env DEBIAN_FRONTEND=noninteractive "$@"
    fi
}

apt() {
    as_root apt-get -q -y -o Dpkg::Use-Pty=0 -o DPkg::Lock::Timeout=60 \
        -o APT::Update::Error-Mode=any "$@" </dev/null >"$log" 2>&1
}

# The first error of apt-get, without the address it was fetching from.
apt_error() {
    sed -n 's/^E: //p' "$log" | sed 's/[a-z]*:\/\/[^ ]*/.../g' | head -n 1
}

install_packages() {
    command -v dpkg-query >/dev/null || stop "this is no Debian; install by hand: $*"
    wanted=$(missing_of "$@")
    [ -n "$wanted" ] || return 0
    command -v apt-get >/dev/null || stop "there is no apt-get; install by hand: $wanted"
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo >/dev/null ||
            stop "installing needs root and there is no sudo; as root: apt-get install $wanted"
    fi
    echo "setup: installing $wanted" >&2
    as_root true 2>/dev/null || stop "sudo says no; as root: apt-get install $wanted"
    fetched=yes
    apt update || fetched=no
    apt install --no-install-recommends $wanted || {
        [ $fetched = yes ] || stop 'the list of packages could not be fetched; is there a network?'
        stop "apt-get cannot install $wanted: $(apt_error)"
    }
}

# ---- building ----
# One line when it works, the whole story when it does not.
quietly() {
    "$@" </dev/null >"$log" 2>&1 || {
        cat "$log" >&2
        stop "this failed: $*"
    }
}

run() {
    install_packages $to_build
    quietly make -j"$(nproc)"
    sh contrib/demo.sh build/amble
}

# Every part is run whatever the others say; the sum is told once, last.
check() {
    install_packages $to_build $to_check
    tally=$(pwd)/build/tally
    mkdir -p build
    : >"$tally"
    for part in check check-san lint fuzz; do
        TALLY=$tally make -k -j"$(nproc)" "$part" </dev/null >"$log" 2>&1 || true
        grep -v '^  \(CC\|LINK\) ' "$log" || true
    done
    awk '{ passed += $1; failed += $2; parts++ }
        END {
            if (parts != 4) failed += 4 - parts # a part that never came to count
            printf "%d passed, %d failed\n", passed, failed
            exit failed > 0
        }' "$tally"
}

log=$(mktemp "${TMPDIR:-/tmp}/amble-setup.XXXXXX")
trap 'rm -f "$log"' EXIT
trap 'exit 1' HUP INT TERM
case ${1:-} in
run) run ;;
check) check ;;
deps) install_packages $to_build $to_check ;;
*) stop 'say what: sh contrib/setup.sh run | check | deps' ;;
esac
