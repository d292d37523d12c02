# Three data folders driven only by shell commands, and two real processes over ssh, which is a
# script on PATH here that runs the program at the other end of two pipes.
set -u
. tests/sync/kit.sh
make_ssh

# ---- a base and two laptops ----
printf 'practitioner MK Mara Kell\ncaregiver Ann Petrie\ndog Biscuit\ndog.mass = 9.4 kg\n' |
    amble_at base enter --json >"$house/said" 2>&1
ok $? "the base has a dog"
dog=Biscuit
does amble_at base sync "$house/stick"
[ $? -eq 1 ] && says "not enrolled"
ok $? "who is not enrolled exchanges nothing"
does amble_at base base --name office && says "This is the base now"
ok $? "a base is set up"
enrol mara && enrol jo
ok $? "two laptops are enrolled by files and numbers"
does amble_at base device admit "$house/mara.txt" --fingerprint "00000 00000 00000 00000 00000 00000"
[ $? -eq 1 ] && says "the fingerprints differ"
ok $? "other numbers admit nobody"
echo n | amble_at base device admit "$house/mara.txt" >"$house/said" 2>&1
[ $? -eq 1 ] && says "not done"
ok $? "nor does a no"

does amble_at base sync "$house/stick" && does amble_at mara sync "$house/stick" &&
    says "6 entries came" && does amble_at jo sync "$house/stick" && says "6 entries came"
ok $? "the stick fills two new laptops"
does amble_at jo sync "$house/stick" && says "0 entries came, 0 went"
ok $? "the same again brings nothing"

# ---- two people, one finding ----
printf 'practitioner MK Mara Kell\ndog Biscuit\ndog.mass = 10 kg\n' | amble_at mara enter >/dev/null
printf 'dog Biscuit\ndog.mass = 11 kg\ndog.sex = female\n' | amble_at jo --as MK enter >/dev/null 2>&1 ||
    printf 'dog Biscuit\ndog.mass = 11 kg\n' | amble_at jo enter >/dev/null
does amble_at mara check && says "1 not yet sent"
ok $? "what waits is counted"
for who in mara jo base mara jo; do does amble_at "$who" sync "$house/stick"; done
says "1 finding has more than one answer"
ok $? "a conflict is told"
[ "$(entries mara)" = "$(entries jo)" ] && [ "$(entries jo)" = "$(entries base)" ]
ok $? "three folders hold the same entries"
amble_at mara show $dog >"$house/mara.show" && amble_at jo show $dog >"$house/jo.show" &&
    amble_at base show $dog >"$house/base.show" && cmp "$house/mara.show" "$house/jo.show" &&
    cmp "$house/jo.show" "$house/base.show" >"$house/said" 2>&1
ok $? "and show the same record"
cp "$house/mara.show" "$house/said"
says "CONFLICT" && says "10" && says "11"
ok $? "with both answers in it"
does amble_at jo show $dog --json && says "10" && says "11"
ok $? "and in JSON too"

# ---- a stick that was damaged ----
printf 'dog Biscuit\ndog.coat = rough\n' | amble_at mara enter >/dev/null 2>&1 ||
    printf 'dog Biscuit\ndog.breed = Dachshund\n' | amble_at mara enter >/dev/null
