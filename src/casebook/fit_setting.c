/* What a setting of a frame puts into the calculations. */
#include "calc/bench.h"
#include "casebook/fit_inside.h"
#include "casebook/ids.h"
#include <math.h>
#include <string.h>

/* ---- places ---------------------------------------------------------------------------------- */

size_t fit_steps(const struct frame *frame, const struct fit_dog *dog)
{
    (void)dog;
    return frame->axle_steps > 1 && frame->axle_to > frame->axle_from ? (size_t)frame->axle_steps
                                                                      : 1;
}

double fit_step(const struct frame *frame, const struct fit_dog *dog, size_t i)
{
    size_t steps = fit_steps(frame, dog);
    double range = (frame->axle_to - frame->axle_from) * dog->stance_mm;
    double at = frame->axle_from * dog->stance_mm;
    if (steps > 1)
        at += range * (double)i / (double)(steps - 1);
    return steps == 1 || range / (double)(steps - 1) >= 2 ? round(at) : at;
}

/* ---- accessories ----------------------------------------------------------------------------- */

bool fit_accessory_goes(const struct frame_accessory *a, const struct frame *frame)
{
    for (size_t i = 0; i < a->support_count; i++)
        if (a->supports[i] == frame->support)
            return true;
    return false;
}

/* A word of a blank-separated list. */
static bool lists(const char *list, const char *word)
{
    size_t n = strlen(word);
    for (const char *p = list; *p != '\0';) {
        size_t w = strcspn(p, " ");
        if (w == n && strncmp(p, word, n) == 0)
            return true;
        p += w + strspn(p + w, " ");
    }
    return false;
}

struct fit_setting fit_as_it_comes(const struct past *p, const struct frame *frame,
                                   const struct fit_dog *dog)
{
    const struct template_set *set = p->chart->cb->set;
    struct fit_setting s = {.frame = frame, .hind_support = dog->hind_support};
    const struct chart *at = past_visit(p, ID_FIT_PARTS);
    const char *ticked = past_value(p, "accessories");
    const char *parts = at != NULL       ? record_text(&at->visit, ID_FIT_PARTS)
                        : ticked != NULL ? ticked
                                         : "";
    size_t steps = fit_steps(frame, dog);
    s.axle_mm = fit_step(frame, dog, steps / 2);
    s.wheel_mm = round(frame->wheel_diameter_at * dog->withers_mm);
    s.track_mm = round(frame->track_at * (dog->hip_mm > 0 ? dog->hip_mm : dog->stance_mm / 2));
    for (size_t i = 0; i < set->frame_accessory_count && i < FIT_ACCESSORIES_MOST; i++)
        s.has[i] = fit_accessory_goes(&set->frame_accessories[i], frame) &&
                   lists(parts, set->frame_accessories[i].id);
    return s;
}

double fit_track(const struct template_set *set, const struct fit_dog *dog,
                 const struct fit_setting *s)
{
    double track = s->track_mm;
    for (size_t i = 0; i < set->frame_accessory_count && i < FIT_ACCESSORIES_MOST; i++)
        if (s->has[i])
            track += set->frame_accessories[i].widens * dog->hip_mm;
    return track;
}

/* ---- the balance ----------------------------------------------------------------------------- */

/* Frame and accessories as one mass at one place. */
static void gather(const struct template_set *set, const struct fit_dog *dog,
                   const struct fit_setting *s, struct balance_in *in)
{
    const struct frame *f = s->frame;
    double kg = f->frame_mass_share * dog->kg;
    double along = kg * f->cg_at * dog->stance_mm, up = kg * f->cg_height_at * dog->withers_mm;
    for (size_t i = 0; i < set->frame_accessory_count && i < FIT_ACCESSORIES_MOST; i++) {
        const struct frame_accessory *a = &set->frame_accessories[i];
        if (!s->has[i])
            continue;
        double more = a->mass_share * dog->kg;
        kg += more;
        along += more * a->at * dog->stance_mm;
        up += more * a->height_at * dog->withers_mm;
    }
    in->frame_mass_kg = kg;
    in->frame_cg_mm = kg > 0 ? along / kg : f->cg_at * dog->stance_mm;
    in->frame_cg_height_mm = kg > 0 ? up / kg : f->cg_height_at * dog->withers_mm;
}

struct balance_in fit_balance(const struct template_set *set, const struct fit_dog *dog,
                              const struct fit_setting *s)
{
    const struct frame *f = s->frame;
    struct balance_in in = balance_defaults();
    in.dog_mass_kg = dog->kg;
    in.stance_length_mm = dog->stance_mm;
    in.fore_share = dog->fore_share;
    in.hind_support = s->hind_support;
    in.dog_cg_height_mm = dog->withers_mm * (isnan(dog->cg_height_share) ? f->dog_cg_height_at
                                                                         : dog->cg_height_share);
    in.axle_mm = s->axle_mm;
    in.rest_mm = f->rest_at * dog->stance_mm;
    in.bar_mm = f->bar_at * dog->stance_mm;
    gather(set, dog, s, &in);
    in.wheels_mass_kg = f->wheels_mass_share * dog->kg;
    in.wheel_diameter_mm = s->wheel_mm;
    in.slope_deg = 0;
    in.friction = set->bench.friction;
    return in;
}

struct balance_in fit_within(const struct template_set *set, const struct fit_dog *dog,
                             const struct fit_setting *s)
{
    const struct bench_rules *b = &set->bench;
    struct balance_in in = fit_balance(set, dog, s), u = {0};
    u.dog_mass_kg = dog->kg_within;
    u.stance_length_mm = dog->stance_within;
    u.fore_share = dog->fore_share_within;
    u.dog_cg_height_mm = isnan(dog->cg_height_share) ? b->cg_height_within * dog->withers_mm
                                                     : dog->cg_height_share * dog->withers_within;
    u.rest_mm = u.bar_mm = u.frame_cg_mm = b->place_within * dog->stance_mm;
    u.frame_cg_height_mm = b->place_within * dog->withers_mm;
    u.frame_mass_kg = b->mass_within * in.frame_mass_kg;
    u.wheels_mass_kg = b->mass_within * in.wheels_mass_kg;
    u.friction = b->friction_within;
    return u;
}

bool fit_solve(const struct frame *frame, const struct balance_in *in, struct balance_out *out,
               struct fault *f)
{
    return frame->model == FRAME_FRONT ? bench_front(in, out, f) : balance_solve(in, out, f);
}
