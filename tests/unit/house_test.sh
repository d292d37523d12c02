# The walls of the house: reads every #include and says, in TAP, which wall is broken. The same rules
# are then tried on small houses with one fault each, so that a rule that sees nothing fails too.
set -u

# Every include points downwards: a room and what it may know.
rooms='
base:
calc:base
template:base
journal:base
casebook:base calc template journal
share:base calc template journal casebook
output:base calc template journal casebook share
command:base calc template journal casebook share output
screens:base calc template journal casebook share output command
'

# All #include lines below the folders given, as "file:line room what".
includes() {
    find "$@" -name '*.[ch]' 2>/dev/null | sort | xargs -r awk '
        /^[[:space:]]*#[[:space:]]*include/ {
            room = FILENAME
            sub(/^src\//, "", room)
            sub(/\/.*/, "", room)
            what = $0
            sub(/^[^<"]*/, "", what)
            sub(/[>"][^>"]*$/, "", what)
            print FILENAME ":" FNR, room, what
        }'
}

# Each rule prints what breaks it.
upward_includes() {
    includes src screens | awk -v table="$rooms" '
        BEGIN {
            n = split(table, line, "\n")
            for (i = 1; i <= n; i++) {
                split(line[i], half, ":")
                known[half[1]] = 1
                may[half[1]] = " " half[1] " " half[2] " "
            }
        }
        $3 ~ /^"/ {
            target = substr($3, 2)
            sub(/\/.*/, "", target)
            if (!($2 in known))
                print $1 ": \"" $2 "\" is no room of the house"
            else if (index(may[$2], " " target " ") == 0)
                print $1 ": " $2 " must not know \"" substr($3, 2) "\""
        }'
}

# The kit serves every screen and knows none of them.
kit_knows_a_screen() {
    includes screens/kit | awk '$3 ~ /^"screens\// && $3 !~ /^"screens\/kit\// {
        print $1 ": the kit must not know \"" substr($3, 2) "\"" }'
}

terminal_in_src() {
    includes src | awk '$3 ~ /^<(ncursesw?\/|curses|ncurses|panel|form|menu|term\.h|termcap|tinfo)/ {
        print $1 ": src/ works without a terminal, and includes " $3 ">" }'
}

database_in_screens() {
    includes screens | awk '$3 ~ /sqlite/ { print $1 ": screens/ ask the casebook, not " $3 ">" }'
}

# The decimal mark must stay a point in every file and message.
whole_locale() {
    grep -rnE 'setlocale\((LC_ALL|LC_NUMERIC)' --include='*.[ch]' src screens 2>/dev/null
}

# Passphrases and secret keys live where base/locked.h puts them.
secrets_kept_elsewhere() {
    grep -rnE 'sodium_(malloc|allocarray|free|mlock|memzero)' --include='*.[ch]' src screens 2>/dev/null |
        grep -v '^src/base/locked\.c:'
}

long_files() {
    find src screens tests -name '*.[ch]' 2>/dev/null | sort | while read -r file; do
        lines=$(wc -l <"$file")
        [ "$lines" -le 700 ] || echo "$file: $lines lines; divide it by subject"
    done
}

# The top of the tree is the first thing a newcomer sees.
things_left_lying() {
    for thing in *; do
        case $thing in
        README.md | DEVELOPERS.md | LICENSE | Makefile | src | screens | config | tests | contrib | man) ;;
        build*) ;;
        *) echo "$thing has no place at the top of the tree" ;;
        esac
    done
}

