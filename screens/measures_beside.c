/* Beside the numbers: the photograph, how angles were taken, whatever else the template asks here.
 */
#include "casebook/photo.h"
#include "screens/measures_inside.h"
#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

struct beside_state {
    struct page page;
    const struct form **forms;
    size_t count;
    struct form_view *view;
    const char *words; /* what the photograph is and says */
    pid_t viewer;      /* started last, 0: none */
};

static void look(struct beside_state *b)
{
    const struct chart *c = &b->page.chart;
    const char *lens = photo_parallax_words(c);
    b->words = arena_printf(c->arena, "Photograph: %s. %s%s%s", photo_state_words(photo_look(c)),
                            lens, *lens == '\0' ? "" : " ", photo_compare_words(c));
}

/* A name that was just answered: hash the file it names while it is at hand. */
static void saved(void *of)
{
    struct screen *s = of;
    struct beside_state *b = s->state;
    struct fault f = {0};
    if (!photo_keep(&b->page.chart, &f))
        app_say(s->app, LOOK_WARN, "The name is kept, but %s", f.text);
    look(b);
}

static bool open_beside(struct screen *s, struct fault *f)
{
    struct beside_state *b = s->state;
    const struct template_set *set = s->app->cb->set;
    if (!page_load(&b->page, s, b->page.entity, f))
        return false;
    b->forms = arena_array(s->arena, set->form_count, sizeof(const struct form *));
    for (size_t i = 0; i < set->form_count; i++)
        if (set->forms[i].place == PLACE_MEASURES)
            b->forms[b->count++] = &set->forms[i];
    if (b->count == 0)
        return fail(f, FAULT_MISSING, "the templates have no form for the place \"measures\"");
    b->view = form_view_new(s->app, s->arena, &b->page.chart, b->forms, b->count);
    form_view_on_saved(b->view, saved, s);
    s->typing = form_view_typing(b->view);
    look(b);
    return true;
}

static void draw(struct screen *s)
{
    struct beside_state *b = s->state;
    int last = term_rows() - 3, width = term_columns() - 4;
    form_view_draw(b->view, 1, 1, last - 5, term_columns() - 2);
    draw_wrapped(last - 3, 2, width, 4, LOOK_PLAIN, b->words);
}

static void forget_viewer(struct beside_state *b)
{
    if (b->viewer > 0)
        (void)waitpid(b->viewer, NULL, WNOHANG);
    b->viewer = 0;
}

/* The system's own viewer: the file is one argument, nothing goes through a shell, and nothing it
 * says reaches the screen. 0 or an errno. */
static int view(const char *path, pid_t *pid)
{
    const char *argv[] = {"xdg-open", path, NULL};
    posix_spawn_file_actions_t files;
    posix_spawnattr_t how;
    posix_spawn_file_actions_init(&files);
    posix_spawnattr_init(&how);
    for (int fd = STDIN_FILENO; fd <= STDERR_FILENO; fd++)
        posix_spawn_file_actions_addopen(&files, fd, "/dev/null", O_RDWR, 0);
    posix_spawnattr_setpgroup(&how, 0); /* ^C at the screen is not for it */
    posix_spawnattr_setflags(&how, POSIX_SPAWN_SETPGROUP);
    int why = posix_spawnp(pid, argv[0], &files, &how, (char *const *)argv, environ);
    posix_spawnattr_destroy(&how);
    posix_spawn_file_actions_destroy(&files);
    return why;
}

static void show(struct screen *s)
{
    struct beside_state *b = s->state;
    const char *path = photo_path(&b->page.chart);
    if (*path == '\0') {
        app_say(s->app, LOOK_WARN, "No photograph is named");
        return;
    }
    if (access(path, R_OK) != 0) {
        app_say(s->app, LOOK_WARN, "%s: %s", path, strerror(errno));
        return;
    }
    if (*path == '-') /* never an option */
        path = arena_printf(b->page.data, "./%s", path);
    forget_viewer(b);
    int why = view(path, &b->viewer);
    if (why == ENOENT)
        app_say(s->app, LOOK_WARN, "No viewer here (xdg-open is not installed); it is %s", path);
    else if (why != 0)
        app_say(s->app, LOOK_WARN, "xdg-open could not be started: %s", strerror(why));
    else
        app_say(s->app, LOOK_PLAIN, "%s: %s", path, photo_state_words(photo_look(&b->page.chart)));
}

static bool press(struct screen *s, const struct press *p)
{
    struct beside_state *b = s->state;
    if (p->kind == PRESS_KEY && p->code == PK_F3) {
        show(s);
        return true;
    }
    bool taken = form_view_press(b->view, p);
    s->typing = form_view_typing(b->view);
    return taken;
}

static void refresh(struct screen *s)
{
    struct beside_state *b = s->state;
    if (!page_reload(&b->page, s))
        return;
    form_view_refresh(b->view);
    look(b);
}

static bool leave(struct screen *s, struct fault *f)
{
    struct beside_state *b = s->state;
    return form_view_leave(b->view, f);
}

static void draft(struct screen *s)
{
    struct beside_state *b = s->state;
    form_view_draft(b->view);
}

static void close_beside(struct screen *s)
{
    struct beside_state *b = s->state;
    forget_viewer(b);
    if (b->view != NULL)
        form_view_free(b->view);
    page_close(&b->page);
}

static const struct key_help keys[] = {
    {"Enter", "next", "Keep the field and go to the next one.", true},
    {"F3", "show it", "Open the photograph in the system's viewer.", true},
    {0},
};

static const struct screen_class beside_class = {
    .name = "Beside the numbers",
    .help = "A photograph in which the rule can be read is copied beside the record, under the "
            "hash of its content, and travels to the other devices. What the rule in the picture "
            "shows is "
            "laid beside the number that was entered, less what the place of the lens adds.",
    .keys = keys,
    .open = open_beside,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .leave = leave,
    .draft = draft,
    .close = close_beside,
};

void beside_open(struct app *app, const char *visit)
{
    struct arena *a = arena_new();
    struct beside_state *b = arena_alloc(a, sizeof *b);
    b->page.entity = arena_str(a, visit);
    screen_open(app, &beside_class, a, b);
}
