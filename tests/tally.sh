# Run test programs and scripts, show what failed, end with "N passed, N failed".
#
#   sh tests/tally.sh PROGRAM... SCRIPT.sh...
#
# Twice as many run at once as there are processors: who drives a terminal mostly waits. Each speaks
# TAP ("ok ...", "not ok ...", "# why"); C programs do so through cmocka. A program that is not
# there, dies, or runs no test at all is one failure. With TALLY=FILE in the environment the two
# numbers are added to that file and the closing line is left to whoever sums it.
set -u
export CMOCKA_MESSAGE_OUTPUT=TAP

passed=0 failed=0 skipped=0
folder=$(mktemp -d) || exit 1
trap 'rm -rf "$folder"' EXIT

# What program $1 says goes into $folder/PROGRAM/out, how it ended into status beside it.
run_one='
    mkdir -p "$0/$1"
    case $1 in
    *.sh) timeout 1200 sh "$1" </dev/null ;;
    *) timeout 600 "$1" </dev/null ;;
    esac >"$0/$1/out" 2>&1
    echo $? >"$0/$1/status"'
printf '%s\n' "$@" | xargs -P "$((2 * $(nproc)))" -I '{}' sh -c "$run_one" "$folder" '{}'

for program in "$@"; do
    out=$folder/$program/out
    status=$(cat "$folder/$program/status")
    ok=$(grep -c '^ok ' "$out")
    skip=$(grep -c '^\(not \)\{0,1\}ok .*# SKIP' "$out")
    bad=$(grep '^not ok ' "$out" | grep -vc '# SKIP')
    if [ "$bad" -eq 0 ] && [ "$status" -ne 0 ]; then
        bad=1
        case $status in
        126 | 127) echo "not ok - $program could not be run (was it built?)" ;;
        124) echo "not ok - $program did not end in time" ;;
        *) echo "not ok - $program ended with status $status" && tail -n 60 "$out" ;;
        esac
    elif [ "$ok" -eq 0 ] && [ "$bad" -eq 0 ] && [ "$skip" -eq 0 ]; then
        bad=1
        echo "not ok - $program ran no test"
    elif [ "$bad" -gt 0 ]; then
        echo "$program:"
        grep -v '^ok \|^[0-9]*\.\.[0-9]*$\|# SKIP' "$out" | awk '/^not ok/ { n = 0 } ++n <= 50'
    fi
    passed=$((passed + ok)) failed=$((failed + bad)) skipped=$((skipped + skip))
done

[ "$skipped" -eq 0 ] || echo "$skipped skipped"
if [ -n "${TALLY:-}" ]; then
    echo "$passed $failed" >>"$TALLY"
else
    echo "$passed passed, $failed failed"
fi
[ "$failed" -eq 0 ]
