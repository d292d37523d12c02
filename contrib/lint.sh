# What machines can say about the source, in TAP: one line a tool, its findings after it as "# ...".
#
#   BUILD=folder MAKE=make sh contrib/lint.sh
#
# Only findings count: every tool runs with its warnings as errors.
# shellcheck disable=SC2086 # lists of our own file names are meant to be split
set -u
: "${BUILD:=build-lint}" "${MAKE:=make}"
mkdir -p "$BUILD"
jobs=$(nproc)
sources=$(find src screens -name '*.c' | sort)
headers=$(find src screens tests -name '*.h' | sort)
tests=$(find tests -name '*.c' | sort)

# tool NAME COMMAND...: fine when the command succeeds
tool() {
    name=$1
    shift
    if "$@" >"$BUILD/out" 2>&1; then
        echo "ok - $name"
    else
        echo "not ok - $name"
        grep -v '^  \(CC\|LINK\) \|jobserver' "$BUILD/out" | head -n 40 | sed 's/^/# /'
    fi
}

compiles() { # folder, compiler, flags, goal
    "$MAKE" -k -s --no-print-directory -j"$jobs" BUILD="$BUILD/$1" CC="$2" OPT="$3" "$4"
}

# One file at a time: the analyzer of clang 14 takes a va_list of the second file for uninitialized.
# Its shallow mode takes a fifth of the time; DEPTH=deep is for a long evening.
tidy() {
    echo "$sources" | DEPTH=${DEPTH:-shallow} xargs -n 1 -P "$jobs" sh -c '
        clang-tidy --quiet "$@" -- -std=c11 -D_GNU_SOURCE -Isrc -I. -DAMBLE_CONFIG="\"\"" \
            -Wall -Wextra -Wconversion -Wshadow -Xclang -analyzer-config -Xclang mode=$DEPTH 2>&1 |
            grep -v "warnings\{0,1\} \(generated\|treated\)" |
            grep -A 6 "error:\|warning:" && exit 1 || exit 0' tidy
}

# The only other thread flushes one file, and readdir_r, which it would have instead, is deprecated.
checked_by_cppcheck() {
    cppcheck -q -j "$jobs" --std=c11 --library=posix --enable=warning,portability,performance \
        --inline-suppr --error-exitcode=1 --suppress=missingIncludeSystem --suppress=readdirCalled \
        -Isrc -I. src screens
}

pages() {
    found=0
    for page in man/*.[1-8]; do
        [ ! -f "$page" ] || mandoc -T lint -W warning "$page" || found=1
    done
    return $found
}

banned() { # calls that overflow, keep hidden state or ask a shell
    if grep -nE '(^|[^_[:alnum:]])(strcpy|strcat|sprintf|vsprintf|atoi|atol|atof|strtok|system|popen|gets|tmpnam|mktemp)[[:space:]]*\(' \
        $sources $headers $tests; then
        return 1
    fi
}

# Functions by the layout of this tree: a body opens with a brace at the margin and closes with one.
lengths() {
    awk -v most=80 '
        FNR == 1 { open = 0 }
        /^\{/ { open = FNR }
        /^\}/ && open {
            n = FNR - open + 1
            if (n > most) { printf "%s:%d: a function of %d lines\n", FILENAME, open, n; bad = 1 }
            open = 0
        }
        END { exit bad }' $sources
}

tool 'gcc -fanalyzer' compiles analyzer 'gcc' \
    '-O1 -fanalyzer -fdiagnostics-path-format=none -Wno-format-truncation' objects
tool 'cppcheck' checked_by_cppcheck
tool 'clang-tidy, and what clang warns of' tidy
tool 'clang-format' clang-format --dry-run -Werror $sources $headers $tests
tool 'manual pages' pages
tool 'banned functions' banned
tool 'no function beyond 80 lines' lengths
