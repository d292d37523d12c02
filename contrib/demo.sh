# Open the worked demo practice in a throw-away folder; with no terminal to draw on, print its visit.
#
#   sh contrib/demo.sh PROGRAM
set -eu
program=$1
umask 077
folder=$(mktemp -d "${TMPDIR:-/tmp}/amble-demo.XXXXXX")
trap 'rm -rf "$folder"' EXIT
trap 'exit 1' HUP INT TERM
export XDG_STATE_HOME="$folder/state" # what it notes of the exchange goes with it

"$program" --data "$folder" demo contrib/demo >/dev/null
if [ -t 0 ] && [ -t 1 ]; then
    "$program" --data "$folder"
else
    "$program" --data "$folder" show Biscuit
fi
