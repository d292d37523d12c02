/* The forms of dog, caregiver and a frame of the practice, and what is asked when a case is closed.
 */
#include "casebook/ids.h"
#include "casebook/lending.h"
#include "screens/kit/form.h"
#include "screens/page.h"
#include "screens/screens.h"

struct details {
    struct page page;
    enum form_place place;
    const struct form **forms;
    size_t form_count;
    struct form_view *view;
};

static bool open_details(struct screen *s, struct fault *f)
{
    struct details *d = s->state;
    const struct template_set *set = s->app->cb->set;
    if (!page_load(&d->page, s, d->page.entity, f))
        return false;
    d->forms = arena_array(s->arena, set->form_count, sizeof *d->forms);
    for (size_t i = 0; i < set->form_count; i++)
        if (set->forms[i].place == d->place)
            d->forms[d->form_count++] = &set->forms[i];
    if (d->form_count == 0)
        return fail(f, FAULT_MISSING, "no form of this practice asks for that");
    s->title = d->forms[0]->title;
    if (d->place == PLACE_EQUIPMENT) {
        s->subject = record_text(&d->page.chart.equipment, ID_FRAME_NAME);
        s->middle = "";
    }
    d->view = form_view_new(s->app, s->arena, &d->page.chart, d->forms, d->form_count);
    s->typing = form_view_typing(d->view);
    return true;
}

static void draw_details(struct screen *s)
{
    struct details *d = s->state;
    form_view_draw(d->view, 2, 1, term_rows() - 4, term_columns() - 2);
}

static bool press_details(struct screen *s, const struct press *p)
{
    struct details *d = s->state;
    bool taken = form_view_press(d->view, p);
    s->typing = form_view_typing(d->view);
    return taken;
}

static void refresh_details(struct screen *s)
{
    struct details *d = s->state;
    if (page_reload(&d->page, s))
        form_view_refresh(d->view);
}

static bool leave_details(struct screen *s, struct fault *f)
{
    struct details *d = s->state;
    return form_view_leave(d->view, f) &&
           (d->place != PLACE_CLOSING || frames_follow_closing(&d->page.chart, f));
}

static void draft_details(struct screen *s)
{
    struct details *d = s->state;
    form_view_draft(d->view);
}

static void close_details(struct screen *s)
{
    struct details *d = s->state;
    if (d->view != NULL)
        form_view_free(d->view);
    page_close(&d->page);
}

static const struct key_help details_keys[] = {
    {"Enter", "next", "Keep the field and go to the next one.", true},
    {"Up Down", "move", "Keep the field and move.", true},
    FORM_KEYS,
    {0},
};

static const struct screen_class details_class = {
    .name = "Details",
    .help =
        "Who the dog is, who cares for it; or one frame of the practice: its sizes, where it is, "
        "when it was cleaned and checked. Leaving a field keeps it.",
    .keys = details_keys,
    .open = open_details,
    .draw = draw_details,
    .press = press_details,
    .refresh = refresh_details,
    .leave = leave_details,
    .draft = draft_details,
    .close = close_details,
};

void details_open(struct app *app, const char *entity, enum form_place place)
{
    struct arena *a = arena_new();
    struct details *d = arena_alloc(a, sizeof *d);
    d->page.entity = arena_str(a, entity);
    d->place = place;
    screen_open(app, &details_class, a, d);
}
