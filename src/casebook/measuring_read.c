/* One reading: what is typed, kept and shown. */
#include "base/arena.h"
#include "base/text.h"
#include "casebook/measuring.h"
#include "casebook/quantity.h"
#include <string.h>

const char *reading_item(struct arena *a, const struct measure *m, int reading)
{
    return arena_printf(a, "%s.%d", m->id, reading);
}

const char *posture_item(struct arena *a, const struct measure *m)
{
    return arena_printf(a, "%s.posture", m->id);
}

const struct unit *measure_unit(const struct template_set *set, const struct measure *m)
{
    const struct unit *wanted = m->dimension == DIM_LENGTH ? set->practice.length_unit
                                : m->dimension == DIM_MASS ? set->practice.mass_unit
                                                           : NULL;
    if (wanted != NULL)
        return wanted;
    return m->unit != NULL ? m->unit : unit_base(m->dimension);
}

static bool outside(const struct measure *m, double base)
{
    return m->high > m->low && (base < m->low || base > m->high);
}

/* The unit in which the same digits would have fitted, or NULL: inches for centimetres. */
static const struct unit *other_unit(const struct measure *m, const char *typed,
                                     const struct unit *meant)
{
    size_t n;
    const struct unit *all = unit_all(&n);
    double base;
    const struct unit *written;
    for (size_t i = 0; i < n; i++)
        if (all[i].dimension == m->dimension && &all[i] != meant &&
            quantity_parse(typed, &all[i], &base, &written, NULL) && written == NULL &&
            !outside(m, base))
            return &all[i];
    return NULL;
}

static bool no_dog(const struct template_set *set, const struct measure *m, const char *typed,
                   struct arena *a, struct fault *f)
{
    const struct unit *u = measure_unit(set, m), *fits = other_unit(m, typed, u);
    (void)fail(f, FAULT_INPUT, "\"%.40s\": no dog measures that; %s is from %s to %s %s", typed,
               m->label, reading_show(set, m, m->low, a), reading_show(set, m, m->high, a),
               u->name);
    if (fits != NULL && f != NULL) {
        struct fault said = *f;
        (void)fail(f, FAULT_INPUT, "%.400s; was it %.40s %s?", said.text, typed, fits->name);
    }
    return false;
}

bool reading_read(const struct template_set *set, const struct measure *m, const char *typed,
                  struct arena *a, const char **canonical, struct fault *f)
{
    double base;
    *canonical = "";
    if (typed[strspn(typed, " \t")] == '\0')
        return true;
    if (!quantity_read(typed, measure_unit(set, m), unit_base(m->dimension), a, canonical, &base,
                       f))
        return false;
    return outside(m, base) ? no_dog(set, m, typed, a, f) : true;
}

const char *reading_show(const struct template_set *set, const struct measure *m, double base,
                         struct arena *a)
{
    char number[48];
    const struct unit *u = measure_unit(set, m);
    int n = m->decimals >= 0 ? decimals_in(u, m->unit != NULL ? m->unit : u, m->decimals) : 1;
    return arena_str(a, number_format(unit_from_base(u, base), n, true, number, sizeof number));
}
