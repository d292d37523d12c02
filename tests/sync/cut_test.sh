# A line that breaks, and a stick that is pulled, at every so many bytes: whatever arrived is whole,
# nothing else is there, and the next exchange makes it good.
#
# CUT_STEP: a cut at each so many bytes (131; a prime, so that all parts of a frame are met).
set -u
. tests/sync/kit.sh
step=${CUT_STEP:-131}

# The line to the base: CUT_TO bytes go there, CUT_FROM come back; without them it is counted.
cat >"$house/bin/ssh" <<SSH
#!/bin/sh
while [ "\$1" != amble ]; do shift; done
shift
export XDG_STATE_HOME="$house/base/state"
serve() { "$program" --data "$house/base/data" "\$@"; }
exec 3<&0
# This shell lets go of both pipes, so that a part that ends is seen to have ended.
if [ -n "\${CUT_TO:-}" ]; then stdbuf -o0 head -c "\$CUT_TO" <&3 | serve "\$@" &
elif [ -n "\${CUT_FROM:-}" ]; then serve "\$@" <&3 | stdbuf -o0 head -c "\$CUT_FROM" &
else tee "$house/to" <&3 | serve "\$@" | tee "$house/from" & fi
exec <&- 3<&- >&-
wait
SSH
chmod 755 "$house/bin/ssh"

printf 'practitioner MK Mara Kell\ncaregiver Ann Petrie\ndog Biscuit\ndog.mass = 9.4 kg\n' |
    amble_at base enter >/dev/null
amble_at base base --name office >/dev/null
enrol jo
amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1
ok $? "a laptop is enrolled"

# Both sides have something to bring, each time: entries and a photograph of two pieces.
day=0
bring() {
    day=$((day + 1))
    printf 'dog Biscuit\ndog.born = 20%02d-01-%02d\ndog.mass = %s kg\n' $((day % 20)) \
        $((day % 28 + 1)) $((day + 3)) | amble_at jo enter >/dev/null
    printf 'dog Biscuit\ndog.breed = Breed %s\n' $day | amble_at base enter >/dev/null
}
bring
mkdir -p "$house/jo/data/photos"
head -c 1100000 /dev/urandom >"$house/jo/data/photos/first.jpg"
amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1
ok $? "the line is whole"
# Without the photograph: it is cut by itself below.
bring
amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1
to=$(wc -c <"$house/to") from=$(wc -c <"$house/from")

# Cut the line at byte $2 of direction $1; 1 when something is half there.
cut_at() {
    bring
    base=$(entries base) jo=$(entries jo)
    case $1 in
    to) CUT_TO=$2 amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1 ;;
    from) CUT_FROM=$2 amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1 ;;
    esac
    now_base=$(entries base) now_jo=$(entries jo)
    { [ "$now_base" = "$base" ] || [ "$now_base" = $((base + pending_jo + 2)) ]; } &&
        { [ "$now_jo" = "$jo" ] || [ "$now_jo" = $((jo + pending_base + 1)) ]; } || return 1
    if [ "$now_base" = "$base" ]; then pending_jo=$((pending_jo + 2)); else pending_jo=0; fi
    if [ "$now_jo" = "$jo" ]; then pending_base=$((pending_base + 1)); else pending_base=0; fi
}

pending_jo=0 pending_base=0 cuts=0 half=0
for way in to from; do
    case $way in to) size=$to ;; from) size=$from ;; esac
    at=0
    while [ $at -lt "$size" ]; do
        cut_at $way $at || half=$((half + 1))
        cuts=$((cuts + 1)) at=$((at + step))
    done
done
echo "# line cut $cuts times, at every $step bytes of $to there and $from back; half applied $half"
[ $cuts -gt 20 ] && [ $half -eq 0 ]
ok $? "a line cut anywhere leaves nothing half applied"
amble_at base verify >"$house/said" 2>&1 && amble_at jo verify >>"$house/said" 2>&1
ok $? "both records are whole"
amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1
[ "$(entries base)" = "$(entries jo)" ]
ok $? "the next exchange makes it good"
amble_at base show Biscuit >"$house/one" && amble_at jo show Biscuit >"$house/other" &&
    cmp "$house/one" "$house/other" >"$house/said" 2>&1
ok $? "and both show the same"

# A photograph of three pieces: cut in the first, after it, and then with less than its whole size.
head -c 2300000 /dev/urandom >"$house/jo/data/photos/second.jpg"
sum=$(sha256sum <"$house/jo/data/photos/second.jpg" | cut -d' ' -f1)
photo="$house/base/data/photos/$sum"
CUT_TO=500000 amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1
[ ! -e "$photo" ] && [ ! -e "$photo.part" ]
ok $? "a photograph cut in its first piece is not there"
CUT_TO=1200000 amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1
[ ! -e "$photo" ] && [ "$(wc -c <"$photo.part")" -eq 1048576 ]
ok $? "cut later, its first piece is kept"
CUT_TO=1900000 amble_at jo sync ssh://vet@base/ >"$house/said" 2>&1
[ "$(sha256sum <"$photo" | cut -d' ' -f1)" = "$sum" ]
ok $? "and the next time goes on from there"

# A stick that holds the beginning of a file only, whatever its length.
bring
amble_at jo sync "$house/stick" >"$house/said" 2>&1
base=$(entries base)
file=$(ls "$house"/stick/amble/*-00000000*.bundle | tail -n 1)
cp "$file" "$house/whole"
size=$(wc -c <"$house/whole") at=0 cuts=0 taken=0 quiet=0
while [ $at -lt "$size" ]; do
    head -c $at "$house/whole" >"$file"
    amble_at base sync "$house/stick" >"$house/said" 2>&1
    [ "$(entries base)" = "$base" ] || taken=$((taken + 1))
    grep -q "$(basename "$file")" "$house/said" || quiet=$((quiet + 1))
    cuts=$((cuts + 1)) at=$((at + step))
done
echo "# stick: $cuts beginnings of a file of $size bytes; taken $taken, not named $quiet"
[ $cuts -gt 5 ] && [ $taken -eq 0 ] && [ $quiet -eq 0 ]
ok $? "the beginning of a file is never taken, and named"
cp "$house/whole" "$file"
amble_at base sync "$house/stick" >"$house/said" 2>&1 && [ "$(entries base)" -gt "$base" ]
ok $? "the whole file is"
echo "1..$number"
