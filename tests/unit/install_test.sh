# What `make install` puts in a folder, and that `make uninstall` takes all of it away again. TAP.
set -u
: "${BUILD:=build}"
there=$(mktemp -d) || exit 1
place=$there/pkg/usr/local
trap 'rm -rf "$there"' EXIT

is() { # what, command...
    what=$1
    shift
    if "$@" >"$there/out" 2>&1; then echo "ok - $what"; else
        echo "not ok - $what"
        sed 's/^/# /' "$there/out"
    fi
}
nothing_left() { [ -z "$(find "$there/pkg" -type f)" ] && [ ! -d "$place/share/amble" ]; }
same_config() { diff -r config "$place/share/amble/config"; }
same_demo() { diff -r contrib/demo "$place/share/amble/demo"; }
# The templates beside the program in its own tree do not count here.
speaks() { "$place/bin/amble" --shipped "$place/share/amble/config" \
    --data "$there/data" --config "$there/none" template check; }
page() { test -s "$place/share/man/man$2/$1.$2"; }
readable() { [ -z "$(find "$there/pkg" ! -perm -o=r)" ]; }

cp "$BUILD/amble" "$there/built" 2>/dev/null
# With another PREFIX every object would be made again; DESTDIR serves as well.
is 'install works' make -s BUILD="$BUILD" DESTDIR="$there/pkg" install
is 'the program is the one that was built' cmp "$there/built" "$place/bin/amble"
is 'every template' same_config
is 'the demo' same_demo
is 'the installed program reads the installed templates' speaks
is 'amble(1)' page amble 1
is 'amble-templates(5)' page amble-templates 5
is 'everybody may read it' readable
is 'uninstall works' make -s BUILD="$BUILD" DESTDIR="$there/pkg" uninstall
is 'uninstall leaves nothing' nothing_left
