#include "calc/parallax.h"

const struct calc_key parallax_keys_in[] = {
    KEY(parallax_in, distance_mm, .unit = "mm", .low = 100, .high = 1e5,
        .help = "from the lens to the rule, along the ground"),
    KEY(parallax_in, lens_height_mm, .unit = "mm", .low = 0, .high = 1e4,
        .help = "of the lens above the ground"),
    KEY(parallax_in, height_mm, .unit = "mm", .low = 1, .high = 5000,
        .help = "of the point that is read"),
    KEY(parallax_in, rule_before_mm, .unit = "mm", .low = 0, .high = 5000,
        .help = "how far the rule stands before that point"),
};
const size_t parallax_keys_in_count = KEY_COUNT(parallax_keys_in);

const struct calc_key parallax_keys_out[] = {
    KEY(parallax_out, reads_mm, .unit = "mm", .help = "what the rule shows in the photograph"),
    KEY(parallax_out, error_mm, .unit = "mm", .help = "that less the true height"),
    KEY(parallax_out, share, .unit = "-", .help = "error as a share of the height"),
};
const size_t parallax_keys_out_count = KEY_COUNT(parallax_keys_out);

bool parallax_solve(const struct parallax_in *in, struct parallax_out *out, struct fault *f)
{
    if (!calc_check(parallax_keys_in, parallax_keys_in_count, in, f))
        return false;
    out->error_mm = (in->lens_height_mm - in->height_mm) * in->rule_before_mm /
                    (in->distance_mm + in->rule_before_mm);
    out->reads_mm = in->height_mm + out->error_mm;
    out->share = out->error_mm / in->height_mm;
    return true;
}