before=$(entries base)
does amble_at mara sync "$house/stick"
file=$(ls -t "$house"/stick/amble/*-00000000*.bundle | head -n 1)
cp "$file" "$house/whole"
head -c 300 "$house/whole" >"$file"
does amble_at base sync "$house/stick"
says "it is cut short: 300 bytes" && [ "$(entries base)" = "$before" ]
ok $? "a file cut short is named and changes nothing"
(head -c 700 "$house/whole" && printf X && tail -c +702 "$house/whole") >"$file"
does amble_at base sync "$house/stick"
says "damaged or changed" && [ "$(entries base)" = "$before" ]
ok $? "so is one that was changed"
cp "$house/whole" "$file"
does amble_at base sync "$house/stick"
[ "$(entries base)" -gt "$before" ]
ok $? "whole again, it is taken"
echo junk >"$house/stick/amble/zz.bundle"
does amble_at jo sync "$house/stick" && says "zz.bundle: this is no bundle of amble"
ok $? "what is no bundle is named"
rm "$house/stick/amble/zz.bundle"
does amble_at jo sync "$house/no stick"
[ $? -eq 1 ] && says "is the stick in its place?"
ok $? "a missing stick is said to be missing"

# ---- over ssh ----
printf 'dog Biscuit\ndog.born = 2020-05-01\n' | amble_at jo enter >/dev/null
does amble_at jo sync ssh://vet@base/ && says "1 went" && says "everything made here is known elsewhere"
ok $? "ssh brings it to the base and knows that it is there"
does amble_at mara sync ssh://vet@base:2222/ && [ "$(entries mara)" = "$(entries base)" ]
ok $? "and from there to another laptop"
does amble_at mara sync ssh://vet@nowhere/
[ $? -eq 1 ] && says "Could not resolve hostname nowhere"
ok $? "what ssh complains of is passed on"
far_end() { # what it does instead of amble
    printf '#!/bin/sh\n%s\n' "$1" >"$house/bin/ssh"
}
far_end 'exec cat'
! does amble_at mara sync ssh://vet@base/ && says "only says back what it is told" && says " 0 went"
ok $? "an echo is no amble"
far_end 'echo "Welcome to base"; exec cat'
! does amble_at mara sync ssh://vet@base/ && says 'says "Welcome to base" where amble should answer'
ok $? "what a shell says by itself is quoted"
far_end 'printf "\\033]0;x\\007 and more"; exec cat'
! does amble_at mara sync ssh://vet@base/ && says "bytes at once: is it amble?"
ok $? "but nothing that would steer a terminal"
# Exchange with a far end that falls silent, until the seconds are counted, and stop it then; true
# when $1 is the limit, and nobody waited for the far end to finish.
counts_to() {
    from=$(date +%s) tries=0
    XDG_STATE_HOME="$house/mara/state" "$program" --data "$house/mara/data" \
        sync ssh://vet@base/ >"$house/said" 2>&1 &
    until says " seconds" || [ $((tries += 1)) -gt 200 ]; do sleep 0.05; done
    kill -TERM $!
    wait $!
    says "waiting for the other side, 1 of $1 seconds" && [ $(($(date +%s) - from)) -lt 30 ]
}
far_end 'exec sleep 60'
counts_to 120
ok $? "before the first byte somebody may be typing a passphrase"
far_end 'printf "\001\000"; exec sleep 60'
counts_to 30
ok $? "who begins to speak and falls silent is not waited for as long"
far_end "XDG_STATE_HOME='$house/base/state' '$program' --data '$house/base/data' sync --serve 2>'$house/far'"
printf 'dog Biscuit\ndog.temper = calm\n' | amble_at jo enter >/dev/null
AMBLE_ROOM=999999999999 does amble_at jo sync ssh://vet@base/ && says " 1 went" &&
    says "MB are free for the records: make room on the disk" && [ ! -s "$house/far" ]
ok $? "who exchanges is told of a disk nearly full here, not of the base's"
make_ssh
does amble_at mara sync 'ssh://vet@base;reboot/'
[ $? -eq 1 ] && says "is no place"
ok $? "an address is no command line"
printf 'dog Biscuit\ndog.born = 2020-05-02\n' | amble_at jo enter >/dev/null
before=$(entries base)
CUT=10 does amble_at jo sync ssh://vet@base/
[ $? -eq 1 ] && [ "$(entries base)" = "$before" ]
ok $? "a line that breaks changes nothing at the base"
does amble_at jo sync ssh://vet@base/ && [ "$(entries base)" -gt "$before" ]
ok $? "the next time goes on"

# Two at once, while each has something to bring.
printf 'dog Biscuit\ndog.born = 2020-05-03\n' | amble_at jo enter >/dev/null
printf 'dog Biscuit\ndog.breed = Beagle\n' | amble_at mara enter >/dev/null
amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1 &
first=$!
amble_at mara sync ssh://vet@base/ >"$house/second" 2>&1
second=$?
wait $first && [ $second -eq 0 ] && amble_at base verify >"$house/said"
ok $? "two laptops push at once"

# Killed in the middle, again and again: nothing is half there.
bad=0
for wait in 0.01 0.02 0.03 0.05 0.08; do
    printf 'dog Biscuit\ndog.born = 2019-01-01\n' | amble_at jo enter >/dev/null
    printf 'dog Biscuit\ndog.born = 2019-02-0%s\n' "${wait#0.0}" | amble_at jo enter >/dev/null
    timeout -s KILL $wait env XDG_STATE_HOME="$house/jo/state" "$program" --data "$house/jo/data" \
        sync ssh://vet@base/ >/dev/null 2>&1
    amble_at base verify >"$house/said" 2>&1 || bad=1
    amble_at jo verify >>"$house/said" 2>&1 || bad=1
done
sleep 1
does amble_at jo sync ssh://vet@base/
[ $bad -eq 0 ] && [ "$(entries jo)" = "$(entries base)" ]
ok $? "killed five times, then whole"

# ---- copies and old states ----
mkdir -p "$house/copy" && cp -r "$house/jo/data" "$house/copy/data"
printf 'dog Biscuit\ndog.born = 2018-03-04\n' | amble_at copy enter >/dev/null
does amble_at copy sync "$house/stick"
[ $? -eq 1 ] && says "new name that the base does not know yet"
ok $? "a copied folder goes on under a new name"
amble_at base device rename jo "jo's laptop" >/dev/null
enrol copy && does amble_at copy sync ssh://vet@base/ && says "1 went" &&
    does amble_at jo sync ssh://vet@base/ && [ "$(entries jo)" = "$(entries copy)" ]
ok $? "and both live on"
does amble_at base device list && says "jo's laptop" && says "copy"
ok $? "the list has both"

# ---- photographs, after the entries ----
photos() { # how many whole ones somebody has
    ls "$house/$1/data/photos" 2>/dev/null | grep -cE '^[0-9a-f]{64}$'
}
mkdir -p "$house/jo/data/photos"
head -c 2600000 /dev/urandom >"$house/jo/data/photos/profile.jpg"
sum=$(sha256sum <"$house/jo/data/photos/profile.jpg" | cut -d' ' -f1)
does amble_at jo sync --photos 1000 ssh://vet@base/
[ "$(photos base)" -eq 0 ]
ok $? "a photograph beyond the size asked for stays"
does amble_at jo sync --photos 4000 "$house/stick" && says "1 went" && ! says "came, 1 went, 1"
mkdir -p "$house/mara/data/photos"
mv "$house"/stick/amble/$sum-000001048576.piece "$house/held"
does amble_at mara sync --photos 4000 "$house/stick"
says "have not come" && [ "$(photos mara)" -eq 0 ]
ok $? "without its middle a photograph waits"
mv "$house/held" "$house/stick/amble/$sum-000001048576.piece"
does amble_at mara sync --photos 4000 "$house/stick" && says "photographs: 1 came" &&
    [ "$(sha256sum <"$house/mara/data/photos/$sum" | cut -d' ' -f1)" = "$sum" ]
ok $? "and goes on where it was cut"
head -c 1500000 "$house/mara/data/photos/$sum" >"$house/part"
mkdir -p "$house/base/data/photos" && cp "$house/part" "$house/base/data/photos/$sum.part"
does amble_at mara sync --photos 4000 ssh://vet@base/
[ "$(sha256sum <"$house/base/data/photos/$sum" | cut -d' ' -f1)" = "$sum" ]
ok $? "over ssh too"
does amble_at mara sync --photos 0 ssh://vet@base/ && ! says "photographs"
ok $? "none travels when none is wanted"

# A picture that lay anywhere is copied when a visit names it, and travels from then on.
head -c 300000 /dev/urandom >"$house/side.jpg"
sum=$(sha256sum <"$house/side.jpg" | cut -d' ' -f1)
printf 'dog Biscuit\nvisit today\nprofile_photo = %s\n' "$house/side.jpg" |
    amble_at jo enter >"$house/said" 2>&1
rm "$house/side.jpg"
does amble_at jo sync ssh://vet@base/ && does amble_at mara sync ssh://vet@base/ &&
    [ "$(sha256sum <"$house/mara/data/photos/$sum" | cut -d' ' -f1)" = "$sum" ]
ok $? "a picture named in a visit travels, wherever it lay"

# ---- a laptop that left ----
does amble_at base device retire copy && says "is retired"
ok $? "a device is retired"
printf 'dog Biscuit\ndog.born = 2017-01-01\n' | amble_at copy enter >/dev/null
before=$(entries base)
does amble_at copy sync "$house/stick"
does amble_at base sync "$house/stick"
[ "$(entries base)" = "$before" ] && says "1 entries of copy are held back (retired)"
ok $? "what it writes later is held back"
does amble_at copy sync ssh://vet@base/
[ $? -eq 1 ] && says "retired"
ok $? "and the base does not speak to it"
does amble_at base device list && says "held back: 1 entries of" && says "(retired)"
ok $? "the list shows what is held back"
does amble_at base device accept copy
[ $? -eq 1 ] && says "needs --because"
ok $? "to accept it needs a reason"
does amble_at base device accept copy --because "written before she left" &&
    [ "$(entries base)" -gt "$before" ] && amble_at base show Biscuit | grep -q "2017\|9 y" &&
    does amble_at mara sync ssh://vet@base/ &&
    does amble_at mara device list && says "accepted: copy, entries to" &&
    says "because: written before she left" && [ "$(entries mara)" = "$(entries base)" ]
ok $? "accepted, it stands everywhere, and so does the decision"
does amble_at base base --backup && says "copied to" && [ -s "$house/base/data/backups/amble-2026-11-24.db" ]
ok $? "the base makes a backup and says how it stands"
for day in 1 2 3 4 5 6 7; do
    touch "$house/base/data/backups/amble-2026-11-0$day.db"
done
touch "$house/base/data/backups/amble-before-the-move.db"
does amble_at base base --backup && says "the newest 7 are kept" &&
    [ ! -e "$house/base/data/backups/amble-2026-11-01.db" ] &&
    [ "$(ls "$house"/base/data/backups/amble-2*.db | wc -l)" -eq 7 ] &&
    [ -s "$house/base/data/backups/amble-2026-11-24.db" ] &&
    [ -e "$house/base/data/backups/amble-before-the-move.db" ]
ok $? "the eighth open backup takes the oldest away, and no file of another name"
printf 'the river at dawn\nthe river at dawn\n' | amble_at base backup --set-up >"$house/said" 2>&1 &&
    does amble_at base base --backup && says "sealed and checked" &&
    ! grep -qa "Biscuit" "$house"/base/data/backups/record-*.sealed
ok $? "with a passphrase it is sealed"
rm -f "$house"/base/data/backups/*.sealed
does amble_at mara sync ssh://vet@base/ && sleep 1 &&
    [ "$(ls "$house"/base/data/backups/*.sealed | wc -l)" -eq 1 ]
ok $? "a base that is only called makes one too"
[ -z "$(find "$house"/*/data/keys -type f ! -perm 600)" ]
ok $? "keys are for their owner only"
! grep -rqa "Biscuit" "$house/stick"
ok $? "the stick tells nothing"
echo "1..$number"