# The list of rooms in DEVELOPERS.md: every folder, in the order of the walls; a room without a
# folder says that it is kept free.
stale_list_of_rooms() {
    [ -f DEVELOPERS.md ] || return 0
    listed=$(sed -n '/^src\//,/^screens\//s/^  \([a-z]*\)\/.*/\1/p' DEVELOPERS.md)
    wanted=$(echo "$rooms" | sed -n 's/:.*//p' | grep -v '^screens$')
    [ "$listed" = "$wanted" ] ||
        echo "DEVELOPERS.md lists $(echo "$listed" | xargs); the walls are $(echo "$wanted" | xargs)"
    for folder in src/*/; do
        room=$(basename "$folder")
        echo "$listed" | grep -qx "$room" || echo "DEVELOPERS.md does not list src/$room"
    done
    for room in $listed; do
        [ -d "src/$room" ] || grep -q "^  $room/.*kept free" DEVELOPERS.md ||
            echo "DEVELOPERS.md lists src/$room, which is not there"
    done
}

holds() { # rule: ok when it prints nothing
    found=$($1)
    if [ -z "$found" ]; then
        echo "ok - no $1" | tr '_' ' '
    else
        echo "not ok - $1" | tr '_' ' '
        echo "$found" | sed 's/^/# /'
    fi
}

all_rules='upward_includes kit_knows_a_screen terminal_in_src database_in_screens whole_locale
    secrets_kept_elsewhere long_files things_left_lying stale_list_of_rooms'
for rule in $all_rules; do
    holds "$rule"
done

# ---- the rules themselves ----
here=$(pwd)
house=$(mktemp -d) || exit 1
trap 'cd "$here" && rm -rf "$house"' EXIT

sound_house() {
    cd "$here" && rm -rf "$house" && mkdir -p "$house" && cd "$house" || exit 1
    mkdir -p src/base src/calc src/casebook screens/kit tests/unit
    echo '#include "base/text.h"' >src/base/text.c
    printf '#include "calc/key.h"\n#include <math.h>\n' >src/calc/key.c
    echo '  #  include  "calc/key.h" /* seen all the same */' >src/casebook/dog.c
    printf '#include "screens/kit/draw.h"\n#include "casebook/dog.h"\n' >screens/dog.c
    printf '#include <curses.h>\n#include "base/text.h"\n' >screens/kit/draw.c
    {
        echo 'src/   all'
        for room in base calc template journal casebook share output command; do
            [ -d src/$room ] && echo "  $room/ here" || echo "  $room/ kept free"
        done
        echo 'screens/ and nothing else'
    } >DEVELOPERS.md
}

notices() { # rule, file, line to add
    sound_house
    mkdir -p "$(dirname "$2")"
    echo "$3" >>"$2"
    if [ -n "$($1)" ]; then
        echo "ok - $1 notices $3" | tr '_' ' '
    else
        echo "not ok - $1 does not notice $3 in $2"
    fi
}

sound_house
for rule in $all_rules; do
    found=$($rule)
    [ -z "$found" ] && echo "ok - $rule leaves a sound house alone" ||
        echo "not ok - $rule: $found in a sound house"
done
notices upward_includes src/base/text.h '#include "calc/key.h"'
notices upward_includes src/calc/key.c '#include "journal/journal.h"'
notices upward_includes src/journal/journal.c '#include "template/template.h"'
notices upward_includes src/casebook/dog.c '# include "output/sheet.h"'
notices upward_includes src/casebook/dog.h '#include "screens/kit/draw.h"'
notices upward_includes src/casebook/dog.c '#include "dog.h"'
notices upward_includes src/casebook/dog.c '#include "../output/sheet.h"'
notices upward_includes src/attic/box.c '#include "base/text.h"'
notices kit_knows_a_screen screens/kit/draw.h '#include "screens/dog.h"'
notices terminal_in_src src/casebook/dog.c '#include <ncursesw/curses.h>'
notices terminal_in_src src/casebook/dog.c '#include <curses.h>'
notices terminal_in_src src/casebook/dog.c '#include <term.h>'
notices database_in_screens screens/dog.c '#include <sqlite3.h>'
notices database_in_screens screens/kit/draw.h '#include <sqlite3.h>'
notices whole_locale screens/dog.c '    setlocale(LC_ALL, "");'
notices secrets_kept_elsewhere src/share/keys.c '    k = sodium_malloc(sizeof *k);'
notices long_files tests/unit/long.c "$(yes 'int x;' | head -n 701)" | head -n 1
notices things_left_lying sheet 'a sheet that was saved'
notices stale_list_of_rooms src/attic/box.c 'int x;'
for edit in 's/share. kept free/share\/ sync/' 's/.*output.*//' 's/.*calc.*/  attic\/ kept free/'; do
    sound_house
    sed -i "$edit" DEVELOPERS.md
    [ -n "$(stale_list_of_rooms)" ] && printf 'ok - stale list of rooms notices %s\n' "$edit" ||
        printf 'not ok - stale list of rooms does not notice %s\n' "$edit"
done
