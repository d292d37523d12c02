# What the scripts beside this one share: computers that are data folders in $house, a line between
# them, and TAP. Sourced from the top of the tree, after "set -u".
program=$(realpath "${AMBLE_PROGRAM:-build/amble}")
where=/tmp # in memory where there is such a place: each exchange flushes often
[ ! -w /dev/shm ] || where=/dev/shm
house=$(mktemp -d "$where/amble-sync-XXXXXX") || exit 1
trap 'rm -rf "$house"' EXIT
mkdir -p "$house/bin" "$house/stick" "$house/config"
export AMBLE_TEMPLATES="$house/config" AMBLE_NOW=2026-11-24T09:30 AMBLE_ROOM=0
PATH="$house/bin:$PATH"

# amble as the person at one computer: amble_at NAME ARGUMENT...
amble_at() {
    who=$1
    shift
    XDG_STATE_HOME="$house/$who/state" "$program" --data "$house/$who/data" "$@"
}

# A line to the computer that the address names.
make_ssh() {
    cat >"$house/bin/ssh" <<SSH
#!/bin/sh
while [ "\$1" != amble ]; do
    case \$1 in *@*) far=\${1#*@} ;; -p) shift ;; esac
    shift
done
shift
[ "\$far" != nowhere ] || { echo "ssh: Could not resolve hostname nowhere" >&2; exit 255; }
export XDG_STATE_HOME="$house/\$far/state"
[ -z "\${CUT:-}" ] || { head -c "\$CUT" >/dev/null; exit 255; }
exec "$program" --data "$house/\$far/data" "\$@"
SSH
    chmod 755 "$house/bin/ssh"
}

number=0
ok() { # what, condition already run: its status
    number=$((number + 1))
    if [ "$1" -eq 0 ]; then echo "ok $number - $2"; else
        echo "not ok $number - $2"
        sed 's/^/# /' "$house/said" 2>/dev/null | tail -n 20
    fi
}
says() { # text in what was said last
    grep -qF -- "$1" "$house/said"
}
does() { # run quietly, keep what it says
    "$@" >"$house/said" 2>&1
}
entries() {
    amble_at "$1" check | sed -n 's/^records .* \([0-9]*\) entries.*/\1/p'
}
enrol() {
    does amble_at "$1" device request "$house/$1.txt" --name "$1" &&
        numbers=$(tail -n 1 "$house/said") &&
        does amble_at base device admit "$house/$1.txt" --fingerprint "$numbers" &&
        numbers=$(tail -n 1 "$house/said") &&
        does amble_at "$1" device join "$house/$1.txt.reply" --fingerprint "$numbers"
}
