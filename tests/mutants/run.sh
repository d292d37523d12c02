# Break the code on purpose and see a test fail: a test that never failed proves nothing.
#
#   sh tests/mutants/run.sh [WORDS]     the breaks whose lines hold WORDS; without, all of them
#
# Each break is three lines of tests/mutants/breaks; it says how they read. The breaks are made in a
# copy of the tree, one after the other. First every test must pass there with nothing broken. A
# break that matches nothing, or does not compile, is a bad one, and neither caught nor missed. What
# is caught names the first test that failed. BUILD is the folder of the build, MAKE the make.
set -u
BUILD=${BUILD:-build} MAKE=${MAKE:-make}
words=${1:-}
work=$BUILD/mutants tree=$BUILD/mutants/tree
caught=0 missed=0 bad=0

# Tests keep what is measured short; a break may hang one.
export CMOCKA_MESSAGE_OUTPUT=TAP AMBLE_KILLS=3 AMBLE_FAULTS=40
seconds=300

mkdir -p "$tree" || exit 1
for part in Makefile src screens tests config contrib man; do
    rm -rf "${tree:?}/$part"
    cp -R "$part" "$tree/$part" || exit 1
done
# A blank line and what begins with # is not read: what is left are threes of harm, place and break.
awk -v words="$words" '
    /^#/ || /^$/ { next }
    { three[n++ % 3] = $0 }
    n % 3 == 0 && index(three[0] "\n" three[1] "\n" three[2], words) {
        print three[0] "\n" three[1] "\n" three[2]
    }' tests/mutants/breaks >"$work/list"

# What a test needs: screens and scripts drive the program. Warnings are none of our business.
build() { # TEST
    case $1 in
    *.sh) set -- build/amble ;;
    screens/*) set -- build/amble "build/tests/$1" ;;
    *) set -- "build/tests/$1" ;;
    esac
    env -u MAKEFLAGS -u BUILD "$MAKE" -C "$tree" -s -j"$(nproc)" CFLAGS=-w BUILD=build "$@" \
        >"$work/built" 2>&1
}
passes() { # TEST
    case $1 in
    *.sh) set -- sh "tests/$1" ;;
    *) set -- "build/tests/$1" ;;
    esac
    (cd "$tree" && AMBLE_PROGRAM=build/amble BUILD=build timeout "$seconds" "$@" </dev/null) \
        >"$work/said" 2>&1 && grep -q '^ok ' "$work/said" &&
        ! grep -v '# SKIP' "$work/said" | grep -q 'not ok '
}
bad() { # WORDS
    bad=$((bad + 1))
    echo "BAD     $harm: $1"
}

awk 'NR % 3 == 2 { print $2 }' "$work/list" | sort -u >"$work/tests"
while read -r test; do
    build "$test" && passes "$test" && continue
    tail -n 40 "$work/built" "$work/said"
    echo "$test does not pass with nothing broken"
    exit 1
done <"$work/tests"

while read -r harm && read -r file test && read -r change; do
    sed "$change" "$file" >"$work/broken" || exit 1
    if cmp -s "$file" "$work/broken"; then
        bad "matches nothing in $file any more"
        continue
    fi
    cat "$work/broken" >"$tree/$file"
    if ! build "$test"; then
        bad "does not compile"
        sed 's/^/        /' "$work/built" | head -n 5
    elif passes "$test"; then
        missed=$((missed + 1))
        echo "MISSED  $harm: $test passes"
    else
        caught=$((caught + 1))
        echo "caught  $harm: $test" \
            "$(sed -n '/# SKIP/d; s/.*not ok [-0-9 ]*\([^#]*\)/(\1)/p' "$work/said" | head -n 1)"
    fi
    cat "$file" >"$tree/$file"
done <"$work/list"

[ "$bad" -eq 0 ] || echo "$bad bad breaks: mend them"
echo "$caught caught, $missed missed"
[ "$missed" -eq 0 ] && [ "$bad" -eq 0 ] && [ "$caught" -gt 0 ]
