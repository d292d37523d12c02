#include "calc/care.h"

#define PA_PER_MMHG 133.322387415 /* conventional millimetre of mercury */

const struct calc_key bladder_keys_in[] = {
    KEY(bladder_in, mass_kg, .unit = "kg", .low = 0.1, .high = 500, .help = "weight of the dog"),
    KEY(bladder_in, hours, .unit = "h", .low = 0.1, .high = 168,
        .help = "from one emptying to the next"),
    KEY(bladder_in, emptied_share, .unit = "-", .need = KEY_DEFAULT, .fallback = 0.49, .low = 0.01,
        .high = 1, .help = "share of what is in it that one emptying removes"),
};
const size_t bladder_keys_in_count = KEY_COUNT(bladder_keys_in);

const struct calc_key bladder_keys_out[] = {
    KEY(bladder_out, made_low_ml, .unit = "ml", .help = "made between emptyings, at 1 ml/kg/h"),
    KEY(bladder_out, made_high_ml, .unit = "ml", .help = "the same at 2 ml/kg/h"),
    KEY(bladder_out, before_low_ml, .unit = "ml", .help = "in it before an emptying, at 1 ml/kg/h"),
    KEY(bladder_out, before_high_ml, .unit = "ml", .help = "the same at 2 ml/kg/h"),
    KEY(bladder_out, after_low_ml, .unit = "ml", .help = "left after an emptying, at 1 ml/kg/h"),
    KEY(bladder_out, after_high_ml, .unit = "ml", .help = "the same at 2 ml/kg/h"),
};
const size_t bladder_keys_out_count = KEY_COUNT(bladder_keys_out);

bool bladder_solve(const struct bladder_in *in, struct bladder_out *out, struct fault *f)
{
    if (!calc_check(bladder_keys_in, bladder_keys_in_count, in, f))
        return false;
    double low = in->mass_kg * in->hours, high = 2 * low, share = in->emptied_share;
    *out = (struct bladder_out){
        .made_low_ml = low,
        .made_high_ml = high,
        .before_low_ml = low / share,
        .before_high_ml = high / share,
        .after_low_ml = low * (1 - share) / share,
        .after_high_ml = high * (1 - share) / share,
    };
    return true;
}

const struct calc_key contact_keys_in[] = {
    KEY(contact_in, load_n, .unit = "N", .low = 0, .high = 1e5, .help = "load on the pad"),
    KEY(contact_in, area_cm2, .unit = "cm2", .low = 0.01, .high = 1e5, .help = "area that carries"),
};
const size_t contact_keys_in_count = KEY_COUNT(contact_keys_in);

const struct calc_key contact_keys_out[] = {
    KEY(contact_out, kpa, .unit = "kPa", .help = "mean pressure; edges and bones carry more"),
    KEY(contact_out, mmhg, .unit = "mmHg", .help = "the same"),
};
const size_t contact_keys_out_count = KEY_COUNT(contact_keys_out);

bool contact_solve(const struct contact_in *in, struct contact_out *out, struct fault *f)
{
    if (!calc_check(contact_keys_in, contact_keys_in_count, in, f))
        return false;
    double pascal = in->load_n / (in->area_cm2 * 1e-4);
    out->kpa = pascal / 1000;
    out->mmhg = pascal / PA_PER_MMHG;
    return true;
}
