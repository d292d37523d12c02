/* The posture ticks of Measures: asked before the numbers, and again when posture is the suspect's
 * likely cause. */
#include "screens/measures_inside.h"
#include <string.h>

bool measures_again(const struct measures_state *m)
{
    return m->look.posture_done && m->look.posture_again;
}

/* One key's answer, kept with its reason. */
bool measures_put(struct screen *s, const char *item, const char *value)
{
    struct measures_state *m = s->state;
    struct fault f = {0};
    struct record *visit = &m->at.page.chart.visit;
    const char *reason =
        strcmp(record_text(visit, item), value) == 0 ? "" : measures_reason(s, item);
    if (reason == NULL)
        return false;
    bool kept = record_put(s->app->cb, visit, item, value, reason, &f);
    if (!kept)
        app_fault(s->app, &f);
    return kept;
}

/* Asked again: the ticks of the second time stand together as one finding beside the measure. */
static void tick_again(struct screen *s, bool yes)
{
    struct measures_state *m = s->state;
    struct fault f = {0};
    if (!yes) {
        m->again = 0;
        m->tick = 0;
        app_say(s->app, LOOK_WARN, "Set the dog up again, then tick each once more");
        return;
    }
    m->again |= 1U << m->tick;
    if (m->again + 1 != 1U << m->tick_count) {
        m->tick = m->tick + 1 < m->tick_count ? m->tick + 1 : 0;
        return;
    }
    size_t suspect = m->look.suspect;
    const char *item = posture_item(m->at.page.data, m->look.rows[suspect].measure);
    const char *reason = record_signed(&m->at.page.chart.visit) ? "posture looked at again" : "";
    if (!record_put(s->app->cb, &m->at.page.chart.visit, item, "yes", reason, &f)) {
        app_fault(s->app, &f);
        return;
    }
    measures_reload(s);
    size_t row = 0;
    while (row + 1 < m->shown_count && m->shown[row] != suspect)
        row++;
    measures_go(s, row, 1);
}

static void tick(struct screen *s, const char *value)
{
    struct measures_state *m = s->state;
    if (measures_again(m)) {
        tick_again(s, strcmp(value, "yes") == 0);
        return;
    }
    if (!measures_put(s, m->ticks[m->tick]->id, value))
        return;
    measures_reload(s);
    if (m->tick + 1 < m->tick_count)
        m->tick++;
    else
        measures_go(s, m->row, m->reading);
}

bool measures_press_posture(struct screen *s, const struct press *p)
{
    struct measures_state *m = s->state;
    if (p->kind == PRESS_CHAR && (p->text[0] == 'y' || p->text[0] == ' ' || p->text[0] == 'x')) {
        tick(s, "yes");
        return true;
    }
    if (p->kind == PRESS_CHAR && p->text[0] == 'n') {
        tick(s, "no");
        return true;
    }
    if (p->kind != PRESS_KEY)
        return false;
    if (p->code == PK_LEFT && m->tick > 0) {
        m->tick--;
    } else if (p->code == PK_RIGHT && m->tick + 1 < m->tick_count) {
        m->tick++;
    } else if (p->code == PK_DOWN || p->code == PK_ENTER || p->code == PK_TAB) {
        measures_go(s, 0, 1);
    } else {
        return false;
    }
    return true;
}
