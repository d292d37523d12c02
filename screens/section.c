/* A section of the visit that is one form of the template: history, examination, home, decision. */
#include "screens/visit_beside.h"
#include <string.h>

struct form_section {
    struct section_page at;
    const struct form *form;
    struct form_view *view;
};

/* At a return visit. */
static void tell_before(struct form_section *st)
{
    bool any = st->at.page.chart.earlier_count > 0 && strcmp(st->form->about, "visit") == 0;
    form_view_before(st->view, any ? beside_before : NULL);
}

static bool open_section(struct screen *s, struct fault *f)
{
    struct form_section *st = s->state;
    if (!page_load(&st->at.page, s, st->at.page.entity, f))
        return false;
    size_t count;
    struct section *sections = visit_sections(&st->at.page.chart, s->arena, &count);
    st->form = sections[st->at.index].form;
    s->title = st->form->title;
    st->view = form_view_new(s->app, s->arena, &st->at.page.chart, &st->form, 1);
    tell_before(st);
    s->typing = form_view_typing(st->view);
    return true;
}

static void draw(struct screen *s)
{
    struct form_section *st = s->state;
    int row = 1;
    if (*st->form->intro != '\0') {
        row += draw_wrapped(1, 2, term_columns() - 4, 2, LOOK_DIM, st->form->intro);
        row++;
    }
    form_view_draw(st->view, row, 1, term_rows() - 2 - row, term_columns() - 2);
}

static bool press(struct screen *s, const struct press *p)
{
    struct form_section *st = s->state;
    if (section_press(s, p))
        return true;
    bool taken = form_view_press(st->view, p);
    s->typing = form_view_typing(st->view);
    return taken;
}

static void refresh(struct screen *s)
{
    struct form_section *st = s->state;
    if (!page_reload(&st->at.page, s))
        return;
    form_view_refresh(st->view);
    tell_before(st);
}

static bool leave(struct screen *s, struct fault *f)
{
    struct form_section *st = s->state;
    return form_view_leave(st->view, f);
}

static void draft(struct screen *s)
{
    struct form_section *st = s->state;
    form_view_draft(st->view);
}

static void close_section(struct screen *s)
{
    struct form_section *st = s->state;
    if (st->view != NULL)
        form_view_free(st->view);
    page_close(&st->at.page);
}

static const struct key_help keys[] = {
    {"Enter", "next", "Keep the field and go to the next one.", true},
    {"Up Down", "move", "Keep the field and move.", false},
    FORM_KEYS,
    SECTION_KEYS,
    {0},
};

static const struct screen_class section_class = {
    .name = "Section",
    .help = "Questions of this practice's form. What does not apply is not asked. Leaving a field "
            "keeps it.",
    .keys = keys,
    .open = open_section,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .leave = leave,
    .draft = draft,
    .close = close_section,
};

void form_section_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &section_class, visit, index, sizeof(struct form_section));
}
