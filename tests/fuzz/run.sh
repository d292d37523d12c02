# Run the libFuzzer targets named in FUZZ (sources), each for FUZZ_SECONDS, and say in TAP how each
# ended. Three run side by side on each processor: more would only share it further.
# What a run finds beyond the stored inputs stays in $BUILD/fuzz; a crash is kept there by name.
set -u
found=$BUILD/fuzz
mkdir -p "$found"
[ -n "$FUZZ" ] || echo "ok - no fuzz targets # SKIP"

fuzz_one() {
    target=$(basename "$1" .c)
    name=${target%_fuzz}
    mkdir -p "$found/$name" "tests/fuzz/corpus/$name"
    log=$found/$name.log
    if "$BUILD/tests/fuzz/$target" -max_total_time="$FUZZ_SECONDS" -timeout=10 -rss_limit_mb=1024 \
        -max_len=65536 -print_final_stats=1 -artifact_prefix="$found/$name-" \
        "$found/$name" "tests/fuzz/corpus/$name" >"$log" 2>&1; then
        runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$log")
        echo "ok - $name, $runs inputs"
    else
        echo "not ok - $name"
        tail -n 40 "$log" | sed 's/^/# /'
    fi >"$found/$name.tap"
}

at_once=$((3 * $(nproc))) running=0
for source in $FUZZ; do
    fuzz_one "$source" &
    running=$((running + 1))
    [ $((running % at_once)) -ne 0 ] || wait
done
wait
for source in $FUZZ; do
    cat "$found/$(basename "$source" _fuzz.c).tap"
done
