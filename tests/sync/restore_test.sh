# Records put back from a backup, driven only by shell commands: a laptop whose passphrase was lost
# comes back by the printed recovery key, then the base itself. Nobody's entry is lost, numbers are
# given once, and whoever held more is told.
set -u
. tests/sync/kit.sh
make_ssh

same_everywhere() { # as many entries, and the same record
    for who in "$@"; do
        [ "$(entries "$who")" = "$(entries base)" ] || return 1
        amble_at "$who" show Biscuit >"$house/$who.show"
        cmp "$house/$who.show" "$house/$1.show" >>"$house/said" 2>&1 || return 1
        amble_at "$who" verify >>"$house/said" 2>&1 || return 1
    done
}
breed() { # NAME BREED
    printf 'dog Biscuit\ndog.breed = %s\n' "$2" | does amble_at "$1" --as MK enter
}

printf 'practitioner MK Mara Kell\ncaregiver Ann Petrie\ndog Biscuit\ndog.mass = 9.4 kg\n' |
    does amble_at base enter
does amble_at base base --name office && enrol jo && enrol mara &&
    does amble_at jo sync ssh://vet@base/ && does amble_at mara sync ssh://vet@base/
ok $? "a base and two laptops"

# ---- a laptop ----
printf 'the river at dawn\nthe river at night\n' | does amble_at jo backup --set-up
[ $? -eq 1 ] && says "not the same; nothing was changed"
ok $? "two passphrases that differ set nothing up"
printf 'the river at dawn\nthe river at dawn\n' | amble_at jo backup --set-up >"$house/printed"
key=$(sed -n 's/^    \([0-9a-z-]*\)$/\1/p' "$house/printed")
[ ${#key} -eq 47 ]
ok $? "a recovery key is printed"
breed jo Beagle && does amble_at jo backup --sealed && says "checked, sealed"
ok $? "a sealed copy is made"
copy=$(echo "$house"/jo/data/backups/record-*.sealed)
! grep -rqaF "$key" "$house/jo"
ok $? "the recovery key is kept nowhere"
breed jo Basset && does amble_at jo sync ssh://vet@base/ # handed out, and not in the copy
breed jo Borzoi                                          # neither
for words in "the river at noon" "$(echo "$key" | tr 0-9a-y 1-9b-z0a)"; do
    echo "$words" | does amble_at jo restore "$copy"
    [ $? -eq 1 ] && says "neither its passphrase nor its recovery key" &&
        [ ! -e "$house/jo/data/before-restore-1.db" ]
    ok $? "what is neither passphrase nor key opens nothing"
done
# Typed from paper, in capitals and with blanks.
echo "$key" | tr 'a-z-' 'A-Z ' | does amble_at jo restore "$copy"
[ $? -eq 0 ] && says "entries restored" && says "kept as $house/jo/data/before-restore-1.db" &&
    says "under a new identity"
ok $? "the recovery key opens it when the passphrase is lost"
does amble_at jo verify "$house/jo/data/before-restore-1.db" &&
    [ "$(find "$house/jo/data" -name 'opened-*' | wc -l)" -eq 0 ]
ok $? "what was there is whole, and no open copy is left"
before=$(entries base)
does amble_at jo sync ssh://vet@base/
[ $? -eq 1 ] && says "new name that the base does not know yet" && [ "$(entries base)" = "$before" ]
ok $? "put back, it exchanges nothing under its old name"
does amble_at jo device request "$house/again.txt" --name jo
numbers=$(tail -n 1 "$house/said")
does amble_at base device admit "$house/again.txt" --fingerprint "$numbers"
[ $? -eq 1 ] && says "another device is called jo: rename or retire one"
ok $? "the base is told that it has a device of that name"
does amble_at base device retire jo && enrol jo && breed jo Barbet &&
    does amble_at jo sync ssh://vet@base/ && does amble_at mara sync ssh://vet@base/ &&
    same_everywhere base jo mara
ok $? "admitted anew it gets back what it had handed out"
amble_at mara show Biscuit --json >"$house/said" && says "Barbet" && says "Basset"
ok $? "and what it wrote since then stands beside it, for a person to settle"

# ---- the base ----
does amble_at base backup "$house/base.db" && cp -r "$house/base/data/keys" "$house/keys"
breed mara Briard && does amble_at mara sync ssh://vet@base/ && breed base Bulldog &&
    does amble_at jo sync ssh://vet@base/ && held=$(entries jo) && [ "$held" = "$(entries base)" ]
ok $? "everybody writes on after the base's backup"
rm -rf "$house/base" && mkdir -p "$house/base/data" && cp -r "$house/keys" "$house/base/data/keys"
does amble_at base restore "$house/base.db" && ! says "What was there" &&
    does amble_at base base && says "office: 0 entries here, a base"
ok $? "on a new computer it is the base again, with the practice's keys"
does amble_at mara sync ssh://vet@base/ &&
    says "office has fewer of this device's entries than before (0, not 1)" && says "1 went"
ok $? "a laptop whose entries it lost is told, and sends them again"
does amble_at jo sync ssh://vet@base/ && ! says "has fewer" &&
    does amble_at mara sync ssh://vet@base/ && ! says "has fewer" && same_everywhere base jo mara &&
    [ "$(entries base)" = "$held" ]
ok $? "no entry is lost, not even the base's own"
breed base Boxer && does amble_at jo sync ssh://vet@base/ && does amble_at mara sync "$house/stick" &&
    does amble_at base sync "$house/stick" && does amble_at mara sync "$house/stick" &&
    same_everywhere base jo mara && [ "$(entries base)" -eq $((held + 1)) ]
ok $? "and it goes on, over the line and by the stick"
echo "1..$number"
